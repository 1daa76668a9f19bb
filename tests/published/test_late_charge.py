"""Late charges against statutes and worked figures."""

from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest

from billing.rules.late_charge import (
    EU_2011_7,
    UK_1998,
    DatedPercent,
    DayCount,
    fixed_sum,
    late_charge,
    year_fraction,
)

D = Decimal
DUE = date(2027, 1, 31)


@pytest.mark.parametrize(
    ("debt", "sum_"),
    [
        # Late Payment of Commercial Debts (Interest) Act 1998, s. 5A(2): under £1,000 £40; under £10,000 £70; else £100
        ("0.01", 40),
        ("999.99", 40),
        ("1000.00", 70),
        ("9999.99", 70),
        ("10000.00", 100),
        ("250000.00", 100),
    ],
)
def test_fixed_sums_of_the_1998_act(debt, sum_):
    assert fixed_sum(D(debt), UK_1998.fixed_sums) == sum_


@pytest.mark.parametrize("debt", ["0.01", "800.00", "1000000.00"])
def test_fixed_sum_of_the_directive(debt):
    assert fixed_sum(D(debt), EU_2011_7.fixed_sums) == 40  # Directive 2011/7/EU art. 6(1)


@pytest.mark.parametrize(
    ("statute", "debt", "days", "percent", "interest", "fixed"),
    [
        # 1,250 × 12 % × 45 ÷ 365 = 18.493…, and £70 by s. 5A; 800 × 10 % × 30 ÷ 365 = 6.575…, and €40 by art. 6(1)
        (UK_1998, "1250.00", 45, "12", "18.49", "70.00"),
        (EU_2011_7, "800.00", 30, "10", "6.58", "40.00"),
    ],
)
def test_worked_figures(statute, debt, days, percent, interest, fixed):
    reference = [DatedPercent(date(2020, 1, 1), D(percent) - statute.points)]
    terms = statute.terms(reference, for_businesses=True)
    charge = late_charge(D(debt), statute.currency, DUE, DUE + timedelta(days=days), terms, is_consumer=False)
    assert (charge.interest, charge.fixed, charge.days) == (D(interest), D(fixed), days)


def test_both_statutes_stand_eight_points_over_the_reference():
    # SI 2002/1675 art. 4: 8 % over the Bank's rate; Directive 2011/7/EU art. 2(6): at least eight points over the ECB's
    for statute in (UK_1998, EU_2011_7):
        (rate,) = statute.terms([DatedPercent(DUE, D("4.5"))]).percents
        assert rate.percent == D("12.5")


def two_half_years(statute):
    return statute.terms(
        [DatedPercent(date(2027, 1, 1), D(2)), DatedPercent(date(2027, 7, 1), D(4))], for_businesses=True
    )


def test_the_act_holds_the_rate_of_the_half_year_in_which_the_debt_became_late():
    # SI 2002/1675 art. 4: the rate in force "immediately before the day on which statutory interest starts to run"
    terms = two_half_years(UK_1998)
    charge = late_charge(
        D("3650.00"), "GBP", date(2027, 6, 20), date(2027, 7, 20), terms, is_consumer=False
    )  # fmt: skip
    assert charge.interest == D("30.00")  # 3,650 × 10 % × 30 ÷ 365


def test_the_directive_follows_the_rate_of_each_half_year():
    # Directive 2011/7/EU art. 2(7): the rate of 1 January for the first semester, of 1 July for the second
    terms = two_half_years(EU_2011_7)
    charge = late_charge(
        D("3650.00"), "EUR", date(2027, 6, 20), date(2027, 7, 20), terms, is_consumer=False
    )  # fmt: skip
    assert charge.interest == D("34.00")  # 10 days at 10 % (21–30 June), 20 at 12 % (1–20 July)


@pytest.mark.parametrize(
    ("day_count", "first", "after", "fraction"),
    [
        # from memory: "EMU and Market Conventions: Recent Developments", ISDA 1998, semi-annual example
        (DayCount.ACTUAL_ACTUAL, (2003, 11, 1), (2004, 5, 1), Fraction(61, 365) + Fraction(121, 366)),
        # from memory: the same, short first period
        (DayCount.ACTUAL_ACTUAL, (1999, 2, 1), (1999, 7, 1), Fraction(150, 365)),
        # ISDA 2006 Definitions §4.16(d) and (e): actual days over 365 and over 360
        (DayCount.ACTUAL_365, (2003, 11, 1), (2004, 5, 1), Fraction(182, 365)),
        (DayCount.ACTUAL_360, (2003, 11, 1), (2004, 5, 1), Fraction(182, 360)),
        # three whole years, one of them leap
        (DayCount.ACTUAL_ACTUAL, (2027, 1, 1), (2030, 1, 1), Fraction(3)),
        (DayCount.ACTUAL_365, (2027, 1, 1), (2030, 1, 1), Fraction(1096, 365)),
    ],
)
def test_day_count_fractions(day_count, first, after, fraction):
    assert year_fraction(date(*first), date(*after), day_count) == fraction
