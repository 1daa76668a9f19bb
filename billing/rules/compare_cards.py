"""What the same jobs bring under two rate cards: by package, by area band and by number of levels."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from billing.rules.card import Card
from billing.rules.job_columns import JobColumns, Rows
from billing.rules.pricing import EXACT
from billing.rules.reprice import reprice, sizes_of
from billing.rules.whole import Whole, exact_sum, whole
from office.rules.money import minor_units

Group = str | int | Decimal | None


@dataclass(frozen=True)
class Revenue:
    """The net, before tax, of the jobs of one group under either card."""

    group: Group
    jobs: int
    then: Decimal
    now: Decimal

    @property
    def change(self) -> Decimal:
        return self.now - self.then


@dataclass(frozen=True)
class Comparison:
    """Groups are package names; the end of an area band in the new card's unit, None for the last; levels."""

    everything: Revenue
    by_package: tuple[Revenue, ...]
    by_area: tuple[Revenue, ...]
    by_levels: tuple[Revenue, ...]


def compare_cards(then: Card, now: Card, jobs: JobColumns, ends: Sequence[Decimal] | None = None) -> Comparison:
    """The jobs under both cards, which must share a currency; groups without jobs are left out.

    `ends` are the ends of the area bands in the unit of `now`, by default those of its own packages.
    Raises `NotOnCard` and, for two currencies, `ValueError`.
    """
    if then.currency != now.currency:
        raise ValueError(f"revenue in {then.currency} and in {now.currency} does not compare")
    nets = reprice(then, jobs).net, reprice(now, jobs).net
    areas = _by_area(now, jobs, _band_ends(now) if ends is None else sorted(ends))

    def revenues(groups: Iterable[tuple[Group, Rows]]) -> tuple[Revenue, ...]:
        return tuple(_revenue(group, rows, *nets, now.currency) for group, rows in groups if len(rows))

    return Comparison(
        everything=_revenue("everything", np.arange(len(jobs)), *nets, now.currency),
        by_package=revenues(zip(jobs.package.values, jobs.package.groups(), strict=False)),
        by_area=revenues(areas),
        by_levels=revenues((int(count), np.flatnonzero(jobs.levels == count)) for count in np.unique(jobs.levels)),
    )


def _revenue(group: Group, rows: Rows, then: Whole, now: Whole, currency: str) -> Revenue:
    sums = (EXACT.scaleb(Decimal(exact_sum(net[rows])), -minor_units(currency)) for net in (then, now))
    return Revenue(group, len(rows), *sums)


def _band_ends(card: Card) -> list[Decimal]:
    bands = (band for package in card.packages.values() for band in package.area_bands)
    return sorted({band.up_to for band in bands if band.up_to is not None})


def _by_area(card: Card, jobs: JobColumns, ends: Sequence[Decimal]) -> Iterator[tuple[Decimal | None, Rows]]:
    sizes, ticks = sizes_of(card, jobs)
    bands = np.searchsorted(whole([int(end * ticks) for end in ends]), sizes)
    for position, end in enumerate([*ends, None]):
        yield end, np.flatnonzero(bands == position)
