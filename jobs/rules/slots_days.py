"""A crew's days: the spans of hours on each date, and the gaps that its bookings leave between home and home.

Instants are whole minutes since 1970-01-01T00:00Z; where seconds are cut, the crew is taken to be busy in them.
"""

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from typing import NamedTuple
from zoneinfo import ZoneInfo

from jobs.rules.slots_request import Address, Booking, Crew
from office.rules.calendar import Calendar
from office.rules.worktime import MINUTE, offset_at, openings

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_ONE_MINUTE = timedelta(minutes=1)


class Hours(NamedTuple):
    """A span of working time, and the local clock's offset from UTC at its opening."""

    opens: int
    closes: int
    offset: int


class Gap(NamedTuple):
    """Time between two things a crew is bound to: free `since` at the one place, wanted by `until` at the other."""

    before: Address
    since: int
    after: Address
    until: int


class CrewDay(NamedTuple):
    """One date on which a crew works; the first gap begins at home and the last one ends there."""

    date: date
    hours: tuple[Hours, ...]
    gaps: tuple[Gap, ...]


class _Busy(NamedTuple):
    start: int
    end: int
    at: Address


def minute_before(at: datetime) -> int:
    """The last full minute not after an instant."""
    return (at - _EPOCH) // _ONE_MINUTE


def minute_after(at: datetime) -> int:
    """The first full minute not before an instant."""
    return -((_EPOCH - at) // _ONE_MINUTE)


def instant_of(minute: int, zone: str) -> datetime:
    return (_EPOCH + minute * _ONE_MINUTE).astimezone(ZoneInfo(zone))


def crew_days(crew: Crew, days: Sequence[date]) -> Iterator[CrewDay]:
    """The dates among `days`, in order and once each, on which the crew works at all."""
    calendar = replace(crew.calendar, holidays=frozenset())
    worked = [day for day in days if day not in crew.calendar.holidays]
    bounds = [(_midnight(day, calendar.zone), _midnight(day + timedelta(days=1), calendar.zone)) for day in worked]
    for day, bookings in zip(worked, _by_day(crew.bookings, bounds), strict=True):
        hours = _hours(calendar, day)
        if hours:
            yield CrewDay(day, hours, tuple(_gaps(crew.home, hours, bookings)))


@lru_cache(maxsize=4096)
def _midnight(day: date, zone: str) -> int:
    return minute_before(datetime.combine(day, time(), ZoneInfo(zone)))


@lru_cache(maxsize=4096)
def _hours(calendar: Calendar, day: date) -> tuple[Hours, ...]:
    """The spans of one date, those that touch made one."""
    begins, ends = (_midnight(day + timedelta(days=n), calendar.zone) * MINUTE for n in (0, 1))
    spans: list[Hours] = []
    for opens, closes in openings(calendar, begins, ends):
        if spans and spans[-1].closes == opens // MINUTE:
            spans[-1] = spans[-1]._replace(closes=closes // MINUTE)
        else:
            spans.append(Hours(opens // MINUTE, closes // MINUTE, offset_at(calendar.tz, opens) // MINUTE))
    return tuple(spans)


def _by_day(bookings: Iterable[Booking], bounds: list[tuple[int, int]]) -> list[list[_Busy]]:
    """For each day, by its bounds, the bookings that touch it in the order of their start."""
    found: list[list[_Busy]] = [[] for _ in bounds]
    starts = [begins for begins, _ in bounds]
    for busy in sorted(_Busy(minute_before(b.start), minute_after(b.end), b.at) for b in bookings):
        for number in range(max(bisect_right(starts, busy.start) - 1, 0), len(bounds)):
            begins, ends = bounds[number]
            if busy.end <= begins:
                break
            if busy.start < ends:
                found[number].append(busy)
    return found


def _gaps(home: Address, hours: tuple[Hours, ...], bookings: list[_Busy]) -> Iterator[Gap]:
    """Home, each booking, home; of bookings that overlap, the one that ends last is where the crew is next."""
    before, since, at_home = home, hours[0].opens, True
    for busy in bookings:
        yield Gap(before, since, busy.at, busy.start)
        if at_home or busy.end > since:
            before, since, at_home = busy.at, busy.end, False
    yield Gap(before, since, home, hours[-1].closes)
