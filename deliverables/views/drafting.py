"""The drafter's own pages, behind their link."""

from collections.abc import Callable
from functools import wraps
from typing import Any
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from deliverables.actions.drafts import RECEIVING_STATES, receive_draft
from deliverables.actions.fixes import return_fix
from deliverables.forms.plan_orders import DrafterDraftForm
from deliverables.models import Draft, Drafter, DraftPage, FixRequest, FixState, PlanOrder, PlanOrderState
from jobs.actions.walks import walk_csv
from jobs.models import Property
from office.access import link_to
from office.models import CapabilityLink, Purpose
from office.paging import page_of
from office.views.acting import act, attempt, say
from office.views.links import link_closed

from .drawings import Sheet, sheets_of
from .files import give_draft, give_picture
from .uploads import shown_again

View = Callable[..., HttpResponseBase]
LONGEST_NOTE = 400


def for_drafter(view: View) -> View:
    """Opens a page to the holder of this drafter's link, and gives it the link and the drafter."""

    @wraps(view)
    @never_cache
    def opened(request: HttpRequest, drafter_id: int, *args: Any, **kwargs: Any) -> HttpResponseBase:
        link = link_to(request, Purpose.DRAFTER, drafter_id)
        if link is None:
            return link_closed(request)
        return view(request, link, get_object_or_404(Drafter, pk=drafter_id), *args, **kwargs)

    return opened


@for_drafter
@require_safe
def home(request: HttpRequest, link: CapabilityLink, drafter: Drafter) -> HttpResponse:
    """What is with the drafter, what is with us, and what is over."""
    orders = PlanOrder.objects.shown_to(drafter).with_names()
    over = orders.filter(state__in=(PlanOrderState.ACCEPTED, PlanOrderState.WITHDRAWN)).order_by("-pk")
    context = {
        "drafter": drafter,
        "with_you": orders.out().with_fix_counts(),
        "with_us": orders.to_check(),
        "page": page_of(request, over, rows_a_page=20),
        "now": timezone.now(),
    }
    return render(request, "deliverables/drafter_home.html", context)


@for_drafter
@require_safe
def order(request: HttpRequest, link: CapabilityLink, drafter: Drafter, number: str) -> HttpResponse:
    found = _order(drafter, number)
    return render(request, "deliverables/drafter_order.html", _order_page(drafter, found))


def _order(drafter: Drafter, number: str) -> PlanOrder:
    return get_object_or_404(PlanOrder.objects.shown_to(drafter).with_names(), number=number)


def _order_page(drafter: Drafter, found: PlanOrder, form: DrafterDraftForm | None = None) -> dict[str, Any]:
    drafts = list(found.drafts.prefetch_related("pages"))
    fixes = list(found.fixes.shown_to_drafter().select_related("draft"))
    return {
        "drafter": drafter,
        "plan_order": found,
        "shoot": found.shoot,
        "levels": _levels(found.shoot.property_id),
        "walked": found.shoot.stations.exists(),
        "drafts": drafts,
        "fixes": fixes,
        "sheets": _sheets(drafter, drafts, fixes),
        "receiving": found.state in RECEIVING_STATES,
        "late": found.is_late(timezone.now()),
        "due_day": found.due_at.astimezone(ZoneInfo(drafter.zone)).date(),
        "form": form or DrafterDraftForm(fixes=_asked(fixes)),
    }


def _levels(property_id: int) -> list[tuple[Any, list[Any]]]:
    """The levels from the lowest up, each with its spaces."""
    house = Property.objects.with_shape().get(pk=property_id)
    spaces = list(house.spaces.all())
    return [(level, [space for space in spaces if space.level_id == level.pk]) for level in house.levels.all()]


def _sheets(drafter: Drafter, drafts: list[Draft], fixes: list[FixRequest]) -> list[Sheet]:
    """Of the newest draft that can be shown, the pages on which open fixes are pinned."""
    shown = next((draft for draft in drafts if draft.pages.all()), None)
    if shown is None:
        return []
    sheets = sheets_of(shown, [fix for fix in fixes if fix.is_open], lambda page: _picture_address(drafter, page))
    return [sheet for sheet in sheets if sheet.pins]


def _picture_address(drafter: Drafter, page: DraftPage) -> str:
    return reverse("deliverables:drafter-preview", args=[drafter.pk, page.draft_id, page.number])


def _asked(fixes: list[FixRequest]) -> list[FixRequest]:
    return [fix for fix in fixes if fix.state == FixState.ASKED]


@for_drafter
@require_POST
def upload(request: HttpRequest, link: CapabilityLink, drafter: Drafter, number: str) -> HttpResponse:
    """Take a draft in; the browser shows how far it is."""
    found = _order(drafter, number)
    form = DrafterDraftForm(request.POST, request.FILES, fixes=_asked(list(found.fixes.told())))
    if form.is_valid():
        draft = attempt(request, form, receive_draft, holder=link, plan_order=found, **form.cleaned_data)
        if draft:
            say(request, _("Thank you. %s has arrived.") % draft)
            return redirect("deliverables:drafter-order", drafter.pk, number)
    return shown_again(render(request, "deliverables/drafter_order.html", _order_page(drafter, found, form)))


@for_drafter
@require_POST
def fix_return(request: HttpRequest, link: CapabilityLink, drafter: Drafter, pk: int) -> HttpResponse:
    """One fix is done, with or without a new draft."""
    fixes = FixRequest.objects.shown_to_drafter().filter(plan_order__drafter=drafter).select_related("plan_order")
    fix = get_object_or_404(fixes, pk=pk)
    act(request, return_fix, holder=link, fix=fix, note=request.POST.get("note", "").strip()[:LONGEST_NOTE])
    say(request, _("%s is returned.") % fix)
    return redirect("deliverables:drafter-order", drafter.pk, fix.plan_order.number)


@for_drafter
@require_safe
def draft_file(request: HttpRequest, link: CapabilityLink, drafter: Drafter, pk: int) -> HttpResponseBase:
    return give_draft(request, get_object_or_404(_drafts(drafter).select_related("plan_order"), pk=pk))


@for_drafter
@require_safe
def preview(request: HttpRequest, link: CapabilityLink, drafter: Drafter, pk: int, page: int) -> HttpResponseBase:
    return give_picture(get_object_or_404(DraftPage, draft__in=_drafts(drafter), draft=pk, number=page))


def _drafts(drafter: Drafter) -> Any:
    return Draft.objects.filter(plan_order__in=PlanOrder.objects.shown_to(drafter))


@for_drafter
@require_safe
def walk(request: HttpRequest, link: CapabilityLink, drafter: Drafter, number: str) -> HttpResponse:
    """The station log of the order's shoot."""
    shoot = _order(drafter, number).shoot
    name = f"{shoot.number}-walk.csv"
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return HttpResponse(walk_csv(shoot), content_type="text/csv; charset=utf-8", headers=headers)
