"""What one person's visits keep them busy with: the visits themselves and the drives before, between and after.

On one local date a person drives from visit to visit. Between dates they go home, unless there is no time for it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import pairwise

from jobs.rules.drives import Drives, Spot


@dataclass(frozen=True)
class Held:
    """A visit that holds a person, from the earliest arrival to the latest leaving, on a local date."""

    key: int
    spot: Spot
    day: date
    starts_at: datetime
    ends_at: datetime


@dataclass(frozen=True)
class Busy:
    """One visit with its drives. `came_from` is where the person drives from; `goes_home` says the day ends here."""

    held: Held
    came_from: Spot
    busy_from: datetime
    busy_until: datetime
    goes_home: bool


@dataclass(frozen=True)
class Clash:
    """What stands in the way: the visit, and by how many minutes of driving it is missed (None: they overlap)."""

    held: Held
    short_by: int | None


def busy_times(visits: Iterable[Held], home: Spot, drives: Drives) -> tuple[Busy, ...]:
    """The visits in the order of the clock with their drives; they must not overlap.

    A drive for which there is too little time begins when the visit before it ends, so no two spans overlap.
    """
    ordered = sorted(visits, key=lambda held: (held.starts_at, held.ends_at))
    goes_home = [not _goes_on(one, other, home, drives) for one, other in pairwise(ordered)] + [True]
    found: list[Busy] = []
    for number, held in enumerate(ordered):
        before = found[-1] if found and not goes_home[number - 1] else None
        came_from = before.held.spot if before else home
        leaves = held.starts_at - _minutes(drives, came_from, held.spot)
        free = found[-1].busy_until if found else leaves
        back = _minutes(drives, held.spot, home) if goes_home[number] else timedelta()
        found.append(Busy(held, came_from, max(leaves, free), held.ends_at + back, goes_home[number]))
    return tuple(found)


def clash(new: Held, others: Sequence[Held], drives: Drives) -> Clash | None:
    """The first of the person's other visits that `new` cannot stand beside, or None."""
    for held in sorted(others, key=lambda other: other.starts_at):
        first, second = (held, new) if held.ends_at <= new.starts_at else (new, held)
        gap = second.starts_at - first.ends_at
        if gap < timedelta():
            return Clash(held, None)
        lacking = _minutes(drives, first.spot, second.spot) - gap
        if lacking > timedelta():
            return Clash(held, -(-lacking // timedelta(minutes=1)))
    return None


def _goes_on(one: Held, other: Held, home: Spot, drives: Drives) -> bool:
    """Whether the person drives from the one visit to the other without going home."""
    by_home = _minutes(drives, one.spot, home) + _minutes(drives, home, other.spot)
    return one.day == other.day or other.starts_at - one.ends_at < by_home


def _minutes(drives: Drives, start: Spot, end: Spot) -> timedelta:
    return timedelta(minutes=drives.minutes(start, end))
