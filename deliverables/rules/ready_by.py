"""When the client can count on a plan: the drafter's past turnaround and past rounds of fixes, put together.

The hours of the drafting and of each round of fixes are taken as independent of one another; their sum is
found by convolution on a grid. A step that falls between two marks counts as the later one, so the answer
leans late by at most one mark a round. What past orders cannot tell stays unknown.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from deliverables.rules.survival import Curve, Integers, Shares
from office.rules.calendar import Calendar
from office.rules.worktime import HOUR, due, hours_of, working_time

LEAST_SEEN = 5
"""Orders that must have come back before anything is foretold (common practice, no source)."""
FINEST_MARK = HOUR // 4
MOST_MARKS = 2000
SURE_ENOUGH = 1e-12


@dataclass(frozen=True)
class ReadyBy:
    """Even odds, and four in five; None when past orders do not tell."""

    p50: datetime | None
    p80: datetime | None


def ready_by(
    calendar: Calendar, sent_at: datetime, now: datetime, drafting: Curve, fixing: Curve, rounds: Sequence[int]
) -> ReadyBy:
    """When a plan that is with the drafter since `sent_at` will be right.

    `drafting` and `fixing` are curves of past turnaround in microseconds of this calendar's working time;
    `rounds` is how many rounds of fixes each past plan took.
    """
    waited = working_time(calendar, sent_at, now) // timedelta(microseconds=1)
    return _ready(calendar, now, _still_to_wait(drafting, waited), fixing, Counter(rounds))


def ready_after_fixes(
    calendar: Calendar, asked_at: datetime, now: datetime, fixing: Curve, rounds: Sequence[int], done: int
) -> ReadyBy:
    """The same while fixes are out since `asked_at`, with `done` rounds before this one."""
    waited = working_time(calendar, asked_at, now) // timedelta(microseconds=1)
    more = Counter(count - done - 1 for count in rounds if count > done)
    return _ready(calendar, now, _still_to_wait(fixing, waited), fixing, more)


def _ready(calendar: Calendar, now: datetime, first: Curve | None, fixing: Curve, rounds: Counter[int]) -> ReadyBy:
    if first is None or not rounds or (max(rounds) > 0 and fixing.seen < LEAST_SEEN):
        return ReadyBy(None, None)
    mark = _mark(first, fixing, max(rounds))
    shares = _shares_of_sum(_shares(first, mark), _shares(fixing, mark), rounds)
    return ReadyBy(*(_instant(calendar, now, shares, level, mark) for level in (0.5, 0.8)))


def _still_to_wait(curve: Curve, waited: int) -> Curve | None:
    """The wait that is left, given that `waited` has passed; None when too little is known of such long waits."""
    later = curve.times >= waited
    if curve.seen < LEAST_SEEN or not later.any():
        return None
    before = curve.surviving[~later]
    left = float(before[-1]) if before.size else 1.0
    return Curve(curve.times[later] - waited, curve.at_risk[later], curve.events[later], curve.surviving[later] / left)


def _mark(first: Curve, fixing: Curve, rounds: int) -> int:
    """The grid's step in microseconds: a quarter hour, or coarser when waits are very long."""
    longest = max(_longest(first.times), _longest(fixing.times) if rounds else 0)
    return max(FINEST_MARK, -(-longest // MOST_MARKS))


def _longest(times: Integers) -> int:
    return int(times[-1]) if times.size else 0


def _shares(curve: Curve, mark: int) -> Shares:
    """The share of waits that end at each mark; together less than one when some never ended."""
    falls = -np.diff(curve.surviving, prepend=1.0)
    return np.bincount(-(-curve.times // mark), weights=falls, minlength=1).astype(np.float64)


def _shares_of_sum(first: Shares, one_round: Shares, rounds: Counter[int]) -> Shares:
    """The share of plans that are ready at each mark, over the rounds that past plans took."""
    ready, so_far = np.zeros(first.size + max(rounds) * (one_round.size - 1)), first
    for count in range(max(rounds) + 1):
        ready[: so_far.size] += so_far * (rounds[count] / rounds.total())
        if count < max(rounds):
            so_far = np.convolve(so_far, one_round)
    return ready


def _instant(calendar: Calendar, now: datetime, shares: Shares, level: float, mark: int) -> datetime | None:
    reached = np.flatnonzero(np.cumsum(shares) >= level - SURE_ENOUGH)
    if not reached.size:
        return None
    return due(calendar, now, hours_of(timedelta(microseconds=int(reached[0]) * mark)))
