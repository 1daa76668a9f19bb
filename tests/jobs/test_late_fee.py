"""What a late change may cost: the rule, and what the actions note on the shoot."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.actions.fees import plain, waive_fee
from jobs.actions.shoots import cancel_shoot, note_no_access, set_time
from jobs.models import DiaryRules
from jobs.rules.late_fee import FeeRule, Wish, fee_for_cancelling, fee_for_moving, is_late
from office.errors import Refused
from office.models import Event
from tests.cast import NOW, visit

RULE = FeeRule(free_hours=48, moved=Decimal(25), cancelled=Decimal(50), no_access=Decimal(60))
VISIT = datetime(2027, 3, 14, 15, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("before", "percent"),  # common practice, no source: free until two days before, at exactly two days still free
    [(timedelta(hours=48), 0), (timedelta(hours=48, seconds=-1), 25), (timedelta(), 25), (timedelta(hours=-3), 25)],
)
def test_moving_is_free_until_the_free_hours_begin(before, percent):
    assert fee_for_moving(RULE, VISIT, VISIT - before, Wish.CLIENT) == percent


def test_cancelling_has_its_own_percentage():
    assert fee_for_cancelling(RULE, VISIT, VISIT - timedelta(hours=1), Wish.CLIENT) == 50


@given(st.sampled_from([Wish.OFFICE, Wish.WEATHER]), st.integers(-100, 100))
def test_only_the_clients_own_wish_costs(wish, hours):
    moment = VISIT - timedelta(hours=hours)
    assert fee_for_moving(RULE, VISIT, moment, wish) == fee_for_cancelling(RULE, VISIT, moment, wish) == 0


@given(st.integers(0, 200), st.integers(-500, 500))
def test_waiting_never_makes_it_cheaper(free_hours, hours):
    rule = FeeRule(free_hours, Decimal(25), Decimal(50), Decimal(0))
    moment = VISIT - timedelta(hours=hours)
    assert is_late(rule, VISIT, moment) <= is_late(rule, VISIT, moment + timedelta(hours=1))


def move(shoot, person, by, wish, days=3):
    return set_time(shoot=shoot, crew=[person], by=by, now=NOW, wish=wish, **visit(NOW + timedelta(days=days)))


@pytest.fixture
def soon(confirmed):
    """A confirmed visit two days ahead is free at the default rule; this office asks for three days."""
    DiaryRules.objects.create(pk=1, free_hours=72)
    return confirmed


@pytest.mark.django_db
def test_a_late_move_at_the_clients_wish_is_noted_for_the_invoice(soon, scanner, by_owner):
    moved = move(soon, scanner, by_owner, Wish.CLIENT)
    assert (moved.fee_percent, moved.fee_note) == (25, "moved late at the client's wish")
    assert Event.objects.get(verb="fee-noted").details == {"percent": "25.00"}


@pytest.mark.django_db
@pytest.mark.parametrize("wish", [Wish.OFFICE, Wish.WEATHER])
def test_a_late_move_at_our_own_wish_costs_nothing(soon, scanner, by_owner, wish):
    assert move(soon, scanner, by_owner, wish).fee_percent is None


@pytest.mark.django_db
def test_a_move_in_time_costs_nothing(confirmed, scanner, by_owner):
    assert move(confirmed, scanner, by_owner, Wish.CLIENT).fee_percent is None


@pytest.mark.django_db
def test_what_was_only_pencilled_costs_nothing(timed, scanner, by_owner):
    DiaryRules.objects.create(pk=1, free_hours=700)
    assert move(timed, scanner, by_owner, Wish.CLIENT).fee_percent is None


@pytest.mark.django_db
def test_another_crew_at_the_same_time_is_no_move(soon, owner, by_owner):
    same = visit(NOW + timedelta(days=2))
    assert set_time(shoot=soon, crew=[owner], by=by_owner, now=NOW, wish=Wish.CLIENT, **same).fee_percent is None


@pytest.mark.django_db
def test_of_two_fees_the_higher_stands(soon, scanner, by_owner):
    move(soon, scanner, by_owner, Wish.CLIENT, days=2.5)
    cancelled = cancel_shoot(shoot=soon, why="sold", by=by_owner, now=NOW, wish=Wish.CLIENT)
    assert (cancelled.fee_percent, cancelled.fee_note) == (50, "cancelled late at the client's wish")
    assert Event.objects.filter(verb="fee-noted").count() == 2


@pytest.mark.django_db
def test_no_access_costs_the_client_unless_it_was_not_theirs(confirmed, by_owner):
    shoot = note_no_access(shoot=confirmed, why="nobody came", by=by_owner, now=NOW)
    assert shoot.fee_percent == 50


@pytest.mark.django_db
def test_no_access_that_was_not_the_clients_costs_nothing(confirmed, by_owner):
    shoot = note_no_access(shoot=confirmed, why="we went to the wrong house", by=by_owner, now=NOW, at_fault=False)
    assert shoot.fee_percent is None


@pytest.mark.django_db
def test_the_owner_may_waive_a_fee_once(soon, scanner, by_owner):
    moved = move(soon, scanner, by_owner, Wish.CLIENT)
    waived = waive_fee(shoot=moved, by=by_owner, now=NOW)
    assert (waived.fee_percent, waived.fee_note) == (None, "")
    assert "waived the fee of 25 %: moved late" in Event.objects.get(verb="fee-waived").text
    with pytest.raises(Refused, match="no fee"):
        waive_fee(shoot=moved, by=by_owner, now=NOW)


@pytest.mark.parametrize(("percent", "words"), [("25.00", "25"), ("12.50", "12.5"), ("100", "100"), ("0.00", "0")])
def test_percentages_are_written_plainly(percent, words):
    assert plain(Decimal(percent)) == words
