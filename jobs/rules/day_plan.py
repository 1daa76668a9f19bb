"""A better order for one person's day, with a time for each visit that may move.

A visit that is fixed is reached by the beginning of its arrival window. One that is free is put where it adds least
driving; it keeps its time where that fits, else it begins at a full step of the clock where there is room. Each visit
holds the person from the first possible arrival to the last possible leaving, so that what is proposed can be booked.
Minutes are counted from local midnight.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from jobs.rules.route import Stop, Stops, best_route

HOME = "home"


@dataclass(frozen=True)
class DayVisit:
    """A visit as it stands: its begin, and the minutes it holds the person for. `free` says that it may be moved."""

    key: int
    begins: int
    hold: int
    free: bool


@dataclass(frozen=True)
class Planned:
    """When a visit would begin."""

    key: int
    begins: int


@dataclass(frozen=True)
class DayPlan:
    """The day in its best order; `travel` and `travel_now` are minutes of driving, from home to home."""

    order: tuple[Planned, ...]
    travel: int
    travel_now: int

    @property
    def saves(self) -> int:
        return self.travel_now - self.travel


Drive = Callable[[int | None, int | None], int]
"""Minutes between two visits by their keys; None is home."""


def best_day(
    visits: Sequence[DayVisit], opens: int, closes: int, drive: Drive, step: int = 15, seconds: float = 2.0
) -> DayPlan | None:
    """The order of least driving, or None when no order serves every visit within the hours.

    Where the day as it stands drives no more than any other, it stays as it stands.
    """
    ordered = sorted(visits, key=lambda visit: visit.begins)
    now = _driven([visit.key for visit in ordered], drive)
    home = _home_hours(ordered, opens, closes, drive)
    found = best_route(_stops(ordered, home, opens, closes, drive), seconds)
    if not found.route or not found.feasible:
        return None
    if found.route.travel_minutes >= now:
        return DayPlan(tuple(Planned(visit.key, visit.begins) for visit in ordered), now, now)
    by_key = {str(visit.key): visit for visit in visits}
    order = [by_key[stop] for stop in found.route.order]
    times = _times(order, home, opens, drive, step)
    planned = tuple(Planned(visit.key, begins) for visit, begins in zip(order, times, strict=True))
    return DayPlan(planned, found.route.travel_minutes, now)


def _home_hours(visits: Sequence[DayVisit], opens: int, closes: int, drive: Drive) -> tuple[int, int]:
    """When the person leaves home and is back at the latest; a fixed visit outside the hours widens them."""
    fixed = [visit for visit in visits if not visit.free]
    leaves = min([opens, *(visit.begins - drive(None, visit.key) for visit in fixed)])
    back = max([closes, *(visit.begins + visit.hold + drive(visit.key, None) for visit in fixed)])
    return max(leaves, 0), back


def _stops(visits: Sequence[DayVisit], home: tuple[int, int], opens: int, closes: int, drive: Drive) -> Stops:
    keys: list[int | None] = [None, *(visit.key for visit in visits)]
    stops = [Stop(id=HOME, opens=home[0], closes=home[1], service=0), *(_stop(v, opens, closes) for v in visits)]
    matrix = tuple(tuple(0 if one == other else drive(one, other) for other in keys) for one in keys)
    return Stops(minutes=matrix, stops=tuple(stops), start=0)


def _stop(visit: DayVisit, opens: int, closes: int) -> Stop:
    if not visit.free:
        return Stop(id=str(visit.key), opens=visit.begins, closes=visit.begins, service=visit.hold)
    return Stop(id=str(visit.key), opens=opens, closes=max(closes - visit.hold, opens), service=visit.hold)


def _times(order: Sequence[DayVisit], home: tuple[int, int], opens: int, drive: Drive, step: int) -> list[int]:
    """Forward through the order, each visit as near to its present time as its neighbours let it be."""
    latest = _latest(order, home[1], drive)
    times: list[int] = []
    here, free_at = None, home[0]
    for visit, last in zip(order, latest, strict=True):
        arrives = max(free_at + drive(here, visit.key), opens)
        times.append(_begin(visit, arrives, last, step) if visit.free else visit.begins)
        here, free_at = visit.key, times[-1] + visit.hold
    return times


def _begin(visit: DayVisit, earliest: int, latest: int, step: int) -> int:
    if earliest <= visit.begins <= latest:
        return visit.begins
    return min(-(-earliest // step) * step, latest)


def _latest(order: Sequence[DayVisit], back: int, drive: Drive) -> list[int]:
    """The latest begin of each visit from which all that follow can still be reached."""
    found: list[int] = []
    must_be_free = [*pairwise(order), (order[-1], None)] if order else []
    for visit, after in reversed(must_be_free):
        until = back - drive(visit.key, None) if after is None else found[-1] - drive(visit.key, after.key)
        found.append(until - visit.hold if visit.free else visit.begins)
    return found[::-1]


def _driven(keys: Sequence[int], drive: Drive) -> int:
    stops = [None, *keys, None]
    return sum(drive(one, other) for one, other in pairwise(stops)) if keys else 0
