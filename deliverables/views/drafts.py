"""Drafts on the office's side: sending one in, giving it out, looking at its pages and its plan check."""

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from deliverables.actions.drafts import receive_draft
from deliverables.forms.plan_orders import DraftForm
from deliverables.models import Draft, DraftPage, PlanOrder
from office.views.acting import attempt, say

from .files import give_draft, give_picture
from .inspection import inspection_of
from .plan_orders import plan_order_page
from .uploads import shown_again


@require_POST
def draft_upload(request: HttpRequest, number: str) -> HttpResponse:
    """A draft that came by other ways, or one that we drew ourselves."""
    found = get_object_or_404(PlanOrder.objects.with_names(), number=number)
    form = DraftForm(request.POST, request.FILES)
    if form.is_valid():
        draft = attempt(request, form, receive_draft, plan_order=found, **form.cleaned_data)
        if draft:
            say(request, _("%s is in and is being checked.") % draft)
            return redirect(found)
    return shown_again(
        render(request, "deliverables/plan_order.html", plan_order_page(request, found, draft_form=form))
    )


@require_safe
def draft_file(request: HttpRequest, pk: int) -> HttpResponseBase:
    return give_draft(request, get_object_or_404(Draft.objects.select_related("plan_order"), pk=pk))


@require_safe
def draft_preview(request: HttpRequest, pk: int, page: int) -> HttpResponseBase:
    return give_picture(get_object_or_404(DraftPage, draft=pk, number=page))


@require_safe
def draft_check(request: HttpRequest, pk: int) -> HttpResponse:
    """The result of the plan check alone, for the page that waits for it."""
    draft = get_object_or_404(Draft.objects.select_related("plan_order__shoot").prefetch_related("pages"), pk=pk)
    looked = request.GET.get("look", "")
    context = inspection_of(draft, list(draft.plan_order.fixes.select_related("draft")))
    context |= {"plan_order": draft.plan_order, "look": int(looked) if looked.isdigit() and len(looked) < 6 else 0}
    return render(request, "deliverables/parts/inspection.html", context)
