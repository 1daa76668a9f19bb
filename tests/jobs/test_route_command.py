"""`route` from a terminal: the answer of the contract, and every bad file refused in one line."""

import io
import json
import sys
from copy import deepcopy
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from tests import commands

DAY: dict[str, Any] = {
    "minutes": [[0, 12, 20], [12, 0, 9], [21, 9, 0]],
    "stops": [
        {"id": "home", "opens": 480, "closes": 1080, "service": 0},
        {"id": "12 Elm", "opens": 540, "closes": 570, "service": 75},
        {"id": "4 Oak", "opens": 480, "closes": 900, "service": 90},
    ],
    "start": 0,
}


answer = partial(commands.answer, "route")
refusal = partial(commands.refusal, "route")


def changed(*keys: Any, to: object) -> dict[str, Any]:
    content = deepcopy(DAY)
    place: Any = content
    for key in keys[:-1]:
        place = place[key]
    place[keys[-1]] = to
    return content


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "stops.json"


def test_answer_has_the_keys_of_the_contract(path: Path) -> None:
    # 480 + 12; service begins at 540 and takes 75; 9 more to the next; 12 + 9 + 21 of travel.
    assert answer(path, DAY) == {
        "order": ["12 Elm", "4 Oak"],
        "arrivals": [492, 624],
        "travel_minutes": 42,
        "feasible": True,
    }


def test_a_day_without_an_order_names_the_stops_and_orders_the_rest(path: Path) -> None:
    assert answer(path, changed("stops", 2, "closes", to=490)) == {
        "order": [],
        "arrivals": [],
        "travel_minutes": None,
        "feasible": False,
        "cannot_be_met": ["4 Oak"],
        "without_them": {"order": ["12 Elm"], "arrivals": [492], "travel_minutes": 24},
    }


def test_home_alone_is_an_empty_day(path: Path) -> None:
    alone = {"minutes": [[0]], "stops": DAY["stops"][:1], "start": 0}
    assert answer(path, alone) == {"order": [], "arrivals": [], "travel_minutes": 0, "feasible": True}


def test_standard_input_is_read(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(json.dumps(DAY).encode())))
    out = io.StringIO()
    call_command("route", "-", "--json", stdout=out)
    assert json.loads(out.getvalue())["travel_minutes"] == 42


def test_people_get_a_table(path: Path) -> None:
    path.write_text(json.dumps(DAY))
    out = io.StringIO()
    call_command("route", str(path), stdout=out)
    assert out.getvalue().splitlines() == ["08:12  12 Elm", "10:24  4 Oak", "42 minutes of travel"]


def test_people_are_told_what_cannot_be_met(path: Path) -> None:
    path.write_text(json.dumps(changed("stops", 2, "closes", to=490)))
    out = io.StringIO()
    call_command("route", str(path), stdout=out)
    assert out.getvalue().splitlines()[:2] == ["No order serves every stop. Cannot be met:", "4 Oak"]


WRONG: list[Any] = [None, True, "x", "5", 1.5, -1, 10**30, [], {}, [[]]]


@pytest.mark.parametrize("wrong", WRONG)
@pytest.mark.parametrize(
    ("keys", "said_of"),
    [
        (("start",), "start"),
        (("minutes", 1, 2), "minutes[1][2]"),
        (("stops", 1, "opens"), "stops[1].opens"),
        (("stops", 1, "closes"), "stops[1].closes"),
        (("stops", 1, "service"), "stops[1].service"),
    ],
)
def test_anything_but_whole_minutes_is_refused(
    path: Path, capsys: pytest.CaptureFixture[str], keys: tuple[Any, ...], said_of: str, wrong: object
) -> None:
    assert f": {said_of}: " in refusal(path, changed(*keys, to=wrong), capsys)


@pytest.mark.parametrize("wrong", [None, True, 5, "", [], {}])
def test_an_id_is_text(path: Path, capsys: pytest.CaptureFixture[str], wrong: object) -> None:
    assert ": stops[1].id: " in refusal(path, changed("stops", 1, "id", to=wrong), capsys)


@pytest.mark.parametrize("wrong", [None, True, 5, "x", {}, [1], [[1], 2]])
@pytest.mark.parametrize("key", ["minutes", "stops"])
def test_the_two_lists_are_lists(path: Path, capsys: pytest.CaptureFixture[str], key: str, wrong: object) -> None:
    assert f": {key}" in refusal(path, changed(key, to=wrong), capsys)


@pytest.mark.parametrize("keys", [("minutes",), ("stops",), ("start",), ("stops", 0, "id"), ("stops", 2, "service")])
def test_a_missing_key_is_named(path: Path, capsys: pytest.CaptureFixture[str], keys: tuple[Any, ...]) -> None:
    content = deepcopy(DAY)
    place: Any = content
    for key in keys[:-1]:
        place = place[key]
    del place[keys[-1]]
    assert refusal(path, content, capsys).endswith(f"{keys[-1]}: expected this key\n")


@pytest.mark.parametrize("keys", [("until",), ("stops", 1, "name")])
def test_an_unknown_key_is_named(path: Path, capsys: pytest.CaptureFixture[str], keys: tuple[Any, ...]) -> None:
    assert refusal(path, changed(*keys, to=1), capsys).endswith(f"{keys[-1]}: unknown key\n")


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (changed("stops", to=[]), "stops: "),
        (changed("minutes", to=[]), "minutes: expected 3 rows, one for each stop, found 0"),
        (changed("minutes", to=DAY["minutes"][:2]), "minutes: expected 3 rows, one for each stop, found 2"),
        (changed("minutes", 2, to=[21, 9]), "minutes[2]: expected 3 numbers, found 2"),
        (changed("minutes", 0, to=[0, 12, 20, 1]), "minutes[0]: expected 3 numbers, found 4"),
        (changed("stops", 2, "id", to="home"), "stops[2].id: expected each id once, found 'home' again"),
        (changed("stops", 1, "closes", to=539), "stops[1].closes: expected 540 (opens) or later"),
        (changed("stops", 0, "closes", to=479), "stops[0].closes: expected 480 (opens) or later"),
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
        b" ",
        b"nonsense",
        b"[]",
        b"null",
        b"3",
        b"\xff\xfe\x00",
        b'{"minutes": [[NaN]], "stops": [], "start": 0}',
        b'{"minutes": [[Infinity]], "stops": [], "start": 0}',
        b"[" * 100_000,
        b'{"minutes": ' + b"[" * 5_000 + b"]" * 5_000 + b"}",
        json.dumps(DAY).encode()[:-1],
    ],
)
def test_what_is_not_a_day_is_refused(path: Path, capsys: pytest.CaptureFixture[str], content: bytes) -> None:
    refusal(path, content, capsys)


def test_a_file_that_is_not_there_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        call_command("route", str(tmp_path / "none.json"))
    assert ended.value.code == 2
    assert "expected a readable file" in capsys.readouterr().err
