"""`manage.py promise`: what it answers, and that it refuses in one line."""

import copy
import io
import json
from functools import partial

import pytest
from django.core.management import call_command
from hypothesis import given, settings
from hypothesis import strategies as st

from tests import commands

CALENDAR = {
    "zone": "America/Chicago",
    "hours": {day: [["09:00", "12:00"], ["13:00", "17:00"]] for day in ("mon", "tue", "wed", "thu", "fri")},
    "holidays": ["2026-11-26"],
}
START = "2026-11-25T15:00:00-06:00"


@pytest.fixture
def written(tmp_path):
    def write(content) -> str:
        path = tmp_path / "calendar.json"
        path.write_bytes(content if isinstance(content, bytes) else json.dumps(content).encode())
        return str(path)

    return write


run = partial(commands.run, "promise")


def changed(path: tuple, value) -> dict:
    """CALENDAR with one thing in it set to `value`."""
    content = copy.deepcopy(CALENDAR)
    inner = content
    for key in path[:-1]:
        inner = inner[key]
    inner[path[-1]] = value
    return content


def test_due_with_the_offset_in_force(written, capsys):
    status, out, err = run(capsys, written(CALENDAR), START, "8", "--json")
    assert (status, err) == (0, "")
    assert json.loads(out) == {"due": "2026-11-27T16:00:00-06:00"}


def test_a_line_for_people(written, capsys):
    assert run(capsys, written(CALENDAR), START, "0.5") == (0, "due    2026-11-25T15:30:00-06:00\n", "")


def test_hours_between_to_four_places(written, capsys):
    for until, hours in (("2026-11-25T15:20:00-06:00", "0.3333"), ("2026-11-25T18:30:00-05:00", "2.0000")):
        _, out, _ = run(capsys, written(CALENDAR), START, "--until", until, "--json")
        assert json.loads(out) == {"hours": hours}


def test_a_calendar_on_standard_input(monkeypatch, capsys):
    stdin = io.TextIOWrapper(io.BytesIO(json.dumps(CALENDAR).encode()))
    monkeypatch.setattr("sys.stdin", stdin)
    assert run(capsys, "-", START, "1", "--json")[1] == '{"due": "2026-11-25T16:00:00-06:00"}\n'


@pytest.mark.parametrize(
    ("args", "named"),
    [
        (("2026-11-25T15:00:00", "8"), "START: expected a time with its offset"),
        (("2026-11-25", "8"), "START"),
        (("2026-02-30T15:00:00Z", "8"), "START"),
        (("0001-01-01T00:00:00+14:00", "8"), "START: expected a year"),
        (("9999-12-31T23:59:59Z", "8"), "START: expected a year"),
        (("soon\nrather", "8"), "START"),
        ((START, "-1"), "HOURS: expected zero or more"),
        ((START, "NaN"), "HOURS"),
        ((START, "Infinity"), "HOURS"),
        ((START, "1e3"), "HOURS"),
        ((START, ""), "HOURS"),
        ((START, "9" * 18), "HOURS: expected work that is done within 100 years"),
        ((START, "9" * 5000), "HOURS: expected at most 18 digits"),
        ((START, "--until", "2026-11-25T14:59:59-06:00"), "--until: expected a time at or after START"),
        ((START, "--until", "later"), "--until"),
        ((START,), "HOURS: expected either HOURS or --until END"),
        ((START, "8", "--until", START), "HOURS: expected either"),
    ],
)
def test_arguments_are_refused_in_one_line(written, capsys, args, named):
    status, out, err = run(capsys, written(CALENDAR), *args)
    assert (status, out) == (2, "")
    assert err.startswith(named)
    assert err.count("\n") == 1


@pytest.mark.parametrize(
    ("path", "value", "named"),
    [
        (("zone",), "Mars/Olympus", "zone: expected an IANA time zone"),
        (("zone",), "America", "zone: expected"),
        (("zone",), "../etc/passwd", "zone: expected"),
        (("zone",), "", "zone: expected"),
        (("zone",), "a\x00b", "zone: expected"),
        (("zone",), "x" * 5000, "zone: expected"),
        (("zone",), 7, "zone: expected"),
        (("hours",), {}, "hours: expected at least one opening"),
        (("hours",), {"mon": []}, "hours: expected at least one opening"),
        (("hours",), [], "hours: expected"),
        (("hours", "monday"), [["09:00", "17:00"]], "hours.monday: unknown key"),
        (("hours", "mon"), None, "hours.mon: expected"),
        (("hours", "mon"), {"09:00": "17:00"}, "hours.mon: expected"),
        (("hours", "mon", 1), ["13:00", "13:00"], "hours.mon[1]: expected a closing after the opening"),
        (
            ("hours", "mon", 1),
            ["11:00", "17:00"],
            "hours.mon: expected spans that do not overlap, found 09:00–12:00 and",
        ),
        (("hours", "mon", 1), ["22:00", "06:00"], "hours.mon[1]: expected a closing after the opening"),
        (("hours", "mon", 1, 0), 13, "hours.mon[1]: expected times of day"),
        (("hours", "mon", 1, 0), float("nan"), "hours.mon[1]: expected times of day"),
        (("holidays",), None, "holidays: expected"),
        (("holidays",), "2026-11-26", "holidays: expected"),
        (("holidays", 0), "26/11/2026", "holidays[0]: expected a date"),
        (("holidays", 0), "2026-02-30", "holidays[0]: expected a date"),
        (("holidays", 0), "20261126", "holidays[0]: expected a date"),
        (("holidays", 0), 20261126, "holidays[0]: expected a date"),
        (("extra",), 1, "extra: unknown key"),
    ],
)
def test_a_calendar_that_does_not_fit_is_refused_by_key_path(written, capsys, path, value, named):
    source = written(changed(path, value))
    status, out, err = run(capsys, source, START, "8", "--json")
    assert (status, out) == (2, "")
    assert err.startswith(f"{source}: {named}")
    assert err.count("\n") == 1


@pytest.mark.parametrize("key", ["zone", "hours", "holidays"])
def test_a_missing_key_is_named(written, capsys, key):
    source = written({name: value for name, value in CALENDAR.items() if name != key})
    assert run(capsys, source, START, "8") == (2, "", f"{source}: {key}: expected this key\n")


@pytest.mark.parametrize(
    "content", [b"", b"{", b"\xff\xfe", b"[]", b"null", b"[" * 100_000, b'{"zone": 1' + b"0" * 6000]
)
def test_a_file_that_is_no_calendar_is_refused(written, capsys, content):
    source = written(content)
    status, out, err = run(capsys, source, START, "8")
    assert (status, out) == (2, "")
    assert err.startswith(source)
    assert err.count("\n") == 1


def test_a_file_that_is_not_there_is_refused(tmp_path, capsys):
    assert run(capsys, str(tmp_path), START, "8")[0] == 2
    assert run(capsys, str(tmp_path / "none.json"), START, "8")[0] == 2


JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=6),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner, max_size=3),
    max_leaves=6,
)
PLACES = [("zone",), ("hours",), ("hours", "mon"), ("hours", "mon", 0), ("hours", "mon", 0, 1), ("holidays",),
          ("holidays", 0)]  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(PLACES), JSON)
def test_anything_anywhere_is_answered_or_refused_in_one_line(tmp_path_factory, path, value):
    source = tmp_path_factory.mktemp("any") / "calendar.json"
    source.write_text(json.dumps(changed(path, value)), encoding="utf-8")
    out, err = io.StringIO(), io.StringIO()
    status = 0
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("sys.stderr", err)
        try:
            call_command("promise", str(source), START, "8", "--json", stdout=out)
        except SystemExit as stop:
            status = stop.code
    if status:
        assert (status, out.getvalue(), err.getvalue().count("\n")) == (2, "", 1)
    else:
        assert "due" in json.loads(out.getvalue())
