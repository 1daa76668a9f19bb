"""Drafts coming in, from a drafter by link or from the office's own hand."""

from collections.abc import Iterable
from datetime import datetime

from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.utils.translation import gettext as _

from deliverables.models import Draft, FixRequest, PlanOrder, PlanOrderState
from office.actions.actors import Actor
from office.actions.errands import promise_errand
from office.actions.events import record
from office.actions.states import locked, move
from office.errors import WrongState

from .fixes import return_fix
from .holders import refuse_stranger_to_order
from .intake import Taken, take_plan
from .mails import stop_chasing

PLAN_CHECK, DRAFT_COMPARE = "plan-check", "draft-compare"
RECEIVING_STATES = (PlanOrderState.WITH_DRAFTER, PlanOrderState.TO_CHECK)


@transaction.atomic
def receive_draft(
    *, plan_order: PlanOrder, upload: UploadedFile, note: str, by: Actor, now: datetime,
    drawn_by_us: bool = False, returns: Iterable[FixRequest] = (),
) -> Draft:  # fmt: skip
    """Keep an upload as the next draft, byte for byte, and promise its plan check.

    `returns` are the fixes that its sender says it puts right. A second draft while the first is being
    checked is welcome.
    """
    plan_order = locked(plan_order)
    refuse_stranger_to_order(plan_order, by)
    if plan_order.state not in RECEIVING_STATES:
        raise WrongState(_("Drafts are received while the plan is with the drafter or being checked."))
    draft = _keep(plan_order, upload, take_plan(upload), note, drawn_by_us, by, now)
    for fix in returns:
        return_fix(fix=fix, note="", by=by, now=now)
    _to_check(locked(plan_order), now)
    stop_chasing(plan_order)
    promise_errand(kind=PLAN_CHECK, subject_id=draft.pk, now=now)
    if draft.number > 1:
        promise_errand(kind=DRAFT_COMPARE, subject_id=draft.pk, now=now)
    text = _("drew %s") if drawn_by_us else _("sent in %s")
    record(
        by=by, now=now, verb="draft-received", text=text % draft, subject=draft, job=plan_order.shoot.number,
        sha256=draft.sha256,
    )  # fmt: skip
    return draft


def _keep(
    plan_order: PlanOrder, upload: UploadedFile, taken: Taken, note: str, drawn_by_us: bool, by: Actor, now: datetime
) -> Draft:
    newest = plan_order.newest_draft
    draft = Draft(
        plan_order=plan_order,
        number=newest.number + 1 if newest else 1,
        file_name=taken.name,
        content_type=taken.content_type,
        size=taken.size,
        sha256=taken.sha256,
        note=note,
        received_at=now,
        received_from=by.name,
        drawn_by_us=drawn_by_us,
    )
    draft.file.save("draft", upload, save=False)
    draft.save(force_insert=True)
    return draft


def _to_check(plan_order: PlanOrder, now: datetime) -> None:
    first = plan_order.received_at or now
    if plan_order.state == PlanOrderState.WITH_DRAFTER:
        move(plan_order, PlanOrderState.TO_CHECK, received_at=first)
    elif plan_order.received_at is None:
        plan_order.received_at = first
        plan_order.save(update_fields=["received_at"])
