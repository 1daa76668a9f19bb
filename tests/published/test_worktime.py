"""Working time against worked cases, the tz database walked by the minute, pandas and numpy."""

import json
from datetime import datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from office.rules.calendar import Calendar, calendar_of
from office.rules.worktime import due, working_hours, working_time
from office.rules.worktime_many import due_many, instants, working_time_many

# US federal holidays, 5 U.S.C. 6103 (2026, observed dates)
FEDERAL_2026 = ["2026-01-01", "2026-01-19", "2026-02-16", "2026-05-25", "2026-06-19", "2026-07-03", "2026-09-07",
                "2026-10-12", "2026-11-11", "2026-11-26", "2026-12-25"]  # fmt: skip
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri")
OFFICE = calendar_of("America/Chicago", {day: [["09:00", "17:00"]] for day in WEEKDAYS}, FEDERAL_2026)
NIGHT = calendar_of("America/Chicago", {day: [["00:00", "06:00"]] for day in ("sat", "sun", "mon")}, [])


@pytest.fixture(scope="module")
def calendars(checks: Path) -> dict[str, Calendar]:
    written = json.loads((checks / "worktime/cases.json").read_text(encoding="utf-8"))["calendars"]
    return {name: calendar_of(**calendar) for name, calendar in written.items()}


def test_every_due_time_of_the_check_set(checks, calendars):
    cases = json.loads((checks / "worktime/cases.json").read_text(encoding="utf-8"))["cases"]
    assert len(cases) >= 60
    for case in cases:
        start = datetime.fromisoformat(case["start"])
        found = due(calendars[case["calendar"]], start, Decimal(case["hours"]))
        assert found.isoformat() == case["due"], case["why"]


def test_every_length_of_the_check_set(checks, calendars):
    pairs = json.loads((checks / "worktime/between.json").read_text(encoding="utf-8"))
    assert len(pairs) >= 30
    for pair in pairs:
        ends = datetime.fromisoformat(pair["start"]), datetime.fromisoformat(pair["end"])
        found = working_hours(calendars[pair["calendar"]], *ends)
        assert working_time(calendars[pair["calendar"]], *ends) == timedelta(minutes=pair["minutes"])
        assert found.quantize(Decimal("0.0001"), ROUND_HALF_UP) == Decimal(pair["hours"])


def test_the_check_set_all_at_once(checks, calendars):
    cases = json.loads((checks / "worktime/cases.json").read_text(encoding="utf-8"))["cases"]
    pairs = json.loads((checks / "worktime/between.json").read_text(encoding="utf-8"))
    for name, calendar in calendars.items():
        mine = [case for case in cases if case["calendar"] == name]
        starts = instants([datetime.fromisoformat(case["start"]) for case in mine])
        seconds = np.array([int(Decimal(case["hours"]) * 3600) for case in mine], "timedelta64[s]")
        expected = instants([datetime.fromisoformat(case["due"]) for case in mine])
        np.testing.assert_array_equal(due_many(calendar, starts, seconds), expected)
        rows = [pair for pair in pairs if pair["calendar"] == name]
        ends = [instants([datetime.fromisoformat(row[key]) for row in rows]) for key in ("start", "end")]
        minutes = np.array([row["minutes"] for row in rows], "timedelta64[m]")
        np.testing.assert_array_equal(working_time_many(calendar, *ends), minutes)


@pytest.mark.parametrize(
    ("calendar", "start", "hours", "expected"),
    [
        # Thanksgiving 2026 is 26 November (5 U.S.C. 6103): the work goes over to Friday
        (OFFICE, "2026-11-25T15:00:00-06:00", "8", "2026-11-27T15:00:00-06:00"),
        # Independence Day 2026 is a Saturday, observed on Friday 3 July (5 U.S.C. 6103(b))
        (OFFICE, "2026-07-02T15:00:00-05:00", "6", "2026-07-06T13:00:00-05:00"),
        # US clocks go forward on the second Sunday of March at 02:00 (15 U.S.C. 260a): six hours on the face are five
        (NIGHT, "2026-03-08T00:00:00-06:00", "5", "2026-03-08T06:00:00-05:00"),
        # and back on the first Sunday of November at 02:00: six are seven
        (NIGHT, "2026-11-01T00:00:00-05:00", "7", "2026-11-01T06:00:00-06:00"),
        (NIGHT, "2026-11-01T01:30:00-05:00", "1", "2026-11-01T01:30:00-06:00"),
    ],
)
def test_days_that_the_law_fixes(calendar, start, hours, expected):
    assert due(calendar, datetime.fromisoformat(start), Decimal(hours)).isoformat() == expected


# pandas 3 CustomBusinessHour and numpy busday_offset, the same hours Monday to Friday
HOLIDAYS = [np.datetime64(day) for day in FEDERAL_2026]
MOMENTS = st.datetimes(datetime(2026, 1, 2), datetime(2026, 12, 20)).map(lambda at: at.replace(microsecond=0))  # noqa: DTZ001


@settings(max_examples=100, deadline=None)
@given(MOMENTS, st.integers(1, 60))
def test_whole_hours_agree_with_pandas(moment, hours):
    start = moment.replace(tzinfo=OFFICE.tz)
    step = pd.offsets.CustomBusinessHour(n=hours, start="09:00", end="17:00", holidays=HOLIDAYS)
    theirs = (pd.Timestamp(moment) + step).to_pydatetime()
    ours = due(OFFICE, start, Decimal(hours)).replace(tzinfo=None)
    # pandas puts work that ends at a closing at the next opening
    assert theirs in {ours, next_day_nine(ours) if ours.hour == 17 else ours}


def next_day_nine(closing: datetime) -> datetime:
    day = np.busday_offset(np.datetime64(closing.date()), 1, holidays=HOLIDAYS)
    return datetime.fromisoformat(f"{day}T09:00:00")


@settings(max_examples=100, deadline=None)
@given(MOMENTS, MOMENTS)
def test_whole_days_agree_with_numpy(one, other):
    first, last = sorted((one.date(), other.date()))
    days = np.busday_count(first, last, holidays=HOLIDAYS)
    midnights = [datetime.combine(day, datetime.min.time(), OFFICE.tz) for day in (first, last)]
    assert working_hours(OFFICE, *midnights) == 8 * int(days)
