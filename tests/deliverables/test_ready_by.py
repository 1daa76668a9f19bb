"""When a client can count on a plan, from what past orders took."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from itertools import product

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from deliverables.rules.ready_by import ReadyBy, ready_after_fixes, ready_by
from deliverables.rules.survival import kaplan_meier
from office.rules.calendar import calendar_of
from office.rules.worktime import HOUR, due

ALWAYS = calendar_of(
    "UTC", {day: [["00:00", "24:00"]] for day in ("mon", "tue", "wed", "thu", "fri", "sat", "sun")}, []
)
OFFICE = calendar_of("UTC", {day: [["09:00", "17:00"]] for day in ("mon", "tue", "wed", "thu", "fri")}, [])
NOW = datetime(2026, 6, 1, 9, tzinfo=UTC)
UNKNOWN = ReadyBy(None, None)


def curve(*hours: float, out: tuple[float, ...] = ()):
    waits = np.array([round(hour * HOUR) for hour in (*hours, *out)], dtype=np.int64)
    return kaplan_meier(waits, np.array([True] * len(hours) + [False] * len(out), dtype=bool))


def after(hours: float) -> datetime:
    return NOW + timedelta(hours=hours)


def test_with_no_fixes_it_is_the_drafters_own_turnaround():
    found = ready_by(ALWAYS, NOW, NOW, curve(10, 20, 30, 40, 50), curve(), [0, 0])
    assert found == ReadyBy(after(30), after(40))


def test_a_round_of_fixes_adds_its_own_hours():
    found = ready_by(ALWAYS, NOW, NOW, curve(10, 10, 10, 10, 10), curve(4, 4, 4, 4, 8), [0, 1])
    assert found == ReadyBy(after(10), after(14))


def test_hours_waited_already_leave_only_the_longer_waits():
    drafting = curve(10, 20, 30, 40, 50)
    found = ready_by(ALWAYS, NOW - timedelta(hours=25), NOW, drafting, curve(), [0])
    assert found == ReadyBy(after(15), after(25))
    assert ready_by(ALWAYS, NOW - timedelta(hours=51), NOW, drafting, curve(), [0]) == UNKNOWN


def test_it_is_told_in_working_hours():
    found = ready_by(OFFICE, NOW, NOW, curve(10, 10, 10, 10, 10), curve(), [0])
    assert found.p50 == due(OFFICE, NOW, Decimal(10)) == datetime(2026, 6, 2, 11, tzinfo=UTC)


def test_orders_that_never_came_back_leave_the_late_odds_unknown():
    drafting = curve(10, 10, 10, 10, 10, 10, out=(11, 11, 11, 11))
    assert ready_by(ALWAYS, NOW, NOW, drafting, curve(), [0]) == ReadyBy(after(10), None)


def test_too_little_history_tells_nothing():
    enough, little = curve(1, 2, 3, 4, 5), curve(1, 2, 3, 4)
    assert ready_by(ALWAYS, NOW, NOW, little, enough, [0]) == UNKNOWN
    assert ready_by(ALWAYS, NOW, NOW, enough, little, [0, 1]) == UNKNOWN
    assert ready_by(ALWAYS, NOW, NOW, enough, enough, []) == UNKNOWN


def test_while_fixes_are_out_only_the_rounds_still_to_come_count():
    fixing = curve(4, 4, 4, 4, 4)
    started = ready_after_fixes(ALWAYS, NOW - timedelta(hours=1), NOW, fixing, [0, 1, 1, 2], done=0)
    assert started == ReadyBy(after(3), after(7))
    assert ready_after_fixes(ALWAYS, NOW, NOW, fixing, [0, 1, 1], done=1) == UNKNOWN


HOURS = st.lists(st.integers(0, 12), min_size=5, max_size=7)


@settings(max_examples=60, deadline=None)
@given(HOURS, HOURS, st.lists(st.integers(0, 2), min_size=1, max_size=5))
def test_it_is_what_trying_every_combination_gives(drafting, fixing, rounds):
    totals = sorted(
        (first + sum(fixes), Fraction(1, len(drafting) * len(fixing) ** count * len(rounds)))
        for count in rounds
        for first in drafting
        for fixes in product(fixing, repeat=count)
    )
    found = ready_by(ALWAYS, NOW, NOW, curve(*drafting), curve(*fixing), rounds)
    for level, instant in ((Fraction(1, 2), found.p50), (Fraction(4, 5), found.p80)):
        reached = next(hours for hours, _ in totals if sum(share for total, share in totals if total <= hours) >= level)
        assert instant == after(reached)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.floats(0, 900), min_size=5, max_size=9), st.lists(st.floats(0, 50), min_size=5, max_size=9))
def test_the_answer_leans_late_by_less_than_a_mark_a_round(drafting, fixing):
    found = ready_by(ALWAYS, NOW, NOW, curve(*drafting), curve(*fixing), [1])
    totals = np.sort([first + fix for first in drafting for fix in fixing])
    exact = totals[int(np.ceil(totals.size / 2)) - 1]
    mark = max(0.25, max(*drafting, *fixing) / 2000)
    assert after(exact) - timedelta(seconds=1) <= found.p50 <= after(exact + 2 * mark) + timedelta(seconds=1)
    assert found.p50 <= found.p80
