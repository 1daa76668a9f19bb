"""Plan orders: written, sent, withdrawn, accepted, taken up again."""

from datetime import UTC, datetime
from decimal import Decimal

import pytest
from django.core import mail

from billing.actions.quotes import accept_quote, offer_quote
from billing.models import TrueUp
from deliverables.actions.drafts import receive_draft
from deliverables.actions.fixes import settle_fix
from deliverables.actions.plan_orders import accept_plan, reopen_plan, send_plan_order, withdraw_plan_order
from deliverables.models import FixState, PlanOrderState
from jobs.models import AreaSource, Shoot, ShootState
from office.actions.notices import send_waiting
from office.errors import Refused, WrongState
from office.models import Event, Notice, NoticeState
from tests.billing.conftest import make_rate_card
from tests.cast import NOW
from tests.deliverables.conftest import ask, make_order
from tests.deliverables.papers import sent


def test_an_order_is_written_under_the_next_number_and_tells_nobody(plan_order):
    assert (plan_order.number, plan_order.state) == ("P-2027-0001", PlanOrderState.TO_SEND)
    assert plan_order.promised_at is None
    assert not Notice.objects.exists()
    assert Event.objects.of_subject(plan_order).get().job == "S-2027-0001"


def test_numbers_follow_one_another(plan_order, shoot, drafter, by_owner):
    assert make_order(shoot, drafter, by_owner).number == "P-2027-0002"


def test_a_drafter_who_takes_no_orders_gets_none(shoot, drafter, by_owner):
    drafter.active = False
    with pytest.raises(Refused) as refusal:
        make_order(shoot, drafter, by_owner)
    assert refusal.value.field == "drafter"


def test_nothing_is_ordered_for_a_job_that_is_over(shoot, drafter, by_owner):
    shoot.state = ShootState.CANCELLED
    with pytest.raises(Refused):
        make_order(shoot, drafter, by_owner)


def test_the_promise_runs_in_the_drafters_working_hours(sent_order):
    # NOW is 2027-03-01T15:00Z, 23:00 in Manila (UTC+8): eight hours from Tuesday 09:00 end at 17:00, 09:00Z.
    assert sent_order.promised_at == datetime(2027, 3, 2, 9, 0, tzinfo=UTC)
    assert sent_order.due_at == sent_order.promised_at
    assert sent_order.state == PlanOrderState.WITH_DRAFTER


def test_the_price_is_kept_as_it_was_when_the_order_was_sent(sent_order):
    # 12.00 + 0.05 × 227.6124 m² + 3 × 3.00 = 32.38062
    assert (sent_order.price, sent_order.currency) == (Decimal("32.38"), "USD")


def test_sending_mails_the_drafter_the_order_and_the_link(sent_order):
    notice = Notice.objects.get()
    assert notice.to_address == "fairline@fairline.example"
    assert "P-2027-0001" in notice.subject
    assert "Due: Tue, Mar 2, 2027, 5:00" in notice.text
    assert "Please show the stove." in notice.text
    assert "ANSI Z765" in notice.text


def test_the_link_stands_in_the_mail_and_not_in_the_outbox(sent_order):
    assert "/open/" not in Notice.objects.get().text
    send_waiting(now=NOW)
    assert "http://127.0.0.1:8000/open/" in mail.outbox[0].body
    assert "http://127.0.0.1:8000/open/" in mail.outbox[0].alternatives[0].content


def test_a_second_contact_gets_the_same_mail(plan_order, drafter, by_owner):
    drafter.second_email = "night@fairline.example"
    drafter.save()
    send_plan_order(plan_order=plan_order, by=by_owner, now=NOW)
    assert set(Notice.objects.values_list("to_address", flat=True)) == {drafter.email, "night@fairline.example"}


def test_an_order_is_sent_once(sent_order, by_owner):
    with pytest.raises(WrongState):
        send_plan_order(plan_order=sent_order, by=by_owner, now=NOW)
    assert Notice.objects.count() == 1


def test_an_order_does_not_leave_before_the_capture(plan_order, shoot, by_owner):
    shoot.state = ShootState.CONFIRMED
    shoot.save()
    with pytest.raises(Refused, match="not captured"):
        send_plan_order(plan_order=plan_order, by=by_owner, now=NOW)


def test_withdrawing_an_order_that_was_never_sent_tells_nobody(plan_order, by_owner):
    assert withdraw_plan_order(plan_order=plan_order, by=by_owner, now=NOW).state == PlanOrderState.WITHDRAWN
    assert not Notice.objects.exists()


def test_withdrawing_takes_back_a_mail_that_has_not_left(sent_order, by_owner):
    withdraw_plan_order(plan_order=sent_order, by=by_owner, now=NOW)
    assert Notice.objects.get().state == NoticeState.WITHDRAWN


def test_withdrawing_after_the_mail_has_left_tells_the_drafter(sent_order, by_owner):
    send_waiting(now=NOW)
    withdraw_plan_order(plan_order=sent_order, by=by_owner, now=NOW)
    assert Notice.objects.get(state=NoticeState.WAITING).subject.startswith("Withdrawn: plan order P-2027-0001")


def test_withdrawing_ends_the_open_fixes(fix, by_owner):
    withdraw_plan_order(plan_order=fix.plan_order, by=by_owner, now=NOW)
    fix.refresh_from_db()
    assert fix.state == FixState.WITHDRAWN


def test_the_newest_draft_becomes_the_plan(draft, by_owner):
    upload = sent()
    second = receive_draft(plan_order=draft.plan_order, upload=upload, note="", by=by_owner, now=NOW)
    accepted = accept_plan(plan_order=draft.plan_order, measured_area_m2=None, by=by_owner, now=NOW)
    assert (accepted.state, accepted.accepted_draft) == (PlanOrderState.ACCEPTED, second)
    assert Notice.objects.filter(subject__startswith="Accepted").exists()


def test_a_plan_with_an_open_fix_is_not_accepted(fix, by_owner):
    with pytest.raises(Refused, match="still open"):
        accept_plan(plan_order=fix.plan_order, measured_area_m2=None, by=by_owner, now=NOW)
    settle_fix(fix=fix, by=by_owner, now=NOW)
    assert accept_plan(plan_order=fix.plan_order, measured_area_m2=None, by=by_owner, now=NOW)


def test_an_order_without_a_draft_is_not_accepted(sent_order, by_owner):
    with pytest.raises(Refused, match="no draft"):
        accept_plan(plan_order=sent_order, measured_area_m2=None, by=by_owner, now=NOW)


def test_a_plan_is_accepted_once(accepted, by_owner):
    with pytest.raises(WrongState):
        accept_plan(plan_order=accepted, measured_area_m2=None, by=by_owner, now=NOW)


def test_a_measured_area_becomes_the_propertys(draft, house, by_owner):
    accept_plan(plan_order=draft.plan_order, measured_area_m2=Decimal("231.5000"), by=by_owner, now=NOW)
    house.refresh_from_db()
    assert (house.area_m2, house.area_source) == (Decimal("231.5000"), AreaSource.MEASURED)


def test_without_a_measured_area_the_stated_one_stays(accepted, house):
    house.refresh_from_db()
    assert house.area_source == AreaSource.STATED


def test_an_acceptance_can_be_taken_back_and_fixes_asked_again(accepted, draft, by_owner):
    reopened = reopen_plan(plan_order=accepted, by=by_owner, now=NOW)
    assert (reopened.state, reopened.accepted_draft) == (PlanOrderState.TO_CHECK, None)
    assert ask(draft, by_owner).number == 1


def test_only_an_accepted_plan_is_taken_up_again(sent_order, by_owner):
    with pytest.raises(WrongState):
        reopen_plan(plan_order=sent_order, by=by_owner, now=NOW)


@pytest.fixture
def quoted(shoot, package, exterior, by_owner):
    """An accepted quote for 2,450 sq ft."""
    make_rate_card(package, exterior)
    Shoot.objects.update(state=ShootState.PENCILLED)
    quote = offer_quote(shoot=Shoot.objects.get(), by=by_owner, now=NOW)
    accept_quote(quote=quote, by=by_owner, now=NOW)
    Shoot.objects.update(state=ShootState.CAPTURED)


def test_a_measured_area_far_from_the_stated_one_proposes_a_true_up(quoted, draft, by_owner):
    # 2,450 sq ft stated, 2,750 measured (255.4834 m²): 300 sq ft more at 0.06
    accept_plan(plan_order=draft.plan_order, measured_area_m2=Decimal("255.4834"), by=by_owner, now=NOW)
    assert TrueUp.objects.get().difference == Decimal("18.00")


def test_a_measured_area_near_the_stated_one_proposes_none(quoted, draft, by_owner):
    accept_plan(plan_order=draft.plan_order, measured_area_m2=Decimal("230.0000"), by=by_owner, now=NOW)
    assert not TrueUp.objects.exists()
