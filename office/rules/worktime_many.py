"""`due` and `working_time` for many rows at once, equal to the scalar ones to the microsecond.

Instants are UTC `datetime64[us]`, amounts of time `timedelta64[us]`; arrays of one dimension. The calendar's
stretches of working time are laid out once with their running total, and every row is two binary searches in it.
"""

from datetime import datetime
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from office.rules.calendar import FIRST_YEAR, LAST_YEAR, Calendar, known_instant
from office.rules.worktime import DAY, FARTHEST, FIRST, LAST, MINUTE, NEVER, NeverDue, Run, days_of, runs

Instants = NDArray[np.datetime64]
Amounts = NDArray[np.timedelta64]
Microseconds = NDArray[np.int64]


class Timetable(NamedTuple):
    """Stretches of working time in order, and the working time before each; microseconds, one entry each."""

    opens: Microseconds
    closes: Microseconds
    before: Microseconds


def instants(times: list[datetime]) -> Instants:
    """Aware datetimes as an array; raises `ValueError` for a naive one."""
    return np.array([known_instant(at).replace(tzinfo=None) for at in times], dtype="datetime64[us]")


def working_time_many(calendar: Calendar, starts: Instants, ends: Instants) -> Amounts:
    """Working time of each row from start up to end; raises `ValueError` when one ends before it starts."""
    first, last = _microseconds(starts), _microseconds(ends)
    if (last < first).any():
        raise ValueError("expected every end at or after its start")
    if not first.size:
        return np.empty(0, "timedelta64[us]")
    table = timetable(calendar, int(first.min()), int(last.max()))
    return (_before(table, last) - _before(table, first)).astype("timedelta64[us]")


def due_many(calendar: Calendar, starts: Instants, work: Amounts) -> Instants:
    """The instant by which each row's work has passed; raises `NeverDue`, and `ValueError` for work below zero."""
    first, amount = _microseconds(starts), _microseconds(work)
    if (amount < 0).any():
        raise ValueError("expected work of zero or more")
    if not first.size:
        return np.empty(0, "datetime64[us]")
    if (amount > FARTHEST).any():
        raise NeverDue(NEVER)
    done = _done(calendar, first, amount)
    if (done > first + FARTHEST).any():
        raise NeverDue(NEVER)
    return done.astype("datetime64[us]")


def _done(calendar: Calendar, first: Microseconds, amount: Microseconds) -> Microseconds:
    """Looks ahead as far as a week's hours suggest, then twice as far each time."""
    ahead = (2 + int(amount.max()) // (max(calendar.minutes_a_week, 1) * MINUTE)) * 7 * DAY
    while True:
        ahead = min(ahead, FARTHEST)
        table = timetable(calendar, int(first.min()), int(first.max()) + ahead)
        target = _before(table, first) + amount
        at = _stretch(table, first, target)
        if (at < table.opens.size).all():
            return np.asarray(table.opens[at] + target - table.before[at])
        if ahead == FARTHEST:
            raise NeverDue(NEVER)
        ahead *= 2


def _stretch(table: Timetable, first: Microseconds, target: Microseconds) -> NDArray[np.intp]:
    """Where each target falls: the earliest stretch that reaches it and is not over at the start."""
    total = table.before + table.closes - table.opens
    return np.maximum(np.searchsorted(total, target, "left"), np.searchsorted(table.closes, first, "right"))


def _before(table: Timetable, at: Microseconds) -> Microseconds:
    """Working time from the table's beginning up to each instant."""
    if not table.opens.size:
        return np.zeros_like(at)
    index = np.maximum(np.searchsorted(table.opens, at, "right") - 1, 0)
    inside = np.clip(at - table.opens[index], 0, table.closes[index] - table.opens[index])
    return np.asarray(table.before[index] + inside)


def timetable(calendar: Calendar, start: int, end: int) -> Timetable:
    """All working time from `start` up to `end`, in microseconds since 1970-01-01T00:00Z."""
    pieces = [_pieces(calendar, run) for run in runs(calendar.zone, start, end)]
    opens, closes = np.concatenate([np.empty((2, 0), np.int64), *pieces], axis=1)
    order = np.argsort(opens, kind="stable")
    lengths = (closes - opens)[order]
    return Timetable(opens[order], closes[order], np.cumsum(lengths) - lengths)


def _pieces(calendar: Calendar, run: Run) -> Microseconds:
    """Openings and closings in one run, cut to it; two rows."""
    days = np.array(days_of(run), dtype=np.int64)
    closed = np.array([day.isoformat() for day in calendar.holidays], dtype="datetime64[D]").astype(np.int64)
    days = days[~np.isin(days, closed)]
    by_weekday = [days[(days + 3) % 7 == n] * DAY - run.offset for n in range(7)]
    spans = [(n, span) for n, spans in enumerate(calendar.hours) for span in spans]
    opens = [by_weekday[n] + span.opens * MINUTE for n, span in spans]
    closes = [by_weekday[n] + span.closes * MINUTE for n, span in spans]
    whole = np.array([np.concatenate([np.empty(0, np.int64), *side]) for side in (opens, closes)])
    cut = np.clip(whole, run.starts, run.ends)
    return np.asarray(cut[:, cut[0] < cut[1]])


def _microseconds(values: Instants | Amounts) -> Microseconds:
    """Raises `ValueError` for a row without a time, or an instant of a year that is not reckoned with."""
    if np.isnat(values).any():
        raise ValueError("expected a time in every row")
    if values.dtype.kind == "m":
        return values.astype("timedelta64[us]").astype(np.int64)
    found = values.astype("datetime64[us]").astype(np.int64)
    if found.size and not FIRST <= found.min() <= found.max() < LAST:
        raise ValueError(f"expected years from {FIRST_YEAR} to {LAST_YEAR}")
    return found
