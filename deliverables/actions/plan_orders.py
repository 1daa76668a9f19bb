"""Plan orders: from the office's wish to the accepted plan."""

from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from billing.actions.true_ups import propose_true_up
from deliverables.models import Drafter, FixState, MeasuringRule, PlanOrder, PlanOrderState
from jobs.actions.properties import change_property
from jobs.models import AreaSource, Shoot, ShootState
from office.actions.actors import Actor
from office.actions.events import record
from office.actions.notices import withdraw_notices
from office.actions.numbering import next_number
from office.actions.states import locked, move
from office.errors import Refused, WrongState
from office.models import Notice, NoticeState, Office

from .drafters import price_of_plan
from .mails import stop_chasing, tell_drafter
from .promises import promised


@transaction.atomic
def order_plan(
    *, shoot: Shoot, drafter: Drafter, notes: str, branded: bool, measuring_rule: str, by: Actor, now: datetime
) -> PlanOrder:
    """Write an order to a drafter; it does not leave before `send_plan_order`."""
    if not drafter.active:
        raise Refused(_("%s takes no orders at present.") % drafter, field="drafter")
    if shoot.state in {ShootState.CANCELLED, ShootState.NO_ACCESS, ShootState.CLOSED}:
        raise Refused(_("This job is over; there is nothing to draw."))
    year = Office.the().day_of(now).year
    plan_order = PlanOrder.objects.create(
        number=f"P-{year}-{next_number('plan', year):04d}",
        shoot=shoot,
        drafter=drafter,
        notes=notes,
        branded=branded,
        measuring_rule=MeasuringRule(measuring_rule),
        made_at=now,
    )
    text = _("wrote a plan order to %s") % drafter
    record(by=by, now=now, verb="plan-ordered", text=text, subject=plan_order, job=shoot.number)
    return plan_order


@transaction.atomic
def send_plan_order(*, plan_order: PlanOrder, by: Actor, now: datetime) -> PlanOrder:
    """Send the order: from now the drafter's promise runs, in the drafter's working hours."""
    plan_order = locked(plan_order)
    shoot, drafter = plan_order.shoot, plan_order.drafter
    if shoot.state != ShootState.CAPTURED:
        raise Refused(_("The house is not captured, so nobody can draw it yet."))
    promise = promised(drafter, now, drafter.plan_hours)
    move(
        plan_order,
        PlanOrderState.WITH_DRAFTER,
        sent_at=now,
        promised_at=promise,
        due_at=promise,
        price=price_of_plan(drafter, shoot.property),
        currency=drafter.currency,
    )
    text = _("sent the plan order to %s") % drafter
    record(
        by=by, now=now, verb="plan-order-sent", text=text, subject=plan_order, job=shoot.number,
        promised_at=promise.isoformat(),
    )  # fmt: skip
    tell_drafter(plan_order=plan_order, template="plan_ordered", key=f"plan-ordered:{plan_order.pk}:", by=by, now=now)
    return plan_order


@transaction.atomic
def withdraw_plan_order(*, plan_order: PlanOrder, by: Actor, now: datetime) -> PlanOrder:
    """Call the order off with its open fixes; the drafter is told unless the order's own mail never left."""
    plan_order = locked(plan_order)
    move(plan_order, PlanOrderState.WITHDRAWN)
    plan_order.fixes.open().update(state=FixState.WITHDRAWN)
    stop_chasing(plan_order)
    text = _("withdrew the plan order")
    record(by=by, now=now, verb="plan-order-withdrawn", text=text, subject=plan_order, job=plan_order.shoot.number)
    if _has_been_told(plan_order):
        key = f"plan-withdrawn:{plan_order.pk}"
        tell_drafter(plan_order=plan_order, template="plan_withdrawn", key=key, by=by, now=now)
    return plan_order


def _has_been_told(plan_order: PlanOrder) -> bool:
    """Takes back what of the order's own mail has not left; whether any of it has."""
    prefix = f"plan-ordered:{plan_order.pk}:"
    withdraw_notices(key_prefix=prefix)
    return Notice.objects.filter(key__startswith=prefix).exclude(state=NoticeState.WITHDRAWN).exists()


@transaction.atomic
def accept_plan(*, plan_order: PlanOrder, measured_area_m2: Decimal | None, by: Actor, now: datetime) -> PlanOrder:
    """Take the newest draft as the plan. A measured area becomes the property's, and may call for a true-up."""
    plan_order = locked(plan_order)
    draft = plan_order.newest_draft
    if draft is None:
        raise Refused(_("There is no draft to accept yet."))
    if plan_order.fixes.open().exists():
        raise Refused(_("Fixes are still open. Settle or withdraw them first."))
    move(plan_order, PlanOrderState.ACCEPTED, accepted_at=now, accepted_draft=draft, measured_area_m2=measured_area_m2)
    text = _("accepted %s as the plan") % draft
    record(by=by, now=now, verb="plan-accepted", text=text, subject=plan_order, job=plan_order.shoot.number)
    if measured_area_m2 is not None:
        _keep_measured_area(plan_order, measured_area_m2, by, now)
    key = f"plan-accepted:{plan_order.pk}:{draft.number}"
    tell_drafter(plan_order=plan_order, template="plan_accepted", key=key, by=by, now=now, draft=draft)
    return plan_order


def _keep_measured_area(plan_order: PlanOrder, area_m2: Decimal, by: Actor, now: datetime) -> None:
    house = plan_order.shoot.property
    fields = {"area_m2": area_m2, "area_source": AreaSource.MEASURED}
    change_property(house=house, fields=fields, by=by, now=now)
    propose_true_up(shoot=plan_order.shoot, measured_area_m2=area_m2, by=by, now=now)


@transaction.atomic
def reopen_plan(*, plan_order: PlanOrder, by: Actor, now: datetime) -> PlanOrder:
    """Take the acceptance back, so that fixes can be asked again."""
    plan_order = locked(plan_order)
    if plan_order.state != PlanOrderState.ACCEPTED:
        raise WrongState(_("This plan is not accepted."))
    move(plan_order, PlanOrderState.TO_CHECK, accepted_at=None, accepted_draft=None)
    text = _("took back the acceptance of the plan")
    record(by=by, now=now, verb="plan-reopened", text=text, subject=plan_order, job=plan_order.shoot.number)
    return plan_order
