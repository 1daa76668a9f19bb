"""Fix requests: asked, told in one mail, returned, settled, asked again, withdrawn."""

from datetime import UTC, datetime
from decimal import Decimal

import pytest

from deliverables.actions.drafts import receive_draft
from deliverables.actions.fixes import ask_again, return_fix, send_fixes, settle_fix, withdraw_fix
from deliverables.models import FixRequest, FixState, PlanOrderState
from office.errors import Refused, WrongState
from office.models import Event, Notice
from tests.cast import NOW
from tests.deliverables.conftest import ask
from tests.deliverables.papers import sent


@pytest.fixture
def told(fix, by_owner) -> FixRequest:
    """With the drafter."""
    send_fixes(plan_order=fix.plan_order, by=by_owner, now=NOW)
    fix.refresh_from_db()
    return fix


def state_of_order(fix: FixRequest) -> str:
    fix.plan_order.refresh_from_db()
    return fix.plan_order.state


def fix_mails():
    return Notice.objects.filter(key__startswith="fixes:")


def test_a_fix_is_pinned_and_numbered_and_tells_nobody_yet(fix, draft, by_owner):
    assert (fix.number, fix.state, fix.x, fix.y) == (1, FixState.ASKED, Decimal("0.25"), Decimal("0.5"))
    assert ask(draft, by_owner, x=None, y=None).number == 2
    assert not fix_mails().exists()
    assert Event.objects.of_subject(fix).get().text == "asked: The pantry is missing."


@pytest.mark.parametrize(
    "pin",
    [
        {"x": Decimal("1.2")},
        {"y": Decimal("-0.1")},
        {"x": None},
        {"y": None},
        {"page": 0},
    ],
)
def test_a_pin_lies_on_the_page(draft, by_owner, pin):
    with pytest.raises(Refused):
        ask(draft, by_owner, **pin)
    assert not FixRequest.objects.exists()


def test_a_pin_lies_on_a_page_that_there_is(draft, by_owner):
    draft.pages.create(number=1, width=100, height=80, file="previews/x.png")
    with pytest.raises(Refused, match="no page 2"):
        ask(draft, by_owner, page=2)


def test_no_fix_is_asked_of_an_accepted_plan(accepted, draft, by_owner):
    with pytest.raises(WrongState):
        ask(draft, by_owner)


def test_all_that_was_asked_goes_in_one_mail(fix, draft, by_owner):
    ask(draft, by_owner, "The stair runs up, not down.")
    order = send_fixes(plan_order=draft.plan_order, by=by_owner, now=NOW)
    notice = fix_mails().get()
    assert "1. The pantry is missing." in notice.text
    assert "2. The stair runs up, not down." in notice.text
    assert notice.subject == "2 fixes on P-2027-0001: 27 Alder Rise"
    assert (order.state, order.round) == (PlanOrderState.WITH_DRAFTER, 1)


def test_a_fix_is_due_in_the_drafters_working_hours(told):
    # 23:00 in Manila; four hours from Tuesday 09:00 end at 13:00, 05:00Z.
    assert told.due_at == datetime(2027, 3, 2, 5, 0, tzinfo=UTC)
    told.plan_order.refresh_from_db()
    assert told.plan_order.due_at == told.due_at
    assert told.plan_order.promised_at != told.due_at


def test_sending_again_without_anything_new_is_refused(told, by_owner):
    with pytest.raises(Refused, match="nothing new"):
        send_fixes(plan_order=told.plan_order, by=by_owner, now=NOW)
    assert fix_mails().count() == 1


def test_a_later_fix_goes_in_a_mail_of_its_own_and_reminds_of_the_open_ones(told, draft, by_owner):
    ask(draft, by_owner, "The stair runs up, not down.")
    send_fixes(plan_order=told.plan_order, by=by_owner, now=NOW)
    second = fix_mails().order_by("-pk").first()
    assert second.subject.startswith("1 fix on")
    assert "Still open from before:" in second.text
    assert "The pantry is missing." in second.text


def test_a_draft_that_leaves_a_fix_open_can_be_handed_back(told, by_owner, by_drafter):
    receive_draft(plan_order=told.plan_order, upload=sent(), note="", by=by_drafter, now=NOW)
    assert state_of_order(told) == PlanOrderState.TO_CHECK
    order = send_fixes(plan_order=told.plan_order, by=by_owner, now=NOW)
    assert (order.state, order.round) == (PlanOrderState.WITH_DRAFTER, 2)
    assert fix_mails().order_by("-pk").first().subject.startswith("1 fix on")


def test_the_drafter_returns_a_fix_and_the_plan_comes_back(told, by_drafter):
    returned = return_fix(fix=told, note="Drawn now.", by=by_drafter, now=NOW)
    assert (returned.state, returned.drafter_note, returned.returned_at) == (FixState.RETURNED, "Drawn now.", NOW)
    assert state_of_order(told) == PlanOrderState.TO_CHECK
    assert Event.objects.of_subject(told).first().actor_name == "Ines Fajardo"


def test_the_plan_stays_with_the_drafter_while_another_fix_is_out(fix, draft, by_owner, by_drafter):
    ask(draft, by_owner, "The stair runs up, not down.")
    send_fixes(plan_order=draft.plan_order, by=by_owner, now=NOW)
    return_fix(fix=fix, note="", by=by_drafter, now=NOW)
    assert state_of_order(fix) == PlanOrderState.WITH_DRAFTER


def test_another_drafters_link_may_not_return_it(told, by_other_drafter):
    with pytest.raises(Refused):
        return_fix(fix=told, note="", by=by_other_drafter, now=NOW)
    told.refresh_from_db()
    assert told.state == FixState.ASKED


def test_a_fix_the_drafter_has_not_been_told_of_cannot_be_returned(fix, by_drafter):
    with pytest.raises(WrongState, match="not been sent"):
        return_fix(fix=fix, note="", by=by_drafter, now=NOW)


def test_a_fix_is_returned_once(told, by_drafter):
    return_fix(fix=told, note="", by=by_drafter, now=NOW)
    with pytest.raises(WrongState):
        return_fix(fix=told, note="", by=by_drafter, now=NOW)


def test_returned_and_not_right_goes_round_again_in_the_next_mail(told, by_owner, by_drafter):
    return_fix(fix=told, note="", by=by_drafter, now=NOW)
    again = ask_again(fix=told, by=by_owner, now=NOW)
    assert (again.state, again.round, again.told_at) == (FixState.ASKED, 2, None)
    send_fixes(plan_order=told.plan_order, by=by_owner, now=NOW)
    assert fix_mails().count() == 2
    assert "asked for the 2. time" in fix_mails().order_by("-pk").first().text


def test_only_a_returned_fix_is_asked_again(told, by_owner):
    with pytest.raises(WrongState):
        ask_again(fix=told, by=by_owner, now=NOW)


def test_settling_the_last_fix_brings_the_plan_back(told, by_owner):
    settled = settle_fix(fix=told, by=by_owner, now=NOW)
    assert (settled.state, settled.settled_at) == (FixState.SETTLED, NOW)
    assert state_of_order(told) == PlanOrderState.TO_CHECK


def test_withdrawing_the_last_fix_brings_the_plan_back(told, by_owner):
    assert withdraw_fix(fix=told, by=by_owner, now=NOW).state == FixState.WITHDRAWN
    assert state_of_order(told) == PlanOrderState.TO_CHECK


@pytest.mark.parametrize("action", [settle_fix, withdraw_fix, ask_again])
def test_what_is_settled_stays_settled(told, by_owner, action):
    settle_fix(fix=told, by=by_owner, now=NOW)
    with pytest.raises(WrongState):
        action(fix=told, by=by_owner, now=NOW)
