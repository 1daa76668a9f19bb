"""What the same jobs brought and would bring: the change in all, by group, and by who pays."""

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

ZERO = Decimal(0)
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
class Earned:
    """One job's net, before tax, as it was charged and as it would be; amounts in one currency."""

    then: Decimal
    now: Decimal


def in_all(jobs: Sequence[Earned]) -> Revenue:
    return _revenue("everything", jobs)


def by_group(jobs: Sequence[Earned], groups: Iterable[Group]) -> tuple[Revenue, ...]:
    """One row a group, in order of first appearance; `groups` names the group of each job."""
    members: dict[Group, list[Earned]] = {}
    for job, group in zip(jobs, groups, strict=True):
        members.setdefault(group, []).append(job)
    return tuple(_revenue(group, earned) for group, earned in members.items())


def band_of(area: Decimal, ends: Sequence[Decimal]) -> Decimal | None:
    """The end of the band that an area lies in, an end itself still inside; None beyond the last. `ends` rise."""
    place = bisect_left(ends, area)
    return ends[place] if place < len(ends) else None


def more_and_less(rows: Iterable[Revenue], most: int) -> tuple[list[Revenue], list[Revenue]]:
    """Those that would pay more and those that would pay less, the largest change first, at most so many of each."""
    rows = list(rows)
    more = sorted((row for row in rows if row.change > 0), key=lambda row: -row.change)
    less = sorted((row for row in rows if row.change < 0), key=lambda row: row.change)
    return more[:most], less[:most]


def _revenue(group: Group, jobs: Sequence[Earned]) -> Revenue:
    then = sum((job.then for job in jobs), ZERO)
    return Revenue(group, len(jobs), then, sum((job.now for job in jobs), ZERO))
