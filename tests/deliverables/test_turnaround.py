"""Turnaround of drafters: what counts as on time, orders still out, and the command that reads a file."""

import json
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from functools import partial

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from deliverables.rules.turnaround import Order, on_time_percent, record, records
from office.rules.calendar import calendar_of
from tests import commands

NOW = datetime(2026, 6, 12, 17, tzinfo=UTC)
SENT = datetime(2026, 6, 1, 9, tzinfo=UTC)
NINE_TO_FIVE = {day: [["09:00", "17:00"]] for day in ("mon", "tue", "wed", "thu", "fri")}
CALENDAR = {"zone": "UTC", "hours": NINE_TO_FIVE, "holidays": ["2026-06-03"]}


def order(took: float | None, promised: float = 24, drafter: str = "Ada", sent: datetime = SENT) -> Order:
    back = None if took is None else sent + timedelta(hours=took)
    return Order(drafter, sent, sent + timedelta(hours=promised), back)


def test_received_at_the_very_time_promised_is_on_time():
    late = order(24 + 1 / 3600)
    assert on_time_percent([order(24), late], NOW) == Decimal("50.00")


def test_an_order_still_out_counts_against_its_drafter_only_past_its_promise():
    out = order(None, promised=24)
    promise = out.promised_at
    assert on_time_percent([order(1), out], promise) == Decimal("100.00")
    assert on_time_percent([order(1), out], promise + timedelta(seconds=1)) == Decimal("50.00")
    assert on_time_percent([out], promise) is None


def test_a_third_is_shown_to_two_places():
    assert on_time_percent([order(1), order(30), order(30)], NOW) == Decimal("33.33")


def test_orders_still_out_pull_the_median_later():
    back = [order(hours) for hours in (10, 20, 30)]
    assert record(back, NOW).median_hours == Decimal("20.0000")
    with_out = record([*back, order(None), order(None)], NOW)
    assert (with_out.orders, with_out.still_out) == (5, 2)
    assert with_out.median_hours == Decimal("30.0000")
    assert with_out.p90_hours is None


def test_an_order_sent_a_moment_ago_says_almost_nothing():
    fresh = order(None, sent=NOW - timedelta(hours=1))
    back = [order(hours) for hours in (10, 20, 30)]
    assert record([*back, fresh], NOW).median_hours == record(back, NOW).median_hours


def test_working_hours_when_a_calendar_is_given():
    calendar = calendar_of(**CALENDAR)
    over_a_holiday = order(72 + 3)  # Monday 09:00 to Thursday 12:00, Wednesday closed
    assert record([over_a_holiday], NOW).median_hours == Decimal("75.0000")
    assert record([over_a_holiday], NOW, calendar).median_hours == Decimal("19.0000")


def test_nothing_is_known_of_a_drafter_with_nothing_back():
    assert record([order(None, promised=10_000)], NOW).median_hours is None


def test_what_came_after_now_is_refused():
    with pytest.raises(ValueError, match="after now"):
        record([order(10)], SENT)


ORDERS = st.lists(
    st.builds(
        order,
        took=st.none() | st.integers(0, 200),
        promised=st.integers(1, 100),
        drafter=st.sampled_from(["Ada", "Ben", "Cy"]),
    ),
    max_size=30,
)


@settings(max_examples=100, deadline=None)
@given(ORDERS)
def test_every_order_is_in_one_record_and_shares_are_in_order(orders):
    found = records(orders, NOW)
    assert sum(one.orders for one in found.values()) == len(orders)
    assert sum(one.still_out for one in found.values()) == sum(one.received_at is None for one in orders)
    for one in found.values():
        assert one.on_time_percent is None or 0 <= one.on_time_percent <= 100
        assert one.p90_hours is None or one.median_hours <= one.p90_hours


HEADER = "drafter,sent_at,promised_at,received_at\n"
ROWS = (
    "Ada,2026-06-01T09:00:00+00:00,2026-06-02T09:00:00+00:00,2026-06-01T19:00:00+00:00\n"
    "Ada,2026-06-01T09:00:00+00:00,2026-06-02T09:00:00+00:00,2026-06-04T12:00:00+00:00\n"
    '"Ben, Drafting",2026-06-01T09:00:00+00:00,2026-06-02T09:00:00+00:00,\n'
)


@pytest.fixture
def written(tmp_path):
    def write(content: str | bytes, name: str = "orders.csv") -> str:
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return str(path)

    return write


run = partial(commands.run, "turnaround")


def test_the_answer_for_machines(written, capsys):
    status, out, err = run(capsys, written(HEADER + ROWS), "--json")
    assert (status, err) == (0, "")
    assert json.loads(out) == {
        "Ada": {
            "orders": 2,
            "on_time_percent": "50.00",
            "median_hours": "10.0000",
            "p90_hours": "75.0000",
            "still_out": 0,
        },
        "Ben, Drafting": {
            "orders": 1,
            "on_time_percent": "0.00",
            "median_hours": None,
            "p90_hours": None,
            "still_out": 1,
        },
    }


def test_the_answer_in_working_hours_as_of_a_time(written, capsys):
    calendar = written(json.dumps(CALENDAR), "calendar.json")
    now = "2026-06-04T12:00:00Z"
    _, out, _ = run(capsys, written(HEADER + ROWS), "--json", "--calendar", calendar, "--now", now)
    assert json.loads(out)["Ada"]["median_hours"] == "8.0000"
    assert json.loads(out)["Ada"]["p90_hours"] == "19.0000"


def test_the_table_for_people_says_what_is_not_yet_known(written, capsys):
    _, out, _ = run(capsys, written(HEADER + ROWS))
    assert out.splitlines()[0].split() == [
        "drafter",
        "orders",
        "still",
        "out",
        "on",
        "time",
        "%",
        "median",
        "h",
        "90",
        "%",
        "h",
    ]
    assert "not yet known" in out.splitlines()[2]
    assert len({len(line) for line in out.splitlines()}) == 1


def test_no_orders_make_no_records(written, capsys):
    assert run(capsys, written(HEADER), "--json") == (0, "{}\n", "")


def test_orders_from_a_later_time_than_the_clock_are_read_as_of_their_last(written, capsys):
    later = (
        "Ada,2199-06-01T09:00:00Z,2199-06-02T09:00:00Z,2199-06-01T19:00:00Z\n"
        "Ada,2199-06-01T09:00:00Z,2199-06-02T09:00:00Z,\n"
    )
    _, out, _ = run(capsys, written(HEADER + later), "--json")
    assert json.loads(out)["Ada"]["median_hours"] == "10.0000"


ADA = ROWS.splitlines()[0]


@pytest.mark.parametrize(
    ("content", "named"),
    [
        ("", "drafter: expected this column"),
        ("drafter,sent_at,promised_at\n", "received_at: expected this column"),
        (HEADER.replace("\n", ",extra\n"), "extra: unknown column"),
        (HEADER + "Ada,2026-06-01T09:00:00Z\n", "line 2: expected 4 values"),
        (HEADER + ADA.replace("Ada", " "), "row 1: drafter: expected a name"),
        (HEADER + f"{ADA}\n" + ADA.replace("+00:00", "", 1), "row 2: sent_at: expected a time with its offset"),
        (HEADER + "Ada,2026-06-01T09:00:00Z,,\n", "row 1: promised_at: expected a time"),
        (HEADER + "Ada,,2026-06-01T09:00:00Z,\n", "row 1: sent_at: expected a time"),
        (HEADER + ADA.replace("01T19", "01T08"), "row 1: received_at: expected a time at or after sent_at"),
        (HEADER + ADA.replace("2026-06-01T19", "0001-01-01T00"), "row 1: received_at: expected a year"),
        (HEADER + ADA.replace("2026-06-02", "2026-06-31"), "row 1: promised_at: expected a time"),
        (HEADER + "Ada,nan,nan,nan\n", "row 1: "),
        (b"\xff\xfe\x00", "expected UTF-8 text"),
        (HEADER + "A\x00da,2026-06-01T09:00:00Z,1,2\n", ""),
    ],
)
def test_a_file_that_does_not_fit_is_refused_in_one_line(written, capsys, content, named):
    source = written(content)
    status, out, err = run(capsys, source, "--json")
    assert (status, out) == (2, "")
    assert err.startswith(f"{source}: {named}")
    assert err.count("\n") == 1


@pytest.mark.parametrize(
    ("args", "named"),
    [
        (("--now", "soon"), "--now: expected a time"),
        (("--now", "2026-06-04T11:59:59Z"), "--now: expected a time at or after all that was sent and received"),
        (("--calendar", "nowhere.json"), "nowhere.json: expected a readable file"),
    ],
)
def test_options_are_refused_in_one_line(written, capsys, args, named):
    status, out, err = run(capsys, written(HEADER + ROWS), *args)
    assert (status, out) == (2, "")
    assert err.startswith(named)
    assert err.count("\n") == 1


def test_standard_input_is_one_file_only(capsys):
    assert run(capsys, "-", "--calendar", "-")[0] == 2
