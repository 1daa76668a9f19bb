"""Reminding drafters: once a round, in their own hours, and no longer once it has come."""

from datetime import UTC, datetime, timedelta

import pytest

from deliverables.actions.chasing import chase
from deliverables.actions.drafts import receive_draft
from deliverables.actions.fixes import return_fix, send_fixes
from deliverables.models import PlanOrder
from office.models import Notice, NoticeState
from tests.cast import NOW
from tests.deliverables.conftest import ask
from tests.deliverables.papers import sent

# The plan is due on Tuesday 2027-03-02 at 17:00 in Manila, 09:00Z.
DUE = datetime(2027, 3, 2, 9, 0, tzinfo=UTC)


def chases():
    kinds = ("plan-due-soon", "plan-overdue", "fix-overdue")
    return {notice.key: notice for notice in Notice.objects.all() if notice.key.startswith(kinds)}


@pytest.fixture
def late_fix(fix, by_owner):
    send_fixes(plan_order=fix.plan_order, by=by_owner, now=NOW)
    return fix


def test_two_working_hours_before_the_promise_a_plan_is_due_soon(sent_order):
    assert chase(DUE - timedelta(hours=2, minutes=1)) == 0
    assert chase(DUE - timedelta(hours=2)) == 1
    assert list(chases()) == [f"plan-due-soon:{sent_order.pk}:0"]


def test_each_reminder_is_written_once(sent_order):
    assert [chase(DUE - timedelta(hours=1)), chase(DUE - timedelta(minutes=55))] == [1, 0]
    assert [chase(DUE + timedelta(minutes=5)), chase(DUE + timedelta(minutes=10))] == [1, 0]
    assert list(chases()) == [f"plan-due-soon:{sent_order.pk}:0", f"plan-overdue:{sent_order.pk}:0"]


def test_a_reminder_waits_for_the_drafters_hours(sent_order):
    chase(DUE + timedelta(hours=6))  # 23:00 in Manila
    assert chases()[f"plan-overdue:{sent_order.pk}:0"].send_after == datetime(2027, 3, 3, 1, 0, tzinfo=UTC)


def test_a_reminder_within_the_hours_goes_at_once(sent_order):
    at = DUE + timedelta(minutes=5)
    chase(at)
    assert chases()[f"plan-overdue:{sent_order.pk}:0"].send_after == at


def test_an_hour_before_the_weekend_the_promise_of_monday_morning_is_soon(sent_order):
    # Friday 17:00 in Manila; due on Monday at 10:00: two working hours.
    PlanOrder.objects.update(due_at=datetime(2027, 3, 8, 2, 0, tzinfo=UTC))
    assert chase(datetime(2027, 3, 5, 9, 0, tzinfo=UTC)) == 1


def test_a_draft_takes_back_a_reminder_that_has_not_left(sent_order, by_drafter):
    chase(DUE + timedelta(hours=6))
    receive_draft(plan_order=sent_order, upload=sent(), note="", by=by_drafter, now=DUE + timedelta(hours=7))
    assert chases()[f"plan-overdue:{sent_order.pk}:0"].state == NoticeState.WITHDRAWN
    assert chase(DUE + timedelta(days=2)) == 0


def test_late_fixes_are_chased_by_name(late_fix):
    assert chase(DUE) == 1
    notice = chases()[f"fix-overdue:{late_fix.plan_order_id}:1"]
    assert "1. The pantry is missing." in notice.text


def test_returning_them_takes_the_reminder_back(late_fix, by_drafter):
    chase(DUE + timedelta(hours=6))
    return_fix(fix=late_fix, note="", by=by_drafter, now=DUE + timedelta(hours=7))
    assert chases()[f"fix-overdue:{late_fix.plan_order_id}:1"].state == NoticeState.WITHDRAWN


def test_the_next_round_is_chased_anew(late_fix, draft, by_owner):
    chase(DUE)
    draft.plan_order.refresh_from_db()
    ask(draft, by_owner, "The stair")
    send_fixes(plan_order=draft.plan_order, by=by_owner, now=DUE)
    chase(DUE + timedelta(days=2))
    assert f"fix-overdue:{late_fix.plan_order_id}:2" in chases()


def test_orders_that_are_not_out_are_left_alone(plan_order):
    assert chase(DUE + timedelta(days=9)) == 0
