"""The plan room and the page of one plan order."""

from typing import Any

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from deliverables.actions.plan_orders import (
    accept_plan,
    order_plan,
    reopen_plan,
    send_plan_order,
    withdraw_plan_order,
)
from deliverables.forms.plan_orders import AcceptForm, DraftForm, PlanOrderForm
from deliverables.models import Draft, Drafter, FixRequest, FixState, PlanOrder, PlanOrderState
from jobs.models import Shoot
from office.paging import page_of
from office.views.acting import act, attempt, say

from .inspection import inspection_of


def plan_room(request: HttpRequest) -> HttpResponse:
    state = request.GET.get("state", "")
    rows = _in_state(state if state in PlanOrderState.values else "").with_names().with_drafts()
    context = {"page": page_of(request, rows), "states": PlanOrderState.choices, "chosen": state, "now": timezone.now()}
    return render(request, "deliverables/plan_room.html", context)


def _in_state(state: str) -> QuerySet[PlanOrder]:
    if state == PlanOrderState.WITH_DRAFTER:
        return PlanOrder.objects.out()
    rows = PlanOrder.objects.filter(state=state) if state else PlanOrder.objects.open()
    return rows.order_by("-pk")


def plan_order_new(request: HttpRequest, number: str) -> HttpResponse:
    """Order the plan of one shoot."""
    shoot = get_object_or_404(Shoot.objects.select_related("property", "client", "package"), number=number)
    form = PlanOrderForm(request.POST or None)
    if form.is_valid():
        made = attempt(request, form, order_plan, shoot=shoot, **form.cleaned_data)
        if made:
            say(request, _("%s is written. Send it when the capture is ready.") % made)
            return redirect(made)
    context = {"form": form, "shoot": shoot, "drafters_exist": Drafter.objects.taking_orders().exists()}
    return render(request, "deliverables/plan_order_new.html", context)


def plan_order(request: HttpRequest, number: str) -> HttpResponse:
    return render(request, "deliverables/plan_order.html", plan_order_page(request, _found(number)))


def plan_order_page(request: HttpRequest, found: PlanOrder, **forms: Any) -> dict[str, Any]:
    """What the page of a plan order shows; a view that refused a form passes it in to be shown again."""
    drafts = list(found.drafts.prefetch_related("pages"))
    chosen = next((draft for draft in drafts if str(draft.number) == request.GET.get("draft")), None)
    shown = chosen or next(iter(drafts), None)
    fixes = list(found.fixes.select_related("draft"))
    return {
        "plan_order": found,
        "shoot": found.shoot,
        "drafts": drafts,
        "fix_rows": _fix_rows(fixes, drafts),
        "compared_with": drafts[0].compared_with if drafts else None,
        **_what_next(found, fixes),
        "is_open": found.state in (PlanOrderState.WITH_DRAFTER, PlanOrderState.TO_CHECK),
        "late": found.is_late(timezone.now()),
        "draft_form": DraftForm(),
        "accept_form": AcceptForm(),
        **(inspection_of(shown, fixes) if shown else {}),
        **forms,
    }


def _fix_rows(fixes: list[FixRequest], drafts: list[Draft]) -> list[tuple[FixRequest, bool | None]]:
    """Each fix with whether anything has changed at its pin in the newest draft; None where that is not known."""
    changes = drafts[0].pin_changes if drafts else {}
    return [(fix, changes.get(str(fix.pk)) if fix.is_open else None) for fix in fixes]


def _what_next(found: PlanOrder, fixes: list[FixRequest]) -> dict[str, Any]:
    """Fixes to send; fixes that a new draft left open, to be handed back; or nothing open, so it can be accepted."""
    checking = found.state == PlanOrderState.TO_CHECK
    untold = [fix for fix in fixes if fix.state == FixState.ASKED and fix.told_at is None]
    left_open = [fix for fix in fixes if fix.state == FixState.ASKED and fix.told_at is not None]
    return {
        "untold": untold,
        "remind": left_open if checking else [],
        "can_accept": checking and not any(fix.is_open for fix in fixes),
    }


@require_POST
def plan_order_send(request: HttpRequest, number: str) -> HttpResponse:
    found = act(request, send_plan_order, plan_order=_found(number))
    say(request, _("Sent to %s.") % found.drafter)
    return redirect(found)


@require_POST
def plan_order_withdraw(request: HttpRequest, number: str) -> HttpResponse:
    found = act(request, withdraw_plan_order, plan_order=_found(number))
    say(request, _("Withdrawn."))
    return redirect(found)


@require_POST
def plan_order_accept(request: HttpRequest, number: str) -> HttpResponse:
    found, form = _found(number), AcceptForm(request.POST)
    if form.is_valid() and attempt(
        request, form, accept_plan, plan_order=found, measured_area_m2=form.measured_area_m2()
    ):
        say(request, _("Accepted. Now it can be handed over."))
        return redirect(found)
    return render(request, "deliverables/plan_order.html", plan_order_page(request, _found(number), accept_form=form))


@require_POST
def plan_order_reopen(request: HttpRequest, number: str) -> HttpResponse:
    found = act(request, reopen_plan, plan_order=_found(number))
    say(request, _("The plan is to check again."))
    return redirect(found)


def _found(number: str) -> PlanOrder:
    return get_object_or_404(PlanOrder.objects.with_names(), number=number)
