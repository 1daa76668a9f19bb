"""Thousands of jobs under a rate card at once, equal to `price` to the last minor unit.

Everything is a whole number: money in minor units, areas in ticks, a fraction of the card's unit in which every area
is whole. Each step does for all jobs what the lines of the same name in `billing.rules.lines` do for one.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import lcm
from typing import Any, NamedTuple

import numpy as np

from billing.rules.card import Card, Package, TravelRow, too_far, unlisted
from billing.rules.job_columns import Flags, JobColumns, Rows
from billing.rules.pricing import EXACT
from billing.rules.whole import Whole, between, exact_sum, part, places_of, product, whole
from office.rules.money import minor_units, rounded
from office.rules.money_format import plain
from office.rules.units import AreaUnit, converted_area

EVERY = slice(None)


@dataclass(frozen=True)
class Repriced:
    """What each job comes to under a card, in whole minor units of the currency."""

    currency: str
    net: Whole
    taxes: Whole

    @property
    def total(self) -> Whole:
        return np.asarray(self.net + self.taxes)


class _Charge(NamedTuple):
    """One line for many jobs: which, and how much for each of them (or for all)."""

    rows: Rows | slice
    amounts: Whole


def reprice(card: Card, jobs: JobColumns) -> Repriced:
    """The jobs under the card; raises `NotOnCard`, naming the first row that the card does not price."""
    charges, bill = _Charges(card, jobs), _Bill(card, len(jobs))
    bill.add(*charges.packages(), *charges.areas(), *charges.levels())
    bill.add(*charges.add_ons(bill.net))
    bill.add(*charges.short_notice(bill.net), *charges.weekend(bill.net))
    bill.add(*charges.minimum(bill.net))
    bill.add(*charges.volume(bill.net), *charges.travel())
    bill.add(*charges.rounding(bill.net))
    return Repriced(card.currency, bill.net, bill.taxes())


class _Bill:
    """What the lines come to for each job so far, and the tax on each line where the card rounds it by line."""

    def __init__(self, card: Card, jobs: int) -> None:
        self.net: Whole = np.zeros(jobs, dtype=np.int64)
        self._rates = [Fraction(tax.percent) / 100 for tax in card.tax]
        self._by_line = card.tax_rounding == "line"
        self._line_taxes = self.net

    def add(self, *charges: _Charge) -> None:
        self.net = _added(self.net, charges)
        if self._by_line:
            for rate in self._rates:
                taxes = (_Charge(charge.rows, part(charge.amounts, rate)) for charge in charges)
                self._line_taxes = _added(self._line_taxes, taxes)

    def taxes(self) -> Whole:
        if self._by_line:
            return self._line_taxes
        return _added(np.zeros_like(self.net), (_Charge(EVERY, part(self.net, rate)) for rate in self._rates))


class _Charges:
    """The card and the jobs in whole numbers, and what each line of the card charges the jobs."""

    def __init__(self, card: Card, jobs: JobColumns) -> None:
        self._card, self._jobs = card, jobs
        self._minor: int = 10 ** minor_units(card.currency)
        self._by_package = [(_package(card, jobs, name), jobs.package.rows(name)) for name in jobs.package.values]
        self._sizes, self._ticks = sizes_of(card, jobs)

    def packages(self) -> Iterator[_Charge]:
        for package, rows in self._by_package:
            yield _Charge(rows, whole([self._rounded(package.base)]))

    def areas(self) -> Iterator[_Charge]:
        for package, rows in self._by_package:
            sizes, start = self._sizes[rows], self._in_ticks(package.includes_area)
            for band in package.area_bands:
                end = None if band.up_to is None else self._in_ticks(band.up_to)
                yield _Charge(rows, part(between(sizes, start, end), self._per_tick(band.per_unit)))
                start = max(start, end or 0)

    def levels(self) -> Iterator[_Charge]:
        for package, rows in self._by_package:
            extra = np.maximum(self._jobs.levels[rows] - package.includes_levels, 0)
            yield _Charge(rows, part(extra, self._money(package.per_extra_level)))

    def add_ons(self, house: Whole) -> Iterator[_Charge]:
        for code, ordered in self._jobs.add_ons.items():
            rows, quantity = ordered.rows, ordered.quantity
            if code not in self._card.add_ons:
                raise unlisted("add_ons", self._card.add_ons, code, int(rows.min()))
            add_on = self._card.add_ons[code]
            if add_on.fixed is not None:
                yield _Charge(rows, part(quantity, self._money(add_on.fixed)))
            elif add_on.percent is not None:
                yield _Charge(rows, part(house[rows], _percent(add_on.percent)))
            else:
                by_area = part(self._sizes[rows], self._per_tick(add_on.per_unit_area or Decimal(0)))
                yield _Charge(rows, np.maximum(by_area, whole([self._rounded(add_on.at_least or Decimal(0))])))

    def short_notice(self, ordered: Whole) -> Iterator[_Charge]:
        table, notice = self._card.short_notice, self._jobs.hours_notice
        places = max(notice.places, places_of(row.under_hours for row in table))
        hours = notice.at(places)
        applies = [hours < int(row.under_hours.scaleb(places)) for row in table]
        for row, rows in zip(table, _first_come(applies), strict=True):
            yield _Charge(rows, part(ordered[rows], _percent(row.percent)))

    def weekend(self, ordered: Whole) -> Iterator[_Charge]:
        rows = np.flatnonzero(self._jobs.weekend)
        yield _Charge(rows, part(ordered[rows], _percent(self._card.weekend_percent)))

    def minimum(self, asked: Whole) -> Iterator[_Charge]:
        yield _Charge(EVERY, np.maximum(whole([self._rounded(self._card.minimum)]) - asked, 0))

    def volume(self, visit: Whole) -> Iterator[_Charge]:
        best_first = sorted(self._card.client_volume, key=lambda row: row.percent_off, reverse=True)
        reached = [self._jobs.shoots_last_90_days >= row.from_shoots for row in best_first]
        for row, rows in zip(best_first, _first_come(reached), strict=True):
            yield _Charge(rows, -part(visit[rows], _percent(row.percent_off)))

    def travel(self) -> Iterator[_Charge]:
        table, distance = self._card.travel, self._jobs.distance_km
        places = max(distance.places, places_of(_distances(table)))
        km = distance.at(places)
        within = [_within(km, row.up_to_km, places) for row in table]
        for row, rows in zip(table, _first_come(within), strict=True):
            yield _Charge(rows, self._fees(row, km[rows], places))
        if table and not (reached := np.logical_or.reduce(within)).all():
            first = int(np.argmin(reached))
            raise too_far(self._card, EXACT.scaleb(Decimal(int(km[first])), -places), first)

    def _fees(self, row: TravelRow, km: Whole, places: int) -> Whole:
        """The fee and what the km beyond add, over one denominator so that they are rounded once."""
        if row.per_km_beyond is None or row.beyond_km is None:
            return whole([self._rounded(row.fee)])
        beyond = np.maximum(km - whole([int(row.beyond_km.scaleb(places))]), 0)
        fee, rate = self._money(row.fee), self._money(row.per_km_beyond) / 10**places
        parts = lcm(fee.denominator, rate.denominator)
        added = product(beyond, whole([int(rate * parts)])) + whole([int(fee * parts)])
        return part(added, Fraction(1, parts))

    def rounding(self, trip: Whole) -> Iterator[_Charge]:
        step = self._money(self._card.round_net_to)
        if step > 1:
            rounded_net = product(part(trip, 1 / step), whole([int(step)]))
            yield _Charge(EVERY, rounded_net - trip)

    def _money(self, amount: Decimal) -> Fraction:
        return Fraction(amount) * self._minor

    def _rounded(self, amount: Decimal) -> int:
        return int(rounded(amount, self._card.currency) * self._minor)

    def _in_ticks(self, area: Decimal) -> int:
        return int(Fraction(area) * self._ticks)

    def _per_tick(self, per_unit: Decimal) -> Fraction:
        return self._money(per_unit) / self._ticks


def _package(card: Card, jobs: JobColumns, name: str) -> Package:
    if name not in card.packages:
        raise unlisted("package", card.packages, name, int(jobs.package.rows(name)[0]))
    return card.packages[name]


def sizes_of(card: Card, jobs: JobColumns) -> tuple[Whole, int]:
    """The area of each job in ticks, and how many ticks there are in the card's unit of area.

    A tick is so small that every area of the jobs, in either unit, and every area of the card is a whole number of it.
    """
    ratios = [_exact_ratio(unit, card.area_unit) for unit in jobs.area_unit.values]
    parts = lcm(*(ratio.denominator for ratio in ratios))
    places = max(jobs.area.places, places_of(_areas(card)))
    factors = whole([int(ratio * parts) for ratio in ratios])
    return product(jobs.area.at(places), factors[jobs.area_unit.codes]), parts * 10**places


def _exact_ratio(unit: AreaUnit, card_unit: AreaUnit) -> Fraction:
    one, metric = Decimal(1), AreaUnit.M2
    return Fraction(converted_area(one, unit, metric)) / Fraction(converted_area(one, card_unit, metric))


def _areas(card: Card) -> Iterator[Decimal]:
    for package in card.packages.values():
        yield package.includes_area
        yield from (band.up_to for band in package.area_bands if band.up_to is not None)


def _distances(table: Iterable[TravelRow]) -> Iterator[Decimal]:
    for row in table:
        yield from (distance for distance in (row.up_to_km, row.beyond_km) if distance is not None)


def _within(km: Whole, limit: Decimal | None, places: int) -> Flags:
    return np.full(len(km), True) if limit is None else np.asarray(km <= int(limit.scaleb(places)))


def _first_come(applies: Iterable[Flags]) -> Iterator[Rows]:
    """For each row of a table, the jobs that it is the first to apply to."""
    taken = np.array([False])
    for flags in applies:
        yield np.flatnonzero(flags & ~taken)
        taken = flags | taken


def _percent(percent: Decimal) -> Fraction:
    return Fraction(percent) / 100


def _added(amounts: Whole, charges: Iterable[_Charge]) -> Whole:
    amounts = amounts.copy()
    for charge in charges:
        if charge.amounts.dtype == object:
            amounts = amounts.astype(object)
        amounts[charge.rows] += charge.amounts
    return amounts


def repriced_to_json(repriced: Repriced, jobs: JobColumns, *, each: bool = False) -> dict[str, Any]:
    """The answer of the `reprice` command: sums over all jobs, by package, and with `each` every job's total."""
    names = jobs.package.values
    answer = _sums(repriced, EVERY) | {
        "by_package": {name: _sums(repriced, jobs.package.rows(name)) for name in names},
    }
    if each:
        answer["per_job"] = [_text(total, repriced.currency) for total in repriced.total.tolist()]
    return answer


def _sums(repriced: Repriced, rows: Rows | slice) -> dict[str, Any]:
    net, taxes = repriced.net[rows], repriced.taxes[rows]
    sums = {"net": exact_sum(net), "taxes": exact_sum(taxes)}
    sums["total"] = sums["net"] + sums["taxes"]
    return {"jobs": len(net)} | {name: _text(amount, repriced.currency) for name, amount in sums.items()}


def _text(minor: int, currency: str) -> str:
    return plain(EXACT.scaleb(Decimal(minor), -minor_units(currency)))
