"""Reminding drafters: what is due soon, what is late; each once a round, in the drafter's working hours."""

from datetime import datetime, timedelta
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from deliverables.models import PlanOrder, PlanOrderState
from office.actions.actors import PROGRAM
from office.actions.events import record
from office.actions.states import locked
from office.models import Notice
from office.rules.worktime import working_hours

from .mails import tell_drafter
from .promises import calendar_of_drafter, when_at_work

SOON = Decimal(2)
"""Working hours before a plan is due at which its drafter is reminded."""
LOOK_AHEAD = timedelta(days=5)
"""Longer than a weekend with a holiday, so that two working hours are never farther away."""


def chase(now: datetime) -> int:
    """Write the notices that have become due; returns how many."""
    nearly_due = PlanOrder.objects.out().filter(due_at__lt=now + LOOK_AHEAD).with_names()
    return sum(_chase(plan_order, now) for plan_order in nearly_due)


def _chase(plan_order: PlanOrder, now: datetime) -> bool:
    kind = _what_to_chase(plan_order, now)
    key = f"{kind}:{plan_order.pk}:{plan_order.round}"
    if not kind or Notice.objects.filter(key=key).exists():
        return False
    return _remind(plan_order, kind, key, now)


def _what_to_chase(plan_order: PlanOrder, now: datetime) -> str:
    assert plan_order.due_at is not None
    if plan_order.due_at < now:
        return "fix-overdue" if plan_order.round else "plan-overdue"
    calendar = calendar_of_drafter(plan_order.drafter)
    soon = not plan_order.round and working_hours(calendar, now, plan_order.due_at) <= SOON
    return "plan-due-soon" if soon else ""


@transaction.atomic
def _remind(plan_order: PlanOrder, kind: str, key: str, now: datetime) -> bool:
    """Looks again under the lock: a draft may have come in since."""
    seen_round, plan_order = plan_order.round, locked(plan_order)
    if plan_order.state != PlanOrderState.WITH_DRAFTER or plan_order.round != seen_round:
        return False
    tell_drafter(
        plan_order=plan_order, template=kind.replace("-", "_"), key=key, by=PROGRAM, now=now,
        send_after=when_at_work(plan_order.drafter, now), fixes=list(plan_order.fixes.told()),
    )  # fmt: skip
    text = _("reminded %s") % plan_order.drafter
    record(by=PROGRAM, now=now, verb="drafter-reminded", text=text, subject=plan_order, job=plan_order.shoot.number)
    return True
