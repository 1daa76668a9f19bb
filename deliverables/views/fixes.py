"""Asking, sending and settling fixes, on the office's side."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from deliverables.actions.fixes import ask_again, ask_fix, send_fixes, settle_fix, withdraw_fix
from deliverables.forms.fixes import FixForm
from deliverables.models import Draft, FixRequest, PlanOrder
from office.views.acting import act, attempt, say

from .plan_orders import plan_order_page


@require_POST
def fix_ask(request: HttpRequest, pk: int) -> HttpResponse:
    """One thing to put right, pinned on a draft."""
    draft = get_object_or_404(Draft, pk=pk)
    form = FixForm(request.POST)
    if form.is_valid():
        fix = attempt(request, form, ask_fix, draft=draft, **form.pinned())
        if fix:
            say(request, _("%s is noted. The drafter hears of it when you send the fixes.") % fix)
            return _to_fixes(fix.plan_order)
    found = PlanOrder.objects.with_names().get(pk=draft.plan_order_id)
    return render(request, "deliverables/plan_order.html", plan_order_page(request, found, fix_form=form))


@require_POST
def fixes_send(request: HttpRequest, number: str) -> HttpResponse:
    found = get_object_or_404(PlanOrder.objects.with_names(), number=number)
    act(request, send_fixes, plan_order=found)
    say(request, _("Sent to %s in one mail.") % found.drafter)
    return redirect(found)


@require_POST
def fix_settle(request: HttpRequest, pk: int) -> HttpResponse:
    return _act_on_fix(request, pk, settle_fix, _("%s is settled."))


@require_POST
def fix_ask_again(request: HttpRequest, pk: int) -> HttpResponse:
    return _act_on_fix(request, pk, ask_again, _("%s is asked again. Send the fixes when you are through."))


@require_POST
def fix_withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    return _act_on_fix(request, pk, withdraw_fix, _("%s is withdrawn."))


def _act_on_fix(request: HttpRequest, pk: int, action: Callable[..., FixRequest], text: str) -> HttpResponse:
    fix = act(request, action, fix=get_object_or_404(FixRequest.objects.select_related("plan_order"), pk=pk))
    say(request, text % fix)
    return _to_fixes(fix.plan_order)


def _to_fixes(plan_order: PlanOrder) -> HttpResponse:
    return redirect(plan_order.get_absolute_url() + "#fixes")
