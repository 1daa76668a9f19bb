"""Accepting, declining, withdrawing and lapsing: once each, and what becomes of the pencilled visit."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.core import mail

from billing.actions.quotes import accept_quote, decline_quote, lapse_quotes, offer_quote, withdraw_quote
from billing.models import Invoice, InvoiceKind, InvoiceState, Quote, QuoteState
from jobs.actions.shoots import cancel_shoot, lapse_holds, note_no_access
from jobs.models import Shoot, ShootState
from office.actions.actors import Actor
from office.actions.notices import send_waiting
from office.actions.states import move
from office.errors import Refused, WrongState
from office.models import CapabilityLink, Event, Notice, NoticeState, Purpose
from tests.cast import NOW

pytestmark = pytest.mark.django_db
LATER = NOW + timedelta(days=1)


@pytest.fixture
def by_client(offered):
    return Actor.of_link(CapabilityLink.objects.get(purpose=Purpose.QUOTE, subject_id=offered.pk))


@pytest.fixture
def offered_with_time(timed, rate_card, by_owner):
    return offer_quote(shoot=timed, by=by_owner, now=NOW)


def bodies(now):
    send_waiting(now=now)
    return {sent.subject: sent.body for sent in mail.outbox}


def test_the_client_s_yes_is_noted_with_name_note_and_network(offered, by_client):
    quote = accept_quote(
        quote=offered, name="O. Marchetti", note="The key is next door.", from_network="203.0.113.0/24",
        by=by_client, now=LATER,
    )  # fmt: skip
    quote.refresh_from_db()
    assert (quote.state, quote.answered_at, quote.answered_by) == (QuoteState.ACCEPTED, LATER, "O. Marchetti")
    assert (quote.answer_note, quote.answered_from) == ("The key is next door.", "203.0.113.0/24")
    event = Event.objects.of_job(quote.shoot.number).get(verb="quote-accepted")
    assert (event.actor_kind, event.actor_name, event.text) == (
        "link", "Odile Marchetti", "accepted Q-2027-0001",
    )  # fmt: skip


def test_a_visit_with_time_and_crew_is_confirmed_by_it(offered_with_time, by_owner):
    quote = accept_quote(quote=offered_with_time, by=by_owner, now=LATER)
    assert Shoot.objects.get(pk=quote.shoot_id).state == ShootState.CONFIRMED
    told = bodies(LATER)
    assert "Your visit at 27 Alder Rise is confirmed" in told
    assert "We arrive Wed, Mar 3, 2027" in told["Thank you: Q-2027-0001 is accepted"]


def test_an_order_without_time_is_held_without_an_end(offered, by_owner):
    quote = accept_quote(quote=offered, by=by_owner, now=LATER)
    shoot = Shoot.objects.get(pk=quote.shoot_id)
    assert (shoot.state, shoot.hold_until) == (ShootState.PENCILLED, None)
    assert lapse_holds(LATER + timedelta(days=400)) == 0
    assert "agree on a time" in bodies(LATER)["Thank you: Q-2027-0001 is accepted"]


def test_a_second_yes_counts_for_nothing(offered, by_client, by_owner):
    accept_quote(quote=offered, name="First", by=by_client, now=LATER)
    with pytest.raises(WrongState, match="Q-2027-0001 is accepted already"):
        accept_quote(quote=offered, name="Second", by=by_owner, now=LATER)
    assert Quote.objects.get().answered_by == "First"
    assert Event.objects.filter(verb="quote-accepted").count() == 1


def test_a_no_after_a_yes_is_refused(accepted, by_owner):
    with pytest.raises(WrongState, match="accepted already"):
        decline_quote(quote=accepted, by=by_owner, now=LATER)


def test_after_its_end_a_quote_can_be_neither_accepted_nor_declined(offered, by_client):
    for answer in (accept_quote, decline_quote):
        with pytest.raises(WrongState, match="run out"):
            answer(quote=offered, by=by_client, now=offered.valid_until)
    assert accept_quote(quote=offered, by=by_client, now=offered.valid_until - timedelta(seconds=1))


def test_a_quote_for_a_cancelled_visit_cannot_be_accepted(offered, shoot, by_owner, by_client):
    cancel_shoot(shoot=shoot, why="sold", by=by_owner, now=NOW)
    with pytest.raises(WrongState, match="will not take place"):
        accept_quote(quote=offered, by=by_client, now=LATER)


def test_a_no_is_told_to_the_office_and_leaves_the_usual_hold(offered, by_client):
    quote = decline_quote(quote=offered, name="O. M.", note="Too dear", by=by_client, now=LATER)
    shoot = Shoot.objects.get(pk=quote.shoot_id)
    assert (shoot.state, shoot.hold_until) == (ShootState.PENCILLED, LATER + timedelta(hours=48))
    told = bodies(LATER)["Q-2027-0001 was declined by Odile Marchetti, Marchetti Homes"]
    assert "declined by O. M." in told
    assert "They wrote: Too dear" in told
    assert "stays pencilled until Thu, Mar 4, 2027" in told


def test_a_declined_quote_makes_room_for_another(offered, shoot, by_client, by_owner):
    decline_quote(quote=offered, by=by_client, now=LATER)
    assert offer_quote(shoot=shoot, by=by_owner, now=LATER).number == "Q-2027-0002"


def test_withdrawing_takes_back_the_mail_that_has_not_left(offered, by_owner):
    withdraw_quote(quote=offered, by=by_owner, now=NOW)
    assert Notice.objects.get().state == NoticeState.WITHDRAWN
    assert Quote.objects.get().state == QuoteState.WITHDRAWN


def test_withdrawing_one_leaves_the_mail_of_another_whose_key_begins_alike(offered, by_owner):
    other = Notice.objects.get()
    other.pk, other.key = None, f"quote:{offered.pk}1:offered"
    other.save(force_insert=True)
    withdraw_quote(quote=offered, by=by_owner, now=NOW)
    assert Notice.objects.get(key=other.key).state == NoticeState.WAITING


def test_an_accepted_quote_can_be_given_up_while_nothing_is_invoiced(accepted, by_owner):
    withdraw_quote(quote=accepted, by=by_owner, now=LATER)
    shoot = Shoot.objects.get(pk=accepted.shoot_id)
    assert shoot.hold_until == LATER + timedelta(hours=48)


def test_a_quote_with_an_issued_invoice_stands(offered, office, by_owner):
    Quote.objects.update(deposit_percent=30, deposit=Decimal("111.65"))
    quote = accept_quote(quote=Quote.objects.get(), by=by_owner, now=LATER)
    with pytest.raises(Refused, match="INV-2027-0001 was issued on this quote"):
        withdraw_quote(quote=quote, by=by_owner, now=LATER)
    quote.refresh_from_db()
    assert quote.state == QuoteState.ACCEPTED


def test_offers_that_ran_out_lapse_once_and_the_client_is_told(offered):
    end = offered.valid_until
    assert lapse_quotes(end - timedelta(seconds=1)) == 0
    assert lapse_quotes(end) == 1
    assert lapse_quotes(end) == 0
    offered.refresh_from_db()
    assert offered.state == QuoteState.LAPSED
    assert Shoot.objects.get(pk=offered.shoot_id).hold_until == end + timedelta(hours=48)
    assert "run out without an answer" in bodies(end)["Q-2027-0001 has run out"]


def test_an_offer_whose_visit_is_off_ends_without_a_mail(offered, shoot, by_owner):
    cancel_shoot(shoot=shoot, why="sold", by=by_owner, now=NOW)
    assert lapse_quotes(LATER) == 1
    assert Quote.objects.get().state == QuoteState.LAPSED
    assert "Q-2027-0001 has run out" not in bodies(LATER)


def test_an_accepted_quote_does_not_lapse(accepted):
    assert lapse_quotes(accepted.valid_until + timedelta(days=1)) == 0


def test_no_access_ends_an_open_offer(timed, rate_card, by_owner):
    move(timed, ShootState.CONFIRMED)
    offer_quote(shoot=timed, by=by_owner, now=NOW)
    note_no_access(shoot=timed, why="nobody home", by=by_owner, now=NOW)
    assert lapse_quotes(NOW) == 1


class TestDeposit:
    @pytest.fixture
    def quote(self, office, shoot, rate_card, by_owner):
        office.deposit_percent = Decimal(30)
        office.save()
        return offer_quote(shoot=shoot, by=by_owner, now=NOW)

    def test_the_quote_names_the_deposit_with_its_tax(self, quote):
        # 30 % of 347.00 is 104.10; 7.25 % of that is 7.547…, so 7.55
        assert quote.deposit == Decimal("111.65")
        send_waiting(now=NOW)
        assert "a deposit of $111.65 falls due" in mail.outbox[0].body

    def test_a_yes_issues_its_invoice(self, quote, by_owner):
        accept_quote(quote=quote, by=by_owner, now=LATER)
        deposit = Invoice.objects.get()
        assert (deposit.kind, deposit.state, deposit.number) == (
            InvoiceKind.DEPOSIT, InvoiceState.ISSUED, "INV-2027-0001",
        )  # fmt: skip
        assert (deposit.net, deposit.total) == (Decimal("104.10"), Decimal("111.65"))
        assert deposit.lines.get().text == "Deposit, 30 % of Q-2027-0001"
        told = bodies(LATER)
        assert "Invoice INV-2027-0001 from Lantern Street Scans" in told
        assert "The deposit of $111.65 is due on Tue, Mar 16, 2027" in told["Thank you: Q-2027-0001 is accepted"]

    def test_it_is_due_not_later_than_the_visit(self, quote, timed, by_owner):
        accept_quote(quote=quote, by=by_owner, now=LATER)
        assert Invoice.objects.get().due_on.isoformat() == "2027-03-03"

    def test_a_later_change_of_the_office_s_percent_changes_no_quote(self, quote, office, by_owner):
        office.deposit_percent = Decimal(50)
        office.save()
        accept_quote(quote=quote, by=by_owner, now=LATER)
        assert Invoice.objects.get().total == Decimal("111.65")


ACTIONS = {QuoteState.ACCEPTED: accept_quote, QuoteState.DECLINED: decline_quote, QuoteState.WITHDRAWN: withdraw_quote}


@pytest.mark.parametrize("start", QuoteState.values)
@pytest.mark.parametrize("end", QuoteState.values)
def test_the_table_of_states_is_kept_whole(offered, by_owner, start, end):
    Quote.objects.update(state=start)
    quote = Quote.objects.get()
    allowed = end in Quote.ALLOWED[start]
    if end in ACTIONS:
        assert _tried(lambda: ACTIONS[end](quote=quote, by=by_owner, now=LATER)) == allowed
    elif end == QuoteState.LAPSED:
        assert bool(lapse_quotes(quote.valid_until)) == allowed
    else:
        assert not allowed
    quote.refresh_from_db()
    assert quote.state == (end if allowed else start)


def _tried(action):
    try:
        action()
    except WrongState:
        return False
    return True


def test_a_visit_with_a_time_is_held_for_the_offer_but_not_beyond_its_beginning(offered_with_time):
    shoot = Shoot.objects.get(pk=offered_with_time.shoot_id)
    assert offered_with_time.valid_until == shoot.hold_until == shoot.starts_at
    assert lapse_holds(shoot.starts_at) == 1
    assert lapse_quotes(shoot.starts_at) == 1
    assert "Q-2027-0001 has run out" not in bodies(shoot.starts_at)
