"""What the top floor hangs up on the ground floor: its matters, its parts of the job page, its chores and errands."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

from django.http import HttpRequest
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from deliverables.actions.chasing import chase
from deliverables.actions.checks import check_draft, compare_draft
from deliverables.actions.drafts import DRAFT_COMPARE, PLAN_CHECK
from deliverables.models import Bundle, PlanOrder, waiting_for_a_bundle, waiting_for_an_order
from jobs.models import Shoot, ShootState
from office.models import Purpose
from office.registry import JobSection, Matter, registry

HOUR = timedelta(hours=1)
UNOPENED_AFTER = timedelta(days=2)


def matters(now: datetime) -> Iterator[Matter]:
    yield from map(_no_order, waiting_for_an_order())
    yield from map(_to_send, PlanOrder.objects.to_send().with_names())
    for plan_order in PlanOrder.objects.out().with_names().with_fix_counts():
        yield from _with_drafter(plan_order, now)
    yield from map(_to_check, PlanOrder.objects.to_check().with_names().with_fix_counts())
    yield from map(_ready, waiting_for_a_bundle())
    yield from map(_unopened, Bundle.objects.unopened_since(now - UNOPENED_AFTER).with_names())


def _no_order(shoot: Shoot) -> Matter:
    return Matter(
        key=f"no-plan-order:{shoot.pk}",
        text=_("%s: nobody has been asked to draw the plan") % shoot,
        why=_("The house is captured and the package has a floor plan."),
        since=shoot.captured_at,
        url=reverse("deliverables:plan-order-new", args=[shoot.number]),
        action=_("Order the plan"),
        weight=65,
    )


def _to_send(plan_order: PlanOrder) -> Matter:
    return Matter(
        key=f"plan-to-send:{plan_order.pk}",
        text=_("%(order)s is not sent yet") % {"order": _named(plan_order)},
        why=_("%s does not know of it; no promise runs.") % plan_order.drafter,
        since=plan_order.made_at,
        url=plan_order.get_absolute_url(),
        action=_("Send it"),
        weight=60,
    )


def _with_drafter(plan_order: PlanOrder, now: datetime) -> Iterator[Matter]:
    if plan_order.is_late(now):
        yield _late(plan_order, now)
    if plan_order.untold:
        yield _fixes_unsent(plan_order)
    if plan_order.returned:
        yield _fixes_returned(plan_order)


def _late(plan_order: PlanOrder, now: datetime) -> Matter:
    hours = int((now - plan_order.due_at) / HOUR)
    what = _("fixes on %s are late") if plan_order.told else _("%s is late")
    why = ngettext("%(who)s is %(n)d hour past the promise.", "%(who)s is %(n)d hours past the promise.", hours)
    return Matter(
        key=f"plan-late:{plan_order.pk}:{plan_order.round}",
        text=what % _named(plan_order),
        why=why % {"who": plan_order.drafter, "n": hours},
        since=plan_order.due_at,
        url=plan_order.get_absolute_url(),
        action=_("Ask %s") % plan_order.drafter,
        weight=min(100, 70 + hours),
    )


def _fixes_unsent(plan_order: PlanOrder) -> Matter:
    count = plan_order.untold
    return Matter(
        key=f"fixes-unsent:{plan_order.pk}",
        text=ngettext("%(n)d fix of %(order)s is not sent", "%(n)d fixes of %(order)s are not sent", count)
        % {"n": count, "order": _named(plan_order)},
        why=_("The drafter does not know of them yet."),
        since=plan_order.untold_since,
        url=plan_order.get_absolute_url() + "#fixes",
        action=_("Send them"),
        weight=60,
    )


def _fixes_returned(plan_order: PlanOrder) -> Matter:
    count = plan_order.returned
    return Matter(
        key=f"fixes-returned:{plan_order.pk}",
        text=ngettext("%(n)d fix of %(order)s was returned", "%(n)d fixes of %(order)s were returned", count)
        % {"n": count, "order": _named(plan_order)},
        why=_("The drafter says they are done; others are still with the drafter."),
        since=plan_order.returned_since,
        url=plan_order.get_absolute_url() + "#fixes",
        action=_("Look at them"),
        weight=40,
    )


def _to_check(plan_order: PlanOrder) -> Matter:
    return Matter(
        key=f"plan-to-check:{plan_order.pk}",
        text=_("%s is to check") % _named(plan_order),
        why=_why_to_check(plan_order),
        since=plan_order.waits_since or plan_order.made_at,
        url=plan_order.get_absolute_url(),
        action=_("Send the fixes") if plan_order.untold else _("Check it"),
        weight=65,
    )


def _why_to_check(plan_order: PlanOrder) -> str:
    untold, returned = plan_order.untold, plan_order.returned
    if untold:
        return ngettext("%d fix is asked and not sent.", "%d fixes are asked and not sent.", untold) % untold
    if returned:
        return ngettext("%d fix was returned.", "%d fixes were returned.", returned) % returned
    return _("A draft came in from %s.") % plan_order.drafter


def _ready(shoot: Shoot) -> Matter:
    return Matter(
        key=f"handover-ready:{shoot.pk}",
        text=_("%s can be handed over") % shoot,
        why=_("%s waits for it.") % shoot.client,
        since=shoot.ready_at,
        url=reverse("deliverables:bundle-make", args=[shoot.number]),
        action=_("Make the bundle"),
        weight=75,
    )


def _unopened(bundle: Bundle) -> Matter:
    return Matter(
        key=f"unopened:{bundle.pk}",
        text=_("%(client)s has not opened %(bundle)s") % {"client": bundle.shoot.client, "bundle": bundle},
        why=_("Perhaps the mail went astray."),
        since=bundle.handed_over_at,
        url=bundle.get_absolute_url(),
        action=_("Call them"),
        weight=30,
    )


def _named(plan_order: PlanOrder) -> str:
    return f"{plan_order} ({plan_order.shoot.property.street})"


def plan_section(request: HttpRequest, shoot_id: int) -> dict[str, Any]:
    shoot = Shoot.objects.select_related("package").get(pk=shoot_id)
    orders = list(PlanOrder.objects.filter(shoot=shoot).select_related("drafter").with_drafts().order_by("-pk"))
    orderable = shoot.state not in {ShootState.CANCELLED, ShootState.NO_ACCESS, ShootState.CLOSED}
    wanted = orderable and shoot.package.has_plan and not orders
    return {"shoot": shoot, "orders": orders, "orderable": orderable, "wanted": wanted, "now": timezone.now()}


def handover_section(request: HttpRequest, shoot_id: int) -> dict[str, Any]:
    shoot = Shoot.objects.select_related("package").get(pk=shoot_id)
    bundles = list(shoot.bundles.with_receipts().prefetch_related("items").order_by("-number"))
    return {"shoot": shoot, "bundles": bundles, "captured": shoot.state in {ShootState.CAPTURED, ShootState.CLOSED}}


def hang_up() -> None:
    """Called once, when the program starts."""
    registry.matters.append(matters)
    registry.chores.append(chase)
    registry.errands |= {PLAN_CHECK: check_draft, DRAFT_COMPARE: compare_draft}
    registry.slow_errands |= {PLAN_CHECK: "plans", DRAFT_COMPARE: "plans"}
    registry.landings |= {
        Purpose.DRAFTER: "deliverables:drafter-home",
        Purpose.HANDOVER: "deliverables:client-handover",
    }
    registry.sections += [
        JobSection(40, "plan", gettext_lazy("Plan"), "deliverables/sections/plan.html", plan_section),
        JobSection(50, "handover", gettext_lazy("Handover"), "deliverables/sections/handover.html", handover_section),
    ]
