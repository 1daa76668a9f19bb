"""Fix requests: asked, told in one mail, returned by the drafter, settled by us."""

from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from deliverables.models import Draft, FixKind, FixRequest, FixState, PlanOrder, PlanOrderState
from office.actions.actors import Actor
from office.actions.events import record
from office.actions.states import locked, move
from office.errors import Refused, WrongState

from .holders import refuse_stranger_to_order
from .mails import stop_chasing, tell_drafter
from .promises import promised

ASKING_STATES = (PlanOrderState.WITH_DRAFTER, PlanOrderState.TO_CHECK)


@transaction.atomic
def ask_fix(
    *, draft: Draft, kind: str, text: str, page: int, x: Decimal | None, y: Decimal | None, by: Actor, now: datetime
) -> FixRequest:
    """Note one thing to put right, pinned at (x, y) as shares of the page; the drafter hears of it by `send_fixes`."""
    plan_order = locked(draft.plan_order)
    if plan_order.state not in ASKING_STATES:
        raise WrongState(_("Fixes are asked while the plan is with the drafter or being checked."))
    _check_pin(draft, page, x, y)
    fix = FixRequest.objects.create(
        plan_order=plan_order,
        draft=draft,
        number=(plan_order.fixes.aggregate(last=Max("number"))["last"] or 0) + 1,
        kind=FixKind(kind),
        text=text,
        page=page,
        x=x,
        y=y,
        asked_at=now,
        asked_by=by.name,
    )
    record(by=by, now=now, verb="fix-asked", text=_("asked: %s") % text, subject=fix, job=plan_order.shoot.number)
    return fix


def _check_pin(draft: Draft, page: int, x: Decimal | None, y: Decimal | None) -> None:
    pages = draft.pages.count()
    if page < 1 or (pages and page > pages):
        raise Refused(_("This draft has no page %d.") % page, field="page")
    if (x is None) != (y is None):
        raise Refused(_("A pin needs both, across and down."), field="x")
    if any(share is not None and not 0 <= share <= 1 for share in (x, y)):
        raise Refused(_("The pin lies outside the page."), field="x")


@transaction.atomic
def send_fixes(*, plan_order: PlanOrder, by: Actor, now: datetime) -> PlanOrder:
    """Tell the drafter everything asked and not yet told, in one mail, and hand the plan back.

    What was told before and never returned goes along as a reminder, still due when it was due.
    """
    plan_order = locked(plan_order)
    untold = list(plan_order.fixes.untold())
    again = list(plan_order.fixes.told())
    if not untold and not (again and plan_order.state == PlanOrderState.TO_CHECK):
        raise Refused(_("There is nothing new to tell the drafter."))
    due_at = promised(plan_order.drafter, now, plan_order.drafter.fix_hours)
    plan_order.fixes.untold().update(told_at=now, due_at=due_at)
    stop_chasing(plan_order)
    _hand_back(plan_order, due_at)
    count = len(untold or again)
    text = ngettext("sent %d fix to the drafter", "sent %d fixes to the drafter", count) % count
    record(by=by, now=now, verb="fixes-sent", text=text, subject=plan_order, job=plan_order.shoot.number)
    tell_drafter(
        plan_order=plan_order, template="fixes_asked", key=f"fixes:{plan_order.pk}:{plan_order.round}",
        by=by, now=now, count=count, fixes=untold, again=again, due_at=due_at,
    )  # fmt: skip
    return plan_order


def _hand_back(plan_order: PlanOrder, due_at: datetime) -> None:
    """To the drafter, for one more round; where the plan is there already only the round goes up."""
    if plan_order.state == PlanOrderState.WITH_DRAFTER:
        plan_order.round, plan_order.due_at = plan_order.round + 1, due_at
        plan_order.save(update_fields=["round", "due_at"])
    else:
        move(plan_order, PlanOrderState.WITH_DRAFTER, round=plan_order.round + 1, due_at=due_at)


@transaction.atomic
def return_fix(*, fix: FixRequest, note: str, by: Actor, now: datetime) -> FixRequest:
    """The drafter's word that this one is done."""
    plan_order, fix = _locked(fix)
    refuse_stranger_to_order(plan_order, by)
    if fix.told_at is None:
        raise WrongState(_("%s has not been sent to the drafter yet.") % fix)
    move(fix, FixState.RETURNED, returned_at=now, drafter_note=note)
    record(by=by, now=now, verb="fix-returned", text=_("returned: %s") % fix.text, subject=fix, job=_job(plan_order))
    come_back_when_nothing_is_asked(plan_order)
    return fix


@transaction.atomic
def settle_fix(*, fix: FixRequest, by: Actor, now: datetime) -> FixRequest:
    """It is right now."""
    plan_order, fix = _locked(fix)
    move(fix, FixState.SETTLED, settled_at=now)
    record(by=by, now=now, verb="fix-settled", text=_("settled: %s") % fix.text, subject=fix, job=_job(plan_order))
    come_back_when_nothing_is_asked(plan_order)
    return fix


@transaction.atomic
def ask_again(*, fix: FixRequest, by: Actor, now: datetime) -> FixRequest:
    """Returned and not right: asked once more, in the next mail to the drafter."""
    plan_order, fix = _locked(fix)
    if plan_order.state not in ASKING_STATES:
        raise WrongState(_("Fixes are asked while the plan is with the drafter or being checked."))
    move(fix, FixState.ASKED, round=fix.round + 1, asked_at=now, told_at=None, due_at=None)
    record(
        by=by, now=now, verb="fix-asked-again", text=_("asked again: %s") % fix.text, subject=fix, job=_job(plan_order)
    )
    return fix


@transaction.atomic
def withdraw_fix(*, fix: FixRequest, by: Actor, now: datetime) -> FixRequest:
    """No longer wanted."""
    plan_order, fix = _locked(fix)
    move(fix, FixState.WITHDRAWN)
    record(by=by, now=now, verb="fix-withdrawn", text=_("withdrew: %s") % fix.text, subject=fix, job=_job(plan_order))
    come_back_when_nothing_is_asked(plan_order)
    return fix


def come_back_when_nothing_is_asked(plan_order: PlanOrder) -> None:
    """A plan that has a draft and of which the drafter owes no fix is ours to check."""
    if plan_order.fixes.told().exists():
        return
    stop_chasing(plan_order)
    if plan_order.state == PlanOrderState.WITH_DRAFTER and plan_order.drafts.exists():
        move(plan_order, PlanOrderState.TO_CHECK)


def _locked(fix: FixRequest) -> tuple[PlanOrder, FixRequest]:
    """Always the order before the fix, so that two who act on one order cannot wait for each other."""
    return locked(fix.plan_order), locked(fix)


def _job(plan_order: PlanOrder) -> str:
    return plan_order.shoot.number
