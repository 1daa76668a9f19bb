"""Late charges: off by default, cautioned, and following what was still owed."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from billing.rules.late_charge import (
    STATUTES,
    UK_1998,
    DatedPercent,
    DayCount,
    FixedSum,
    LateTerms,
    NoRate,
    Paid,
    fixed_sum,
    late_charge,
    year_fraction,
)

D = Decimal
DUE = date(2027, 1, 31)
AS_OF = DUE + timedelta(days=73)
OWN = LateTerms("USD", (DatedPercent(date(2027, 1, 1), D(10)),), (FixedSum(D(0), D(25)),), for_businesses=True)


def charge(debt="1000.00", terms=OWN, as_of=AS_OF, *, is_consumer=False, paid=(), currency="USD"):
    return late_charge(D(debt), currency, DUE, as_of, terms, is_consumer=is_consumer, paid=paid)


def test_nothing_is_charged_unless_the_office_turned_it_on():
    for statute in STATUTES.values():
        terms = statute.terms([DatedPercent(date(2020, 1, 1), D(4))])
        answer = charge(terms=terms, currency=statute.currency)
        assert (answer.total, answer.days) == (0, 73)
        assert "turned off" in answer.why_not


def test_consumers_are_a_switch_of_their_own():
    assert "consumers" in charge(is_consumer=True).why_not
    statutory = UK_1998.terms([DatedPercent(date(2020, 1, 1), D(4))], for_businesses=True)
    assert "consumers" in charge(terms=statutory, currency="GBP", is_consumer=True).why_not


def test_every_answer_tells_to_check_local_law():
    assert "local law" in charge().caution
    assert "local law" in charge(is_consumer=True).caution


def test_before_and_on_the_due_day_nothing_is_late():
    assert charge(as_of=DUE).why_not == "nothing is late"
    assert charge(as_of=DUE - timedelta(days=9)).total == 0
    assert charge(as_of=DUE + timedelta(days=1)).days == 1


def test_a_part_payment_lowers_the_interest_from_the_day_after():
    # 1,000 at 10 % for 33 days, then 500 for 40: 9.041… + 5.479… = 14.52
    paid = [Paid(DUE + timedelta(days=33), D("500.00"))]
    assert charge(paid=paid).interest == D("14.52")


def test_a_debt_paid_late_and_in_full_stops_growing():
    paid = [Paid(DUE + timedelta(days=36), D("1000.00"))]
    answer = charge(paid=paid)
    assert (answer.days, answer.interest) == (36, D("9.86"))  # 1,000 × 10 % × 36 ÷ 365


def test_a_payment_on_the_first_late_day_comes_one_day_late():
    answer = charge("36500.00", paid=[Paid(DUE + timedelta(days=1), D("36500.00"))])
    assert (answer.days, answer.interest) == (1, D("10.00"))  # 36,500 × 10 % ÷ 365


def test_a_debt_paid_on_time_owes_nothing():
    answer = charge(paid=[Paid(DUE, D("1000.00"))])
    assert (answer.total, answer.why_not) == (0, "nothing is late")


def test_the_fixed_sum_goes_by_what_was_unpaid_on_the_first_late_day():
    terms = UK_1998.terms([DatedPercent(date(2020, 1, 1), D(4))], for_businesses=True)
    answer = charge("1200.00", terms, currency="GBP", paid=[Paid(DUE, D("300.00"))])
    assert answer.fixed == D("40.00")


def test_terms_in_another_currency_charge_nothing():
    assert "USD" in charge(currency="EUR").why_not


def test_a_day_without_a_known_rate_is_refused():
    late = LateTerms("USD", (DatedPercent(date(2027, 3, 1), D(10)),), for_businesses=True)
    with pytest.raises(NoRate, match="2027-02-01"):
        charge(terms=late)


def test_without_a_table_there_is_no_fixed_sum():
    assert fixed_sum(D("100.00"), ()) == 0
    assert fixed_sum(D("50.00"), [FixedSum(D(100), D(9))]) == 0


days = st.dates(date(2020, 1, 1), date(2032, 12, 31))


@given(st.lists(days, min_size=3, max_size=3).map(sorted), st.sampled_from(DayCount))
def test_a_span_is_the_sum_of_its_parts(three, day_count):
    first, middle, last = three
    whole = year_fraction(first, last, day_count)
    assert whole == year_fraction(first, middle, day_count) + year_fraction(middle, last, day_count)


@given(st.decimals(D("0.01"), D("99999.99"), places=2), st.integers(0, 900), st.integers(0, 900))
def test_a_longer_delay_never_costs_less(debt, shorter, more):
    one = charge(str(debt), as_of=DUE + timedelta(days=shorter))
    other = charge(str(debt), as_of=DUE + timedelta(days=shorter + more))
    assert one.total <= other.total


@given(st.decimals(D("0.01"), D("99999.99"), places=2), st.integers(1, 900), st.integers(1, 900))
def test_a_part_payment_never_raises_the_interest(debt, late, on):
    paid = [Paid(DUE + timedelta(days=on), debt / 2)]
    as_of = DUE + timedelta(days=late)
    assert charge(str(debt), as_of=as_of, paid=paid).interest <= charge(str(debt), as_of=as_of).interest
