"""`slots` from a terminal: the documented file, its answer, and every bad file refused in one line."""

import io
import json
from copy import deepcopy
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from jobs.rules import slots_file
from tests import commands


def documented() -> dict[str, Any]:
    """The example in the module's own words, so that it can never go stale."""
    text = slots_file.__doc__ or ""
    return json.loads(text[text.index("{") : text.rindex("}") + 1])


def changed(*keys: Any, to: object) -> dict[str, Any]:
    content = documented()
    place: Any = content
    for key in keys[:-1]:
        place = place[key]
    place[keys[-1]] = to
    return content


def without(*keys: Any) -> dict[str, Any]:
    content = documented()
    place: Any = content
    for key in keys[:-1]:
        place = place[key]
    del place[keys[-1]]
    return content


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "request.json"


answer = partial(commands.answer, "slots")
refusal = partial(commands.refusal, "slots")


def test_the_documented_request_is_answered(path: Path) -> None:
    found = answer(path, documented())
    assert (found["place"], found["minutes"], found["travel"]) == ("12 Elm Street", 90, "estimate, not a route")
    first = found["slots"][0]
    assert first["crew"] == "Maren"
    # Maren's booking ends at 11:45; the window opens at the first half hour that the drive allows
    assert first["arrive_from"] == "2027-03-03T12:30:00-06:00"
    assert first["arrive_to"] == "2027-03-03T13:00:00-06:00"
    assert first["leaves_by"] == "2027-03-03T14:30:00-06:00"
    assert first["travel_on_minutes"] == 35
    assert first["why"].startswith("Last of the day, after 4 Oak Avenue: ")
    pair = [slot for slot in found["slots"] if slot["crew"] == "Tobias and Ines"]
    assert {slot["arrive_from"][:10] for slot in pair} == {"2027-03-03"}  # on leave the day after
    assert {slot["added_travel_minutes"] for slot in pair} == {70}  # 35 each way, entered by hand


def test_what_may_be_left_out_may_be_left_out(path: Path) -> None:
    needed = ["now", "place", "minutes", "days", "places", "calendar", "crews"]
    content = {key: value for key, value in documented().items() if key in needed}
    assert answer(path, content)["slots"]


def test_the_defaults_are_those_documented(path: Path) -> None:
    shown = documented()
    kept = ("arrival_window_minutes", "every_minutes", "needs_daylight", "most")
    assert answer(path, {key: value for key, value in shown.items() if key not in kept}) == answer(path, shown)


def test_public_holidays_are_closed(path: Path) -> None:
    content = documented() | {"days": ["2027-07-05"], "now": "2027-07-01T08:00:00-05:00"}
    assert answer(path, content)["slots"] == []  # Independence Day, observed
    assert answer(path, content | {"holidays_of": None})["slots"]


def test_no_window_is_an_answer_too(path: Path) -> None:
    content = changed("minutes", to=1440)
    content["crews"][1]["minutes"] = 1440
    assert answer(path, content)["slots"] == []
    out = io.StringIO()
    call_command("slots", str(path), stdout=out)
    assert out.getvalue() == "No time fits a visit of 1440 minutes at 12 Elm Street on these days.\n"


def test_people_get_a_table(path: Path) -> None:
    path.write_text(json.dumps(changed("most", to=1)))
    out = io.StringIO()
    call_command("slots", str(path), stdout=out)
    lines = out.getvalue().splitlines()
    assert lines[0] == "12 Elm Street, 90 minutes on site"
    assert lines[1].startswith("2027-03-03  12:30–13:00  Maren  +")
    assert lines[-1] == "Travel: estimate, not a route"


NEEDED = ["now", "place", "minutes", "days", "places", "calendar", "crews"]
DEEPER = [
    ("calendar", "zone"), ("calendar", "hours"), ("calendar", "holidays"), ("places", "4 Oak Avenue", "latitude"),
    ("places", "4 Oak Avenue", "longitude"), ("crews", 0, "name"), ("crews", 0, "home"),
    ("crews", 0, "bookings", 0, "place"), ("crews", 0, "bookings", 0, "start"), ("crews", 0, "bookings", 0, "end"),
    ("timed", 0, "from"), ("timed", 0, "to"), ("timed", 0, "minutes"), ("holidays_of", "country"),
]  # fmt: skip


@pytest.mark.parametrize("keys", [*((key,) for key in NEEDED), *DEEPER])
def test_a_missing_key_is_named(path: Path, capsys: pytest.CaptureFixture[str], keys: tuple[Any, ...]) -> None:
    assert refusal(path, without(*keys), capsys).endswith(f"{keys[-1]}: expected this key\n")


@pytest.mark.parametrize(
    "keys",
    [
        ("colour",), ("calendar", "colour"), ("calendar", "hours", "someday"), ("places", "the office", "height"),
        ("crews", 1, "colour"), ("crews", 0, "bookings", 0, "colour"), ("travel", "colour"),
        ("travel", "bands", 0, "colour"), ("timed", 0, "colour"), ("holidays_of", "colour"),
    ],
)  # fmt: skip
def test_an_unknown_key_is_named(path: Path, capsys: pytest.CaptureFixture[str], keys: tuple[Any, ...]) -> None:
    assert refusal(path, changed(*keys, to=1), capsys).endswith(f"{keys[-1]}: unknown key\n")


@pytest.mark.parametrize("wrong", [None, True, "x", "", -1, 1.5, 10**30, [], {}, [[]], [None]])
@pytest.mark.parametrize(
    "keys",
    [
        *((key,) for key in NEEDED), ("arrival_window_minutes",), ("every_minutes",), ("most",), ("notice_hours",),
        ("travel",), ("timed",), ("needs_daylight",), *DEEPER, ("crews", 0, "bookings", 0), ("crews", 0),
        ("calendar", "hours", "mon"), ("calendar", "hours", "mon", 0), ("crews", 1, "minutes"),
        ("travel", "road_factor"), ("travel", "fixed_minutes"), ("travel", "bands"), ("travel", "bands", 0),
        ("travel", "bands", 0, "km_per_hour"), ("travel", "bands", 0, "up_to_km"), ("days", 0),
    ],
)  # fmt: skip
def test_a_wrong_value_anywhere_is_refused_or_taken_never_a_fault(
    path: Path, capsys: pytest.CaptureFixture[str], keys: tuple[Any, ...], wrong: object
) -> None:
    fitting = {
        ("needs_daylight",): [True], ("timed",): [[]], ("crews", 1, "minutes"): [None],
        ("calendar", "hours"): [], ("calendar", "hours", "mon"): [[]], ("calendar", "holidays"): [[]],
        ("places", "4 Oak Avenue", "latitude"): [-1, 1.5], ("places", "4 Oak Avenue", "longitude"): [-1, 1.5],
        ("crews", 0, "name"): ["x"], ("travel",): [{}],
    }  # fmt: skip
    content = changed(*keys, to=wrong)
    if any(type(wrong) is type(good) and wrong == good for good in fitting.get(keys, [])):
        answer(path, content)
    else:
        assert str(keys[0]) in refusal(path, content, capsys)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (changed("place", to="nowhere"), "place: expected one of the places, found 'nowhere'"),
        (changed("crews", 1, "home", to="nowhere"), "crews[1].home: expected one of the places"),
        (changed("crews", 0, "bookings", 0, "place", to="nowhere"), "crews[0].bookings[0].place: expected one of"),
        (changed("timed", 0, "from", to="nowhere"), "timed[0].from: expected one of the places"),
        (changed("crews", 1, "name", to="Maren"), "crews[1].name: expected each crew once, found 'Maren' again"),
        (
            changed("crews", 0, "bookings", 0, "end", to="2027-03-03T10:00:00-06:00"),
            "crews[0].bookings[0].end: expected an end after the start",
        ),
        (changed("calendar", "zone", to="Mars/Olympus"), "calendar.zone: expected an IANA time zone"),
        (changed("holidays_of", "country", to="XX"), "holidays_of: expected a country"),
        (changed("holidays_of", "subdivision", to="QQ"), "holidays_of: expected a country"),
        (changed("days", 1, to="2031-01-01"), "days[1]: expected a date within 1100 days of now, found 2031-01-01"),
        (changed("days", 1, to="0001-01-01"), "days[1]: expected a date within 1100 days of now"),
        (changed("days", 0, to="2027-02-29"), "days[0]: expected a date"),
        (changed("days", to=["2027-03-03"] * 401), "days: "),
        (changed("now", to="2027-03-01T08:00:00"), "now: expected a time with its offset"),
        (changed("crews", 1, "leave", to=["tomorrow"]), "crews[1].leave[0]: expected a date"),
        (changed("crews", 1, "hours", "wed", 0, to=["20:00", "12:00"]), "crews[1].hours.wed[0]: "),
        (changed("places", "the office", "latitude", to=90.5), "places.the office.latitude: "),
        (changed("places", "", to={"latitude": 1, "longitude": 1}), "places"),
        (changed("travel", "road_factor", to="0.9"), "travel.road_factor: "),
        (
            changed("travel", "bands", 1, "up_to_km", to="9"),
            "travel.bands: expected a last band whose up_to_km is null",
        ),
        (changed("travel", "bands", 0, "km_per_hour", to="0"), "travel.bands[0].km_per_hour: "),
        (changed("travel", "bands", 0, "up_to_km", to=None), "travel.bands: expected bands in order"),
        (changed("notice_hours", to="-1"), "notice_hours: expected zero or more"),
        (changed("minutes", to=0), "minutes: "),
        (changed("every_minutes", to=0), "every_minutes: "),
        (changed("most", to=0), "most: "),
    ],
)
def test_what_does_not_fit_together_is_refused(
    path: Path, capsys: pytest.CaptureFixture[str], content: object, said: str
) -> None:
    assert said in refusal(path, content, capsys)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"nonsense",
        b"[]",
        b"null",
        b"\xff\xfe\x00",
        b"[" * 100_000,
        b'{"now": NaN}',
        b'{"places": {"a": {"a": {}}}}',
    ],
)
def test_what_is_not_a_request_is_refused(path: Path, capsys: pytest.CaptureFixture[str], content: bytes) -> None:
    refusal(path, content, capsys)


def test_nan_is_no_latitude(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    content = deepcopy(documented())
    content["places"]["the office"]["latitude"] = float("nan")
    assert "latitude" in refusal(path, json.dumps(content).encode(), capsys)
