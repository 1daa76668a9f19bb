"""Working time: boundaries of spans, days and clock changes, and what must hold for every calendar."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from office.rules.calendar import Calendar, Span, calendar_of, span_from_text
from office.rules.reading import BadInput
from office.rules.worktime import (
    NeverDue,
    due,
    hours_of,
    is_open,
    next_opening,
    openings_between,
    working_hours,
    working_time,
)
from office.rules.worktime_many import due_many, instants, working_time_many

MINUTE = timedelta(minutes=1)
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")

# One hour, half an hour, a change at a minute past midnight (23:01 came twice), a whole date left out.
CLOCK_CHANGES = [
    ("America/Chicago", datetime(2026, 3, 8, 8, tzinfo=UTC)),
    ("America/Chicago", datetime(2026, 11, 1, 7, tzinfo=UTC)),
    ("Europe/Berlin", datetime(2026, 10, 25, 1, tzinfo=UTC)),
    ("Australia/Lord_Howe", datetime(2026, 4, 4, 15, tzinfo=UTC)),
    ("America/Goose_Bay", datetime(2010, 11, 7, 3, 1, tzinfo=UTC)),
    ("Pacific/Apia", datetime(2011, 12, 30, 10, tzinfo=UTC)),
    ("Asia/Kathmandu", datetime(2026, 1, 1, tzinfo=UTC)),
]


def at(text: str) -> datetime:
    return datetime.fromisoformat(text)


def calendar(zone="America/Chicago", holidays=(), **days) -> Calendar:
    return calendar_of(zone, days, list(holidays))


def all_week(*spans, zone="America/Chicago", holidays=()) -> Calendar:
    return calendar(zone, holidays, **{day: [list(span) for span in spans] for day in WEEKDAYS})


def open_by_the_wall(working: Calendar, moment: datetime) -> bool:
    """The definition itself, said without the rule: look at the clock on the wall."""
    local = moment.astimezone(ZoneInfo(working.zone))
    minute = local.hour * 60 + local.minute
    spans = working.hours[local.weekday()]
    return local.date() not in working.holidays and any(opens <= minute < closes for opens, closes in spans)


def minutes_walked(working: Calendar, start: datetime, end: datetime) -> int:
    return sum(open_by_the_wall(working, start + n * MINUTE) for n in range((end - start) // MINUTE))


@st.composite
def days_of_spans(draw) -> list[list[str]]:
    edges = draw(st.lists(st.integers(0, 96), max_size=6, unique=True).map(sorted))
    texts = [f"{edge // 4:02}:{edge % 4 * 15:02}" for edge in edges]
    return [[opens, closes] for opens, closes in zip(texts[::2], texts[1::2], strict=False)]


@st.composite
def calendars_and_starts(draw) -> tuple[Calendar, datetime]:
    zone, change = draw(st.sampled_from(CLOCK_CHANGES))
    week = draw(st.fixed_dictionaries({}, optional={day: days_of_spans() for day in WEEKDAYS}))
    if not any(week.values()):
        week = {"wed": [["00:00", "24:00"]]}
    start = change + draw(st.integers(-60 * 60, 24 * 60)) * MINUTE
    holidays = draw(st.lists(st.integers(-3, 5), max_size=2))
    return calendar_of(zone, week, [(change + timedelta(days=day)).date().isoformat() for day in holidays]), start


@settings(max_examples=60, deadline=None)
@given(calendars_and_starts(), st.integers(0, 3 * 24 * 60))
def test_working_time_is_what_a_walk_minute_by_minute_counts(case, minutes):
    working, start = case
    end = start + minutes * MINUTE
    assert working_time(working, start, end) == minutes_walked(working, start, end) * MINUTE


@settings(max_examples=60, deadline=None)
@given(calendars_and_starts(), st.integers(0, 40 * 60))
def test_due_is_the_earliest_instant_that_holds_the_work(case, minutes):
    working, start = case
    found = due(working, start, Decimal(minutes) / 60)
    assert found >= start
    assert working_time(working, start, found) == minutes * MINUTE
    if minutes:
        assert working_time(working, start, found - timedelta(microseconds=1)) < minutes * MINUTE
    else:
        assert open_by_the_wall(working, found)
        assert not any(
            open_by_the_wall(working, start + n * MINUTE) for n in range(min((found - start) // MINUTE, 5000))
        )


@settings(max_examples=80, deadline=None)
@given(calendars_and_starts(), st.integers(0, 20 * 24 * 3600), st.integers(0, 20 * 24 * 3600))
def test_working_time_adds_up_and_comes_back(case, seconds, more):
    working, start = case
    middle = start + timedelta(seconds=seconds)
    end = middle + timedelta(seconds=more)
    whole = working_time(working, start, end)
    assert working_time(working, start, middle) + working_time(working, middle, end) == whole
    assert timedelta(0) <= whole <= end - start
    if whole:
        assert due(working, start, working_hours(working, start, end)) <= end


@settings(max_examples=60, deadline=None)
@given(calendars_and_starts(), st.integers(0, 600), st.integers(0, 600), st.integers(0, 5000))
def test_more_work_and_a_later_start_are_never_due_earlier(case, quarters, more, minutes):
    working, start = case
    hours = Decimal(quarters) / 4
    assert due(working, start, hours) <= due(working, start, hours + Decimal(more) / 4)
    assert due(working, start, hours) <= due(working, start + minutes * MINUTE, hours)


@settings(max_examples=60, deadline=None)
@given(calendars_and_starts(), st.integers(0, 200_000))
def test_open_agrees_with_the_stretches_of_working_time(case, seconds):
    working, start = case
    moment = start + timedelta(seconds=seconds)
    stretches = list(openings_between(working, start, moment + timedelta(seconds=1)))
    assert is_open(working, moment) == any(opens <= moment < closes for opens, closes in stretches)
    assert is_open(working, moment) == (next_opening(working, moment) == moment)
    assert all(before[1] < after[0] for before, after in pairwise(stretches))


@settings(max_examples=60, deadline=None)
@given(
    calendars_and_starts(),
    st.lists(st.tuples(st.integers(0, 10**12), st.integers(0, 10**12)), min_size=1, max_size=12),
)
def test_many_rows_equal_one_row_at_a_time(case, rows):
    working, start = case
    starts = [start + timedelta(microseconds=late) for late, _ in rows]
    lengths = [timedelta(microseconds=amount) for _, amount in rows]
    ends = [begin + length for begin, length in zip(starts, lengths, strict=True)]
    between = working_time_many(working, instants(starts), instants(ends))
    assert between.tolist() == [working_time(working, *pair) for pair in zip(starts, ends, strict=True)]
    found = due_many(working, instants(starts), np.array(lengths, "timedelta64[us]"))
    one_by_one = [due(working, *row) for row in zip(starts, map(hours_of, lengths), strict=True)]
    assert found.tolist() == instants(one_by_one).tolist()


def test_a_span_that_opens_in_the_missing_hour_opens_when_the_clock_has_jumped():
    night = all_week(("02:30", "05:00"))
    assert next_opening(night, at("2026-03-08T00:00:00-06:00")).isoformat() == "2026-03-08T03:00:00-05:00"
    assert working_hours(night, at("2026-03-08T00:00:00-06:00"), at("2026-03-08T12:00:00-05:00")) == 2


def test_a_span_inside_the_missing_hour_does_not_happen_that_day():
    night = all_week(("02:15", "02:45"))
    assert working_hours(night, at("2026-03-08T00:00:00-06:00"), at("2026-03-08T12:00:00-05:00")) == 0
    assert due(night, at("2026-03-07T23:00:00-06:00"), Decimal("0.5")).isoformat() == "2026-03-09T02:45:00-05:00"


def test_a_closing_inside_the_repeated_hour_closes_on_both_passes():
    night = all_week(("00:00", "01:30"))
    start = at("2026-11-01T00:00:00-05:00")
    assert working_hours(night, start, at("2026-11-01T12:00:00-06:00")) == 2
    stretches = [(a.isoformat(), b.isoformat()) for a, b in openings_between(night, start, at("2026-11-01T12:00:00Z"))]
    assert stretches == [
        ("2026-11-01T00:00:00-05:00", "2026-11-01T01:30:00-05:00"),
        ("2026-11-01T01:00:00-06:00", "2026-11-01T01:30:00-06:00"),
    ]


def test_what_comes_later_compares_later_in_an_hour_that_comes_twice():
    night = all_week(("00:00", "06:00"))
    start = at("2026-11-01T00:00:00-05:00")
    first, second = (due(night, start, Decimal(hours)) for hours in ("1.75", "2.25"))
    assert (first.isoformat(), second.isoformat()) == ("2026-11-01T01:45:00-05:00", "2026-11-01T01:15:00-06:00")
    assert first < second
    assert second == at("2026-11-01T07:15:00Z")


def test_a_day_that_never_closes_runs_through_midnight():
    always = all_week(("00:00", "24:00"))
    start = at("2026-06-01T22:00:00-05:00")
    assert due(always, start, Decimal(30)) == start + timedelta(hours=30)
    assert list(openings_between(always, start, start + timedelta(days=3))) == [(start, start + timedelta(days=3))]


def test_a_holiday_closes_its_whole_local_date_and_no_more():
    always = all_week(("00:00", "24:00"), zone="Australia/Sydney", holidays=["2026-12-25"])
    assert due(always, at("2026-12-24T12:00:00Z"), Decimal(2)).isoformat() == "2026-12-26T01:00:00+11:00"
    assert not is_open(always, at("2026-12-25T12:59:59Z"))
    assert is_open(always, at("2026-12-25T13:00:00Z"))


def test_work_of_part_of_a_second_is_kept():
    always = all_week(("00:00", "24:00"))
    assert due(always, at("2026-06-01T12:00:00.25-05:00"), Decimal("0.1666")) == at("2026-06-01T12:10:00.01-05:00")


def test_work_that_is_never_done_is_refused_and_does_not_run_on():
    with pytest.raises(NeverDue):
        due(calendar(mon=[["09:00", "17:00"]]), at("2026-06-01T12:00:00Z"), Decimal("1e20"))
    closed = Calendar("UTC", ((),) * 7)
    with pytest.raises(NeverDue):
        next_opening(closed, at("2026-06-01T12:00:00Z"))
    starts = np.array(["2026-06-01"], "datetime64[us]")
    with pytest.raises(NeverDue):
        due_many(closed, starts, np.array([0], "timedelta64[us]"))
    with pytest.raises(NeverDue):
        due_many(all_week(("09:00", "17:00")), starts, np.array([2**62], "timedelta64[us]"))
    assert working_hours(closed, at("2026-06-01T12:00:00Z"), at("2027-06-01T12:00:00Z")) == 0


def test_what_cannot_be_reckoned_is_refused():
    office = all_week(("09:00", "17:00"))
    noon = at("2026-06-01T12:00:00Z")
    naive = noon.replace(tzinfo=None)
    row = np.array(["2026-06-01"], "datetime64[us]")
    for refused in (
        lambda: due(office, naive, Decimal(1)),
        lambda: due(office, noon, Decimal(-1)),
        lambda: due(office, noon, Decimal("NaN")),
        lambda: due(office, noon.replace(year=9999), Decimal(1)),
        lambda: working_time(office, noon, noon - MINUTE),
        lambda: is_open(office, naive),
        lambda: instants([naive]),
        lambda: working_time_many(office, row, row - np.timedelta64(1, "D")),
        lambda: working_time_many(office, row, np.array(["NaT"], "datetime64[us]")),
        lambda: working_time_many(office, np.array(["0900-01-01"], "datetime64[us]"), row),
        lambda: due_many(office, row, np.array([-1], "timedelta64[us]")),
    ):
        with pytest.raises(ValueError):
            refused()


def test_no_rows_give_no_rows():
    nothing, no_time = np.empty(0, "datetime64[us]"), np.empty(0, "timedelta64[us]")
    office = all_week(("09:00", "17:00"))
    assert working_time_many(office, nothing, nothing).size == 0
    assert due_many(office, nothing, no_time).size == 0


def test_spans_may_come_in_any_order_and_may_touch():
    written = calendar(mon=[["13:00", "17:00"], ["09:00", "12:00"], ["12:00", "13:00"]])
    assert written.hours[0] == (Span(540, 720), Span(720, 780), Span(780, 1020))
    noon = at("2026-06-01T12:00:00-05:00")
    assert due(written, noon, Decimal(0)) == noon
    assert due(written, at("2026-06-01T09:00:00-05:00"), Decimal(3)) == noon


@pytest.mark.parametrize(
    "span",
    [
        ["09:00", "09:00"],
        ["17:00", "09:00"],
        ["22:00", "00:00"],
        ["24:00", "24:00"],
        ["9:00", "17:00"],
        ["09:00", "24:01"],
        ["09:60", "17:00"],
        ["09:00:00", "17:00"],
        ["09:00"],
        ["09:00", "12:00", "13:00"],
        [9, 17],
        ["٠٩:٠٠", "17:00"],
        "09:00-17:00",
        None,
    ],
)
def test_a_span_that_is_none_is_refused(span):
    with pytest.raises(ValueError, match="expected"):
        span_from_text(span)


def test_a_calendar_made_in_code_is_held_to_the_same():
    with pytest.raises(ValueError, match="zone"):
        Calendar("Mars/Olympus", ((),) * 7)
    with pytest.raises(ValueError, match="seven days"):
        Calendar("UTC", ((),) * 5)
    with pytest.raises(ValueError, match="opening before"):
        Calendar("UTC", ((Span(600, 500),), *((),) * 6))
    with pytest.raises(ValueError, match="overlap"):
        Calendar("UTC", ((Span(500, 600), Span(550, 700)), *((),) * 6))
    assert Calendar("UTC", ((),) * 7, frozenset({date(2026, 1, 1)})).minutes_a_week == 0


def test_hours_that_are_stored_wrongly_are_refused_by_name():
    with pytest.raises(BadInput, match=r"office: hours.mon\[0\]: expected a closing after the opening"):
        calendar_of("UTC", {"mon": [["17:00", "09:00"]]}, [], source="office")
    with pytest.raises(BadInput, match="office"):
        calendar_of("UTC", {"mon": {date(2026, 1, 1)}}, [], source="office")
