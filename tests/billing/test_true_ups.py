"""True-ups: proposed by the measured area, accepted onto an invoice, or waived."""

from datetime import timedelta
from decimal import Decimal

import pytest

from billing.actions.invoices import draw_up_invoice, issue_invoice
from billing.actions.true_ups import accept_true_up, propose_true_up, waive_true_up
from billing.models import CardPackage, TrueUp, TrueUpState
from office.actions.states import move
from office.errors import Refused, WrongState
from office.models import Event
from office.rules.units import SQUARE_METRES_PER_SQUARE_FOOT
from tests.cast import NOW

pytestmark = pytest.mark.django_db


def m2(square_feet):
    return round(Decimal(square_feet) * SQUARE_METRES_PER_SQUARE_FOOT, 4)


@pytest.fixture
def propose(accepted, by_owner):
    def proposing(square_feet):
        return propose_true_up(shoot=accepted.shoot, measured_area_m2=m2(square_feet), by=by_owner, now=NOW)

    return proposing


def test_more_area_costs_what_the_same_card_says(propose):
    true_up = propose(2600)
    # 150 sq ft more at 0.06
    assert true_up.difference == Decimal("9.00")
    assert true_up.why == "Measured 2,600 sq ft, stated 2,450 sq ft; the same rate card 3"
    assert (true_up.state, true_up.stated_area_m2) == (TrueUpState.PROPOSED, m2(2450))


def test_less_area_gives_money_back(propose):
    assert propose(2000).difference == Decimal("-27.00")


def test_a_band_reached_only_by_the_measured_area_counts(propose):
    # 550 more up to 3,000 at 0.06, 200 beyond at 0.045
    assert propose(3200).difference == Decimal("42.00")


@pytest.mark.parametrize(("square_feet", "proposed"), [(2572, False), (2573, True), (2328, False), (2327, True)])
def test_within_the_office_s_tolerance_nothing_is_proposed(propose, square_feet, proposed):
    """Five percent of 2,450 is 122.5."""
    assert bool(propose(square_feet)) == proposed


def test_exactly_at_the_tolerance_nothing_is_proposed(accepted, by_owner):
    at = m2(2450) * Decimal("1.05")
    assert propose_true_up(shoot=accepted.shoot, measured_area_m2=at, by=by_owner, now=NOW) is None
    over = at + Decimal("0.0001")
    assert propose_true_up(shoot=accepted.shoot, measured_area_m2=over, by=by_owner, now=NOW)


def test_an_area_within_what_the_package_includes_changes_nothing(propose, accepted):
    CardPackage.objects.update(includes_area=9000)
    accepted.net = Decimal("290.00")
    accepted.save()
    assert propose(3200) is None


def test_without_an_accepted_quote_nothing_is_proposed(offered, by_owner):
    assert propose_true_up(shoot=offered.shoot, measured_area_m2=m2(4000), by=by_owner, now=NOW) is None


def test_a_second_measurement_takes_the_place_of_the_first(propose):
    propose(2600)
    assert propose(2700).difference == Decimal("15.00")
    assert TrueUp.objects.count() == 1
    assert propose(2450) is None
    assert not TrueUp.objects.exists()


def test_an_answered_one_stays(propose, by_owner):
    waive_true_up(true_up=propose(2600), by=by_owner, now=NOW)
    assert propose(2700) is None
    assert TrueUp.objects.get().state == TrueUpState.WAIVED


def test_accepted_it_stands_on_the_next_invoice_with_its_tax(propose, accepted, by_owner):
    accept_true_up(true_up=propose(2600), by=by_owner, now=NOW)
    invoice = draw_up_invoice(shoot=accepted.shoot, by=by_owner, now=NOW)
    line = invoice.lines.get(code="true_up")
    assert (line.amount, line.why) == (
        Decimal("9.00"),
        "Measured 2,600 sq ft, stated 2,450 sq ft; the same rate card 3",
    )
    # 356.00 at 7.25 % is 25.81
    assert (invoice.net, invoice.total) == (Decimal("356.00"), Decimal("381.81"))


def test_accepted_while_a_draft_waits_it_is_put_on_that_draft_once(propose, accepted, by_owner):
    draft = draw_up_invoice(shoot=accepted.shoot, by=by_owner, now=NOW)
    true_up = propose(2600)
    accept_true_up(true_up=true_up, by=by_owner, now=NOW)
    draft.refresh_from_db()
    assert draft.total == Decimal("381.81")
    assert draft.lines.filter(code="true_up").count() == 1
    assert draft.lines.count() == accepted.lines.count() + 1


def test_accepted_after_the_invoice_it_gets_one_of_its_own(propose, accepted, by_owner):
    issue_invoice(invoice=draw_up_invoice(shoot=accepted.shoot, by=by_owner, now=NOW), by=by_owner, now=NOW)
    accept_true_up(true_up=propose(2600), by=by_owner, now=NOW)
    second = draw_up_invoice(shoot=accepted.shoot, by=by_owner, now=NOW)
    assert [(line.code, line.amount) for line in second.lines.all()] == [("true_up", Decimal("9.00"))]
    # 9.00 at 7.25 % is 0.6525
    assert issue_invoice(invoice=second, by=by_owner, now=NOW).total == Decimal("9.65")
    with pytest.raises(Refused, match="invoiced already"):
        draw_up_invoice(shoot=accepted.shoot, by=by_owner, now=NOW)


def test_money_back_after_the_invoice_is_for_people_to_settle(propose, accepted, by_owner):
    issue_invoice(invoice=draw_up_invoice(shoot=accepted.shoot, by=by_owner, now=NOW), by=by_owner, now=NOW)
    true_up = propose(2000)
    with pytest.raises(Refused, match="invoiced already"):
        accept_true_up(true_up=true_up, by=by_owner, now=NOW)
    waive_true_up(true_up=true_up, by=by_owner, now=NOW)


def test_the_history_has_each_step(propose, by_owner, accepted):
    waive_true_up(true_up=propose(2600), by=by_owner, now=NOW + timedelta(hours=1))
    events = Event.objects.of_job(accepted.shoot.number).filter(verb__startswith="true-up")
    assert [event.text for event in events] == [
        "waived the true-up",
        "proposed a true-up: Measured 2,600 sq ft, stated 2,450 sq ft; the same rate card 3",
    ]


ANSWERS = {TrueUpState.ACCEPTED: accept_true_up, TrueUpState.WAIVED: waive_true_up}


@pytest.mark.parametrize("start", TrueUpState.values)
@pytest.mark.parametrize("end", TrueUpState.values)
def test_the_table_of_states_is_kept_whole(propose, by_owner, start, end):
    propose(2600)
    TrueUp.objects.update(state=start)
    true_up = TrueUp.objects.get()
    allowed = end in TrueUp.ALLOWED[start]
    try:
        if end in ANSWERS:
            ANSWERS[end](true_up=true_up, by=by_owner, now=NOW)
        else:
            move(true_up, end)
    except WrongState:
        assert not allowed
    else:
        assert allowed
    true_up.refresh_from_db()
    assert true_up.state == (end if allowed else start)
