"""`manage.py walkcheck`: what it answers, and that it refuses in one line."""

import copy
import io
import json
from contextlib import suppress
from dataclasses import replace
from decimal import Decimal
from functools import partial
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.rules.property_shape import PropertyShape, parse_property
from jobs.rules.walk import COLUMNS, MOST_STATIONS, Station, parse_walk, walk_csv
from office.rules.reading import BadInput
from tests import commands
from tests.jobs.houses import HOUSE, WALK, changed

HEADER = ",".join(COLUMNS)


def as_json(shape: PropertyShape) -> dict[str, Any]:
    return {
        "levels": [
            {"number": level.number, "name": level.name, "grade": level.grade, "elevation_m": str(level.elevation_m)}
            for level in shape.levels
        ],
        "spaces": [
            {"code": s.code, "name": s.name, "kind": s.kind, "level": s.level, "private": s.private}
            for s in shape.spaces
        ],
        "openings": [{"code": o.code, "between": list(o.between), "kind": o.kind} for o in shape.openings],
        "entrance": shape.entrance,
    }


PROPERTY = as_json(HOUSE)


@pytest.fixture
def written(tmp_path):
    def write(content, name: str = "") -> str:
        is_walk = isinstance(content, str)
        path = tmp_path / (name or ("walk.csv" if is_walk else "property.json"))
        path.write_bytes(
            content if isinstance(content, bytes) else (content if is_walk else json.dumps(content)).encode()
        )
        return str(path)

    return write


run = partial(commands.run, "walkcheck")


def answer(capsys, written, walk: str, package: str = "both", shape: Any = PROPERTY) -> dict[str, Any]:
    status, out, err = run(capsys, written(shape), written(walk), "--package", package, "--json")
    assert (status, err) == (0, "")
    return json.loads(out)


def refused(capsys, *args: str) -> str:
    status, out, err = run(capsys, *args)
    assert (status, out, err.count("\n")) == (2, "", 1)
    return err


def test_a_right_walk(capsys, written):
    assert answer(capsys, written, walk_csv(WALK)) == {
        "stations": 16,
        "keep_out": [2, 4, 5, 7, 13],
        "tour_pieces": 1,
        "misclosures": [
            {"station": 11, "ties_to": 8, "distance_m": "0.100"},
            {"station": 13, "ties_to": 1, "distance_m": "0.200"},
        ],
        "findings": [],
    }


def test_findings_say_where_and_what_to_do(capsys, written):
    [finding] = answer(capsys, written, walk_csv(changed(12, captured_for="plan")))["findings"]
    assert finding == {
        "code": "space-not-captured", "severity": "must", "level": 2, "space": "garage", "station": None,
        "text": "Garage has no tour station: go back and capture it as a visitor should see it.",
    }  # fmt: skip


def test_a_misclosure_is_rounded_half_up_to_the_millimetre(capsys, written):
    walk = walk_csv(changed(11, x=Decimal("6.2345"), ties_to=8))
    assert answer(capsys, written, walk)["misclosures"][0]["distance_m"] == "0.235"


def test_a_table_for_people(capsys, written):
    args = (written(PROPERTY), written(walk_csv(changed(7, captured_for="tour"))), "--package", "both")
    status, out, err = run(capsys, *args)
    assert (status, err) == (0, "")
    assert "keep out     2, 4, 5, 13\n" in out
    assert "misclosure   11 to 8: 0.100 m\n" in out
    assert "must   space-not-captured  Closet 3 has no plan station: go back and open it.\n" in out


def test_columns_in_any_order_with_a_mark_and_blank_lines(capsys, written):
    text = "\ufeffy,x,ties_to,opening,pair_of,pass,space,level,station\r\n\r\n0.0,1.0,,,, both ,hall,2,1\r\n"
    assert answer(capsys, written, text)["stations"] == 1


def test_a_header_alone_is_an_empty_walk(capsys, written):
    found = answer(capsys, written, HEADER + "\n")
    assert (found["stations"], found["tour_pieces"], len(found["findings"])) == (0, 0, 9)


def test_a_walk_on_standard_input(capsys, written, monkeypatch):
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(walk_csv(WALK).encode())))
    status, out, _ = run(capsys, written(PROPERTY), "-", "--package", "tour", "--json")
    assert (status, json.loads(out)["stations"]) == (0, 16)


@pytest.mark.parametrize("package", ["", "Both", "video", "both\nplan"])
def test_an_unknown_package_is_refused(capsys, written, package):
    err = refused(capsys, written(PROPERTY), written(walk_csv(WALK)), "--package", package)
    assert err.startswith("--package: expected tour, plan or both, found")


def test_a_package_must_be_named(capsys, written):
    assert refused(capsys, written(PROPERTY), written(walk_csv(WALK))).startswith("--package: expected")


def set_at(path: tuple, value: Any) -> dict[str, Any]:
    """PROPERTY with one thing in it set to `value`."""
    content = copy.deepcopy(PROPERTY)
    inner = content
    for key in path[:-1]:
        inner = inner[key]
    inner[path[-1]] = value
    return content


@pytest.mark.parametrize(
    ("path", "value", "named"),
    [
        (("levels",), {}, "levels: expected"),
        (("levels", 0), 1, "levels[0]: expected"),
        (("levels", 0, "number"), "1", "levels[0].number: expected"),
        (("levels", 0, "number"), True, "levels[0].number: expected"),
        (("levels", 0, "number"), 1.0, "levels[0].number: expected"),
        (("levels", 0, "number"), 10**30, "levels[0].number: expected"),
        (("levels", 0, "name"), None, "levels[0].name: expected"),
        (("levels", 0, "grade"), "cellar", "levels[0].grade: expected 'below', 'at' or 'above'"),
        (("levels", 0, "elevation_m"), "NaN", "levels[0].elevation_m: expected a decimal"),
        (("levels", 0, "elevation_m"), float("nan"), "levels[0].elevation_m: expected a decimal"),
        (("levels", 0, "elevation_m"), float("inf"), "levels[0].elevation_m: expected a decimal"),
        (("levels", 0, "elevation_m"), True, "levels[0].elevation_m: expected a decimal"),
        (("levels", 0, "elevation_m"), "1e3", "levels[0].elevation_m: expected a decimal"),
        (("levels", 0, "elevation_m"), "10000.01", "levels[0].elevation_m: expected metres between"),
        (("levels", 0, "elevation_m"), "9" * 40, "levels[0].elevation_m: expected at most 18 digits"),
        (("levels", 0, "storey"), 1, "levels[0].storey: unknown key"),
        (("spaces",), None, "spaces: expected"),
        (("spaces", 0, "code"), "", "spaces[0].code: expected a code"),
        (("spaces", 0, "code"), " hall", "spaces[0].code: expected a code"),
        (("spaces", 0, "code"), "a\nb", "spaces[0].code: expected a code"),
        (("spaces", 0, "code"), 7, "spaces[0].code: expected"),
        (("spaces", 0, "code"), "kitchen", "spaces[1].code: expected each code once, found 'kitchen' again"),
        (("spaces", 0, "kind"), "lounge", "spaces[0].kind: expected"),
        (("spaces", 0, "level"), 7, "spaces[0].level: expected the number of a level, found 7"),
        (("spaces", 0, "private"), 0, "spaces[0].private: expected"),
        (("spaces", 0, "private"), "no", "spaces[0].private: expected"),
        (("openings",), {"d1": []}, "openings: expected"),
        (("openings", 0, "code"), "d1", "openings[1].code: expected each code once"),
        (("openings", 0, "between"), ["hall"], "openings[0].between"),
        (("openings", 0, "between"), ["hall", "kitchen", "study"], "openings[0].between: "),
        (("openings", 0, "between"), ["hall", "loft"], "openings[0].between[1]: expected the code of a space"),
        (("openings", 0, "between"), [None, "hall"], "openings[0].between[0]: expected"),
        (("openings", 0, "between"), "hall", "openings[0].between: expected"),
        (("openings", 0, "kind"), "window", "openings[0].kind: expected"),
        (("entrance",), "loft", "entrance: expected the code of a space, found 'loft'"),
        (("entrance",), None, "entrance: expected"),
        (("entrance",), "", "entrance: expected"),
        (("roof",), [], "roof: unknown key"),
    ],
)
def test_a_property_that_does_not_fit_is_refused_by_key_path(capsys, written, path, value, named):
    source = written(set_at(path, value))
    err = refused(capsys, source, written(walk_csv(WALK)), "--package", "both", "--json")
    assert err.startswith(f"{source}: {named}")


@pytest.mark.parametrize("list_name", ["levels", "spaces", "openings"])
def test_a_missing_key_is_named(capsys, written, list_name):
    for key in PROPERTY[list_name][0]:
        content = copy.deepcopy(PROPERTY)
        del content[list_name][0][key]
        err = refused(capsys, written(content), written(walk_csv(WALK)), "--package", "both")
        assert f": {list_name}[0].{key}: expected this key" in err


@pytest.mark.parametrize("key", list(PROPERTY))
def test_a_missing_part_is_named(capsys, written, key):
    source = written({name: part for name, part in PROPERTY.items() if name != key})
    assert refused(capsys, source, "-", "--package", "both") == f"{source}: {key}: expected this key\n"


@pytest.mark.parametrize(
    "content", [b"", b"{", b"\xff\xfe", b"[]", b"null", b"[" * 100_000, b'{"levels": 1' + b"0" * 6000]
)
def test_what_is_no_property_at_all_is_refused(capsys, written, content):
    source = written(content, "property.json")
    assert refused(capsys, source, "-", "--package", "both").startswith(f"{source}: ")


def test_a_file_that_is_not_there(capsys, written):
    assert "expected a readable file" in refused(capsys, "nowhere.json", "-", "--package", "both")
    assert "expected a readable file" in refused(capsys, written(PROPERTY), "nowhere.csv", "--package", "both")


def test_data_that_has_a_finding_is_not_refused(capsys, written):
    content = set_at(("levels", 0, "number"), 1)
    content["levels"][1]["elevation_m"] = "-9.00"
    walk = f"{HEADER}\n3,7,loft,both,99,,99,,\n3,2,hall,both,,,,,\n"
    found = {finding["code"] for finding in answer(capsys, written, walk, shape=content)["findings"]}
    assert found >= {"level-order", "unknown-space", "unknown-level", "station-repeat", "station-gap", "tie-in-off"}


GOOD = {"station": "1", "level": "2", "space": "hall", "pass": "both", "pair_of": "", "opening": "", "ties_to": "",
        "x": "1.0", "y": "2.0"}  # fmt: skip


@pytest.mark.parametrize(
    ("column", "value", "expected"),
    [
        ("station", "", "expected a whole number from 1"),
        ("station", "0", "expected a whole number from 1"),
        ("station", "-1", "expected a whole number from 1"),
        ("station", "1.0", "expected a whole number from 1"),
        ("station", "one", "expected a whole number from 1"),
        ("station", "١", "expected a whole number from 1"),
        ("station", "1" * 5000, "expected a whole number from 1"),
        ("station", "1000000", "expected a whole number from 1"),
        ("level", "", "expected a whole number"),
        ("level", "ground", "expected a whole number"),
        ("level", "9" * 5000, "expected a whole number"),
        ("space", "", "expected the code of a space"),
        ("pass", "", "expected plan, tour or both"),
        ("pass", "Plan", "expected plan, tour or both"),
        ("pair_of", "x", "expected a whole number from 1"),
        ("pair_of", "0", "expected a whole number from 1"),
        ("opening", "d99", "expected the code of an opening of this property, found 'd99'"),
        ("ties_to", "1;2", "expected a whole number from 1"),
        ("x", "", "expected both x and y, or neither"),
        ("y", "", "expected both x and y, or neither"),
        ("x", "NaN", "expected a decimal"),
        ("x", "inf", "expected a decimal"),
        ("y", "1e5", "expected a decimal"),
        ("y", "1,5", "expected a decimal"),
        ("y", "9" * 19, "expected at most 18 digits"),
    ],
)
def test_a_row_that_does_not_fit_is_refused_by_row_and_column(capsys, written, column, value, expected):
    row = {**GOOD, column: value}
    text = f"{HEADER}\n1,2,hall,both,,,,,\n" + ",".join(f'"{row[name]}"' for name in COLUMNS) + "\n"
    source = written(text)
    err = refused(capsys, written(PROPERTY), source, "--package", "both", "--json")
    assert err.startswith(f"{source}: row 2: {column}: {expected}")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", "station: expected this column"),
        ("station,level\n", "space: expected this column"),
        (HEADER + ",z\n", "z: unknown column"),
        (HEADER + ",x\n", "expected each column once"),
        (HEADER + "\n1,2,hall\n", "line 2: expected 9 values, found 3"),
        (HEADER + "\n1,2,hall,both,,,,,,\n", "line 2: expected 9 values, found 10"),
        (HEADER + "\n" + "1,2,hall,both,,,,,\n" * (MOST_STATIONS + 1), "expected at most 5000 stations"),
    ],
)
def test_what_is_no_walk_is_refused(capsys, written, text, expected):
    source = written(text)
    assert expected in refused(capsys, written(PROPERTY), source, "--package", "both")


def test_a_walk_that_is_not_utf8_is_refused(capsys, written):
    source = written(b"station,level\n\xff\xfe\n", "walk.csv")
    assert refused(capsys, written(PROPERTY), source, "--package", "both") == f"{source}: expected UTF-8 text\n"


def test_elevation_may_be_a_plain_number():
    content = set_at(("levels", 0, "elevation_m"), -2.6)
    assert parse_property(json.dumps(content), "p") == HOUSE


def test_a_property_is_read_as_it_was_written():
    assert parse_property(json.dumps(PROPERTY), "p") == HOUSE


metres = st.decimals(-5000, 5000, places=3, allow_nan=False)
whole = st.integers(1, 999_999)
spots = st.none() | st.tuples(metres, metres)


@st.composite
def logged(draw) -> Station:
    x, y = draw(spots) or (None, None)
    codes = st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1, max_size=8)
    return Station(
        draw(whole), draw(st.integers(-99, 99)), draw(codes), draw(st.sampled_from(["plan", "tour", "both"])),
        draw(st.none() | whole), draw(st.none() | st.sampled_from([*HOUSE.opening_by_code])), draw(st.none() | whole),
        x, y,
    )  # fmt: skip


@given(st.lists(logged(), max_size=6))
def test_what_is_written_is_read_again(stations):
    assert parse_walk(walk_csv(stations), HOUSE, "walk") == tuple(stations)


anything = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=6,
)
paths = st.sampled_from(
    [(part,) for part in PROPERTY]
    + [(part, 0) for part in ("levels", "spaces", "openings")]
    + [(part, 0, key) for part in ("levels", "spaces", "openings") for key in PROPERTY[part][0]]
)


@settings(max_examples=200)
@given(paths, anything)
def test_any_other_thing_at_any_key_is_read_or_refused(path, value):
    with suppress(BadInput):
        shape = parse_property(json.dumps(set_at(path, value)), "p.json")
        assert shape.entrance in shape.space_by_code


def test_the_shape_is_frozen():
    with pytest.raises(AttributeError):
        HOUSE.entrance = "kitchen"
    assert replace(HOUSE, entrance="kitchen").space_by_code["kitchen"].label == "Kitchen"
