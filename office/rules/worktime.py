"""Working time: when so many hours of work are done, and how many lie between two instants.

An instant is working time when its wall time in the calendar's zone lies in a span, opening included and
closing not, and its local date is not a holiday. Time is counted as it passes, so a span over a clock
change is longer or shorter than its face, and a wall time that comes twice counts twice.

The timeline is cut into runs of one UTC offset; inside a run wall time is plain arithmetic. Instants and
amounts of time are whole microseconds, counted from 1970-01-01T00:00Z.
"""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, timezone
from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple
from zoneinfo import ZoneInfo

from office.rules.calendar import FIRST_YEAR, LAST_YEAR, Calendar, known_instant

SECOND = 1_000_000
MINUTE = 60 * SECOND
HOUR = 60 * MINUTE
DAY = 24 * HOUR
FARTHEST = 100 * 366 * DAY
"""How far `due` looks before it says the work is never done."""
NEVER = "expected work that is done within 100 years"
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_EPOCH_ORDINAL = _EPOCH.toordinal()
_MICROSECOND = timedelta(microseconds=1)


class NeverDue(ValueError):
    """The calendar does not hold that much working time within 100 years."""


class Run(NamedTuple):
    """A stretch of time with one UTC offset; all in microseconds."""

    starts: int
    ends: int
    offset: int


def due(calendar: Calendar, start: datetime, hours: Decimal) -> datetime:
    """The earliest instant at or after `start` by which `hours` of working time have passed.

    To the microsecond, as the wall time of the calendar's zone with the offset in force. Raises `NeverDue`, and
    `ValueError` for a naive start or hours below zero.
    """
    at, left = stamp(start), microseconds_of(hours)
    for opens, closes in openings(calendar, at, at + FARTHEST):
        if left <= closes - opens:
            return instant(calendar, opens + left)
        left -= closes - opens
    raise NeverDue(NEVER)


def next_opening(calendar: Calendar, at: datetime) -> datetime:
    """`at` itself when it is working time, else the next opening; raises `NeverDue`."""
    return due(calendar, at, Decimal(0))


def is_open(calendar: Calendar, at: datetime) -> bool:
    """Whether the instant is working time; an opening is, a closing is not."""
    local = known_instant(at).astimezone(calendar.tz)
    minute = local.hour * 60 + local.minute
    within = any(span.opens <= minute < span.closes for span in calendar.hours[local.weekday()])
    return within and local.date() not in calendar.holidays


def working_time(calendar: Calendar, start: datetime, end: datetime) -> timedelta:
    """Working time from `start` up to `end`, exact; raises `ValueError` when the end comes first."""
    first, last = stamp(start), stamp(end)
    if last < first:
        raise ValueError("expected an end at or after the start")
    return timedelta(microseconds=sum(closes - opens for opens, closes in openings(calendar, first, last)))


def working_hours(calendar: Calendar, start: datetime, end: datetime) -> Decimal:
    """`working_time` in hours, to the 28 digits of a decimal."""
    return hours_of(working_time(calendar, start, end))


def hours_of(time: timedelta) -> Decimal:
    """A length of time in hours, to the 28 digits of a decimal."""
    return Decimal(time // _MICROSECOND) / HOUR


def microseconds_of(hours: Decimal) -> int:
    """Hours in whole microseconds, half up; raises `ValueError` below zero or when not a number."""
    if not hours.is_finite() or hours < 0:
        raise ValueError("expected hours of zero or more")
    return int((hours * HOUR).to_integral_value(ROUND_HALF_UP))


def openings_between(calendar: Calendar, start: datetime, end: datetime) -> Iterator[tuple[datetime, datetime]]:
    """The stretches of working time from `start` up to `end`, in order, cut to fit; told as `due` tells them."""
    for opens, closes in _joined(openings(calendar, stamp(start), stamp(end))):
        yield instant(calendar, opens), instant(calendar, closes)


def _joined(pieces: Iterator[tuple[int, int]]) -> Iterator[tuple[int, int]]:
    """Pieces that touch made one."""
    held = next(pieces, None)
    while held:
        following = next(pieces, None)
        if following and following[0] == held[1]:
            held = held[0], following[1]
            continue
        yield held
        held = following


def openings(calendar: Calendar, start: int, end: int) -> Iterator[tuple[int, int]]:
    """The same in microseconds; one stretch may come in pieces that touch."""
    closed = {day.toordinal() - _EPOCH_ORDINAL for day in calendar.holidays}
    for run in runs(calendar.zone, start, end):
        for day in days_of(run):
            if day in closed:
                continue
            midnight = day * DAY - run.offset
            for span in calendar.hours[weekday(day)]:
                opens = max(midnight + span.opens * MINUTE, run.starts)
                closes = min(midnight + span.closes * MINUTE, run.ends)
                if opens < closes:
                    yield opens, closes


def days_of(run: Run) -> range:
    """The local dates that a run touches, as days since 1970-01-01."""
    return range((run.starts + run.offset) // DAY, (run.ends + run.offset - 1) // DAY + 1)


def weekday(day: int) -> int:
    """Monday is 0; 1970-01-01 was a Thursday."""
    return (day + 3) % 7


def runs(zone: str, start: int, end: int) -> Iterator[Run]:
    """The runs of one offset from `start` up to `end`, in order, without a gap."""
    at, offset = start, offset_at(ZoneInfo(zone), start)
    for year in range(instant_utc(start).year, instant_utc(end).year + 1):
        for moment, after in clock_changes(zone, year):
            if at < moment < end:
                yield Run(at, moment, offset)
                at = moment
            if moment <= at:
                offset = after
    if at < end:
        yield Run(at, end, offset)


@lru_cache(maxsize=4096)
def clock_changes(zone: str, year: int) -> tuple[tuple[int, int], ...]:
    """Each change of the zone's UTC offset in a UTC year: when, and the offset from then on.

    Found by looking once a day and halving: two changes within one UTC day that undo each other are not seen.
    """
    tz = ZoneInfo(zone)
    first, last = _since_epoch(datetime(year, 1, 1, tzinfo=UTC)), _since_epoch(datetime(year + 1, 1, 1, tzinfo=UTC))
    looks = [(at, offset_at(tz, at)) for at in range(first - SECOND, last, DAY)]
    return tuple(_change(tz, before, after) for (before, old), (after, new) in pairwise(looks) if old != new)


def _change(tz: ZoneInfo, before: int, after: int) -> tuple[int, int]:
    old = offset_at(tz, before)
    low, high = before // SECOND, after // SECOND
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if offset_at(tz, middle * SECOND) == old else (low, middle)
    return high * SECOND, offset_at(tz, high * SECOND)


def offset_at(tz: ZoneInfo, at: int) -> int:
    offset = instant_utc(at).astimezone(tz).utcoffset()
    return offset // _MICROSECOND if offset is not None else 0


def stamp(at: datetime) -> int:
    """An aware datetime in microseconds since 1970-01-01T00:00Z; raises `ValueError` for a naive one."""
    return _since_epoch(known_instant(at))


def _since_epoch(at: datetime) -> int:
    return (at - _EPOCH) // _MICROSECOND


FIRST = _since_epoch(datetime(FIRST_YEAR, 1, 1, tzinfo=UTC))
LAST = _since_epoch(datetime(LAST_YEAR + 1, 1, 1, tzinfo=UTC))


def instant(calendar: Calendar, at: int) -> datetime:
    """Microseconds since 1970-01-01T00:00Z as the wall time of the calendar's zone, with the offset then in force.

    The offset is a fixed one: datetimes that share a zone compare by the wall, wrongly in an hour that comes
    twice (PEP 495).
    """
    local = instant_utc(at).astimezone(calendar.tz)
    return local.replace(tzinfo=timezone(local.utcoffset() or timedelta(0)), fold=0)


def instant_utc(at: int) -> datetime:
    return _EPOCH + at * _MICROSECOND
