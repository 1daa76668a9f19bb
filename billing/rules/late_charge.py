"""What may be charged for paying late: simple interest at an annual percentage, and a fixed sum.

Nothing is charged unless the office turns it on, for businesses and for consumers apart, and every answer
carries a caution: whether it may be claimed is a matter of contract and local law.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise

from office.rules.money import rounded

from .standing import ZERO

CAUTION = (
    "Check local law and your contract before you claim this. Consumers are protected by other rules than "
    "businesses, and a rate or a sum that is too high may not be owed at all."
)
DAY = timedelta(days=1)


class DayCount(StrEnum):
    """What a day is of a year (ISDA 2006 Definitions §4.16 (d), (e), (b))."""

    ACTUAL_365 = "actual/365"
    ACTUAL_360 = "actual/360"
    ACTUAL_ACTUAL = "actual/actual"


class NoRate(ValueError):
    """No annual percentage is known for a day that is to be charged."""


@dataclass(frozen=True)
class FixedSum:
    """`amount` for a debt of `from_debt` or more."""

    from_debt: Decimal
    amount: Decimal


NO_SUM = FixedSum(ZERO, ZERO)


@dataclass(frozen=True)
class DatedPercent:
    """An annual percentage and the first day it applies."""

    from_on: date
    percent: Decimal


@dataclass(frozen=True)
class LateTerms:
    """What the office charges. `percent_is_held`: the percentage of the first late day stays for that debt."""

    currency: str
    percents: tuple[DatedPercent, ...]
    fixed_sums: tuple[FixedSum, ...] = ()
    day_count: DayCount = DayCount.ACTUAL_365
    percent_is_held: bool = False
    for_businesses: bool = False
    for_consumers: bool = False


@dataclass(frozen=True)
class Statute:
    """A law between businesses: percentage points over a reference rate, and fixed sums."""

    name: str
    source: str
    currency: str
    points: Decimal
    fixed_sums: tuple[FixedSum, ...]
    percent_is_held: bool

    def terms(self, reference: Iterable[DatedPercent], *, for_businesses: bool = False) -> LateTerms:
        """The law's terms from dated reference rates that the office looked up; never for consumers."""
        percents = tuple(DatedPercent(rate.from_on, rate.percent + self.points) for rate in reference)
        return LateTerms(
            self.currency, percents, self.fixed_sums, percent_is_held=self.percent_is_held,
            for_businesses=for_businesses,
        )  # fmt: skip


UK_1998 = Statute(
    name="United Kingdom, between businesses",
    source="Late Payment of Commercial Debts (Interest) Act 1998, s. 5A and 6; SI 2002/1675",
    currency="GBP",
    points=Decimal(8),
    fixed_sums=(
        FixedSum(Decimal(0), Decimal(40)),
        FixedSum(Decimal(1000), Decimal(70)),
        FixedSum(Decimal(10000), Decimal(100)),
    ),
    # The Bank's rate on the 30 June or 31 December before the first late day.
    percent_is_held=True,
)
EU_2011_7 = Statute(
    name="European Union, between businesses",
    source="Directive 2011/7/EU, art. 2(6), 2(7) and 6(1); national law may give more",
    currency="EUR",
    points=Decimal(8),
    fixed_sums=(FixedSum(Decimal(0), Decimal(40)),),
    # The European Central Bank's rate of each 1 January and 1 July, for that half-year.
    percent_is_held=False,
)
STATUTES = {"uk-1998": UK_1998, "eu-2011-7": EU_2011_7}


@dataclass(frozen=True)
class Paid:
    """A part payment; it stops interest from the day after."""

    on: date
    amount: Decimal


@dataclass(frozen=True)
class LateCharge:
    """`days` on which something was late; `why_not` is empty when something is charged."""

    days: int
    interest: Decimal
    fixed: Decimal
    why_not: str = ""
    caution: str = CAUTION

    @property
    def total(self) -> Decimal:
        return self.interest + self.fixed


def late_charge(
    debt: Decimal, currency: str, due_on: date, as_of: date, terms: LateTerms,
    *, is_consumer: bool, paid: Sequence[Paid] = (),
) -> LateCharge:  # fmt: skip
    """The charge on one invoice, interest from the day after `due_on` to `as_of`, rounded once.

    `debt` is what was due, `paid` what came in since. The fixed sum goes by what was unpaid on the first late day.
    Raises `NoRate`.
    """
    late_debt = debt - sum((each.amount for each in paid if each.on <= due_on), ZERO)
    spans = _spans(debt, due_on, as_of, terms, paid)
    days = sum(span.days for span in spans)
    why_not = _why_not(terms, currency, is_consumer=is_consumer, days=days)
    if why_not:
        return LateCharge(days, rounded(ZERO, currency), rounded(ZERO, currency), why_not)
    accrued = sum((_accrued(span, due_on, terms) for span in spans), Fraction(0))
    interest = rounded(Decimal(accrued.numerator) / Decimal(accrued.denominator), currency)
    return LateCharge(days, interest, rounded(fixed_sum(late_debt, terms.fixed_sums), currency))


def fixed_sum(debt: Decimal, table: Iterable[FixedSum]) -> Decimal:
    """The sum of the highest row that the debt reaches; nothing below the first."""
    return max((row for row in table if debt >= row.from_debt), key=lambda row: row.from_debt, default=NO_SUM).amount


def year_fraction(first: date, after: date, day_count: DayCount) -> Fraction:
    """The share of a year from `first` up to, not including, `after`."""
    if day_count is not DayCount.ACTUAL_ACTUAL:
        return Fraction((after - first).days, 360 if day_count is DayCount.ACTUAL_360 else 365)
    new_years = [date(year, 1, 1) for year in range(first.year + 1, after.year + 1)]
    edges = [first, *new_years, after]
    return sum(
        (Fraction((end - start).days, _days_of_year(start.year)) for start, end in pairwise(edges)),
        Fraction(0),
    )


def _days_of_year(year: int) -> int:
    return (date(year + 1, 1, 1) - date(year, 1, 1)).days


@dataclass(frozen=True)
class _Span:
    """Days from `first` up to, not including, `after`, over which what is owed and the percentage stand still."""

    first: date
    after: date
    owed: Decimal

    @property
    def days(self) -> int:
        return (self.after - self.first).days


def _spans(debt: Decimal, due_on: date, as_of: date, terms: LateTerms, paid: Sequence[Paid]) -> list[_Span]:
    start, end = due_on + DAY, as_of + DAY
    turns = {each.on + DAY for each in paid} | {rate.from_on for rate in terms.percents}
    edges = [start, *sorted(turn for turn in turns if start < turn < end), end] if start < end else []
    spans = (
        _Span(first, after, debt - sum((each.amount for each in paid if each.on < first), ZERO))
        for first, after in pairwise(edges)
    )
    return [span for span in spans if span.owed > 0]


def _accrued(span: _Span, due_on: date, terms: LateTerms) -> Fraction:
    percent = percent_on(due_on + DAY if terms.percent_is_held else span.first, terms.percents)
    return Fraction(span.owed) * Fraction(percent) / 100 * year_fraction(span.first, span.after, terms.day_count)


def percent_on(day: date, percents: Iterable[DatedPercent]) -> Decimal:
    """The percentage that applies on a day; raises `NoRate` for a day before the first."""
    known = [rate for rate in percents if rate.from_on <= day]
    if not known:
        raise NoRate(f"no annual percentage is known for {day.isoformat()}")
    return max(known, key=lambda rate: rate.from_on).percent


def _why_not(terms: LateTerms, currency: str, *, is_consumer: bool, days: int) -> str:
    if not days:
        return "nothing is late"
    if is_consumer and not terms.for_consumers:
        return "late charges to consumers are turned off"
    if not is_consumer and not terms.for_businesses:
        return "late charges to businesses are turned off"
    if currency != terms.currency:
        return f"the terms are in {terms.currency}, the invoice in {currency}"
    return ""
