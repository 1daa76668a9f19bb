"""What of the money comes to the desk, and how heavily it weighs."""

from datetime import date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from billing.actions.invoices import draw_up_invoice, issue_invoice
from billing.actions.payments import note_payment
from billing.actions.quotes import offer_quote
from billing.actions.true_ups import propose_true_up, waive_true_up
from billing.desk import matters
from billing.models import PlacedOrder
from tests.cast import NOW

pytestmark = pytest.mark.django_db
CHICAGO = ZoneInfo("America/Chicago")


def keys(now):
    return {matter.key.split(":")[0]: matter for matter in matters(now)}


def test_nothing_waits_at_first(office, django_assert_max_num_queries):
    with django_assert_max_num_queries(12):
        assert keys(NOW) == {}


def test_an_offer_comes_up_two_days_before_its_end(offered):
    assert "quote-ends" not in keys(offered.valid_until - timedelta(days=2, seconds=1))
    matter = keys(offered.valid_until - timedelta(days=2))["quote-ends"]
    assert matter.text == "Q-2027-0001 for S-2027-0001 27 Alder Rise ends soon"
    assert matter.url == offered.get_absolute_url()


def test_an_accepted_order_waits_for_a_time_until_it_has_one(accepted, timed):
    accepted.shoot.starts_at = None
    type(timed).objects.filter(pk=timed.pk).update(starts_at=None)
    assert keys(NOW)["quote-no-time"].url == f"/shoots/{timed.number}/time/"
    type(timed).objects.filter(pk=timed.pk).update(starts_at=timed.starts_at)
    assert "quote-no-time" not in keys(NOW)


class TestOverdue:
    @pytest.fixture
    def invoice(self, accepted, by_owner):
        draft = draw_up_invoice(shoot=accepted.shoot, by=by_owner, now=NOW)
        return issue_invoice(invoice=draft, by=by_owner, now=NOW)

    def at(self, day):
        return keys(datetime(2027, 3, day, 0, 0, tzinfo=CHICAGO)).get("overdue")

    def test_the_due_day_itself_is_not_overdue_the_next_is(self, invoice):
        assert self.at(15) is None
        assert self.at(16).since == datetime(2027, 3, 16, tzinfo=CHICAGO)

    def test_it_weighs_more_day_by_day_and_never_more_than_95(self, invoice):
        assert (self.at(16).weight, self.at(26).weight) == (61, 71)
        assert keys(datetime(2028, 3, 1, tzinfo=CHICAGO))["overdue"].weight == 95

    def test_it_says_who_owes_what_is_still_open(self, invoice, by_owner):
        note_payment(client=invoice.client, amount=Decimal("72.16"), received_on=date(2027, 3, 1), by=by_owner, now=NOW)
        assert self.at(16).why == "Odile Marchetti, Marchetti Homes owes $300.00, 1 day past due."
        assert "2 days past due" in self.at(17).why

    def test_paid_it_is_gone(self, invoice, by_owner):
        note_payment(client=invoice.client, amount=invoice.total, received_on=date(2027, 3, 1), by=by_owner, now=NOW)
        assert self.at(16) is None


def test_a_draft_waits_to_be_issued(accepted, by_owner):
    draft = draw_up_invoice(shoot=accepted.shoot, by=by_owner, now=NOW)
    assert keys(NOW)["draft"].url == draft.get_absolute_url()
    issue_invoice(invoice=draft, by=by_owner, now=NOW)
    assert "draft" not in keys(NOW)


def test_a_true_up_waits_for_the_owner_s_word(accepted, by_owner):
    true_up = propose_true_up(shoot=accepted.shoot, measured_area_m2=Decimal("241.5479"), by=by_owner, now=NOW)
    assert keys(NOW)["true-up"].why.endswith("the same rate card 3: $9.00")
    waive_true_up(true_up=true_up, by=by_owner, now=NOW)
    assert "true-up" not in keys(NOW)


def test_an_order_from_the_order_page_waits_for_a_quote(shoot, rate_card, by_owner):
    PlacedOrder.objects.create(shoot=shoot, placed_at=NOW, shown_total=Decimal("372.16"), shown_currency="USD")
    matter = keys(NOW)["ordered"]
    assert matter.why == "No quote is offered yet. The page showed $372.16."
    offer_quote(shoot=shoot, by=by_owner, now=NOW)
    assert "ordered" not in keys(NOW)
