"""Floor areas: what goes where under each measuring rule, and how a plan that does not fit is refused."""

import copy
import io
import json
from decimal import Decimal
from fractions import Fraction

import pytest
from django.core.management import call_command
from hypothesis import given, settings
from hypothesis import strategies as st

from deliverables.rules.area import Rule, measure
from deliverables.rules.area_plan import Plan
from deliverables.rules.area_polygon import area_within, ring_area
from office.rules.reading import parse_json

SQUARE = [[0, 0], [10, 0], [10, 10], [0, 10]]
EXCLUDED = ("garage", "porch", "open_below", "low_ceiling", "not_connected")


def square(x=0, y=0, side=10) -> list[list[float]]:
    return [[x, y], [x + side, y], [x + side, y + side], [x, y + side]]


def part(kind="living", polygon=SQUARE, height=8, sloped=False, connected=True, ceiling=None) -> dict:
    pieces = ceiling or [(polygon, height)]
    return {
        "kind": kind,
        "polygon": polygon,
        "ceiling": [{"polygon": piece, "height": high} for piece, high in pieces],
        "sloped": sloped,
        "connected": connected,
    }


def plan(*parts: dict, grade="above", unit="ft") -> dict:
    return {"unit": unit, "levels": [{"number": 1, "name": "Ground", "grade": grade, "parts": list(parts)}]}


def totals(plan: dict, rule=Rule.ANSI_Z765):
    return measure(parse_json(json.dumps(plan), Plan, "plan"), rule).totals


@pytest.mark.parametrize(
    ("one", "rule", "where"),
    [
        (part(), Rule.ANSI_Z765, "above_grade_finished"),
        (part("stair", height=3), Rule.ANSI_Z765, "above_grade_finished"),
        (part("stair", connected=False), Rule.ANSI_Z765, "not_connected"),
        (part(connected=False), Rule.ANSI_Z765, "not_connected"),
        (part(connected=False, height=6), Rule.ANSI_Z765, "not_connected"),
        (part(height=6.99), Rule.ANSI_Z765, "low_ceiling"),
        (part("unfinished", height=5, connected=False), Rule.ANSI_Z765, "unfinished"),
        (part("garage"), Rule.ANSI_Z765, "garage"),
        (part("porch"), Rule.ANSI_Z765, "porch"),
        (part("open_below"), Rule.ANSI_Z765, "open_below"),
        (part(height=4, connected=False), Rule.IPMS_3B, "above_grade_finished"),
        (part("unfinished"), Rule.IPMS_3B, "unfinished"),
        (part("garage"), Rule.IPMS_3B, "garage"),
        (part("open_below"), Rule.IPMS_3B, "open_below"),
        (part(height=4, connected=False), Rule.AS_DRAWN, "above_grade_finished"),
        (part("porch"), Rule.AS_DRAWN, "porch"),
    ],
)
def test_where_a_part_is_reported(one, rule, where):
    found = totals(plan(one), rule)
    areas = {
        "above_grade_finished": found.above_grade_finished,
        "below_grade_finished": found.below_grade_finished,
        "unfinished": found.unfinished,
        **found.excluded,
    }
    assert {name for name, area in areas.items() if area.sqft} == {where}
    assert areas[where].sqft == 100
    assert areas[where].m2 == Decimal("9.29")


@pytest.mark.parametrize("rule", list(Rule))
def test_only_below_is_below(rule):
    for grade, below in (("below", True), ("at", False), ("above", False)):
        found = totals(plan(part(), grade=grade), rule)
        assert bool(found.below_grade_finished.sqft) == below
        assert bool(found.above_grade_finished.sqft) != below


def bands(*widths_and_heights) -> dict:
    """A sloped part 10 deep, in bands of (width, height) from left to right."""
    at, pieces = 0, []
    for width, height in widths_and_heights:
        pieces.append(([[at, 0], [at + width, 0], [at + width, 10], [at, 10]], height))
        at += width
    return part(polygon=[[0, 0], [at, 0], [at, 10], [0, 10]], sloped=True, ceiling=pieces)


@pytest.mark.parametrize(
    ("room", "counted", "low"),
    [
        (bands((4, 7), (4, 5)), 80, 0),
        (bands((3.9, 7), (4.1, 5)), 0, 80),
        (bands((4, 7), (4, 5), (2, 4.99)), 80, 20),
        (bands((4, 6.99), (4, 6.99)), 0, 80),
        (bands((8, 4)), 0, 80),
    ],
)
def test_a_slope_counts_from_five_feet_when_half_of_that_reaches_seven(room, counted, low):
    found = totals(plan(room))
    assert (found.above_grade_finished.sqft, found.excluded["low_ceiling"].sqft) == (counted, low)


def test_a_low_half_is_no_beam():
    low_half = [[0, 0], [5.1, 0], [5.1, 10], [0, 10]]
    found = totals(plan(part(ceiling=[(SQUARE, 8), (low_half, 6.5)])))
    assert (found.above_grade_finished.sqft, found.excluded["low_ceiling"].sqft) == (49, 51)


def test_where_ceilings_overlap_the_lowest_counts_once():
    lower = [[0, 0], [2, 0], [2, 10], [0, 10]]
    found = totals(plan(part(ceiling=[(SQUARE, 8), (lower, 6), (lower, 5)])))
    assert (found.above_grade_finished.sqft, found.excluded["low_ceiling"].sqft) == (80, 20)


def test_a_ceiling_may_reach_beyond_its_part():
    found = totals(plan(part(ceiling=[(square(-5, -5, 20), 6)])))
    assert (found.above_grade_finished.sqft, found.excluded["low_ceiling"].sqft) == (0, 100)


def test_each_figure_is_rounded_once_from_the_exact_sum():
    # two levels of 10.24 sq ft are 10 each and 20.48 together; three of 10.5 are 11 each and 31.5 together
    three = plan(part(polygon=[[0, 0], [10.5, 0], [10.5, 1], [0, 1]]))
    three["levels"] = [{**three["levels"][0], "number": number} for number in (1, 2, 3)]
    sheet = measure(parse_json(json.dumps(three), Plan, "plan"), Rule.ANSI_Z765)
    assert [areas.above_grade_finished.sqft for areas in sheet.levels.values()] == [11, 11, 11]
    assert sheet.totals.above_grade_finished.sqft == 32


def test_decimals_are_taken_as_written():
    # in binary floats 1.1 × 1.1 × 50 falls short of the half that rounds up
    found = totals(plan(part(polygon=[[0, 0], [0.1, 0], [0.1, 0.05], [0, 0.05]], height=3), unit="m"), Rule.AS_DRAWN)
    assert found.above_grade_finished.m2 == Decimal("0.01")


def test_ipms_states_its_one_figure_and_what_is_low():
    inside = plan(part(height=2.4), part("unfinished", square(10), height=1.4), part("garage", square(20)), unit="m")
    notes = " ".join(measure(parse_json(json.dumps(inside), Plan, "plan"), Rule.IPMS_3B).notes)
    assert "200.00 m² (2152.78 sq ft)" in notes
    assert "less than 1.5 m of height: 100.00 m² (1076.39 sq ft)" in notes
    assert "inside faces" in notes


@pytest.mark.parametrize("rule", list(Rule))
def test_every_sheet_carries_its_rule_and_the_caution(rule):
    notes = measure(parse_json(json.dumps(plan(part())), Plan, "plan"), rule).notes
    assert notes[0].startswith("Measuring rule")
    assert notes[-1].startswith("Approximate")
    assert "licensed surveyor or appraiser" in notes[-1]


def test_a_level_with_too_low_a_ceiling_is_named():
    two = plan(part(), part(polygon=square(10), height=6))
    two["levels"].append({**plan(part())["levels"][0], "number": 2, "name": "Loft"})
    notes = measure(parse_json(json.dumps(two), Plan, "plan"), Rule.ANSI_Z765).notes
    assert "Level 1 (Ground): 9.29 m² (100 sq ft) is under too low a ceiling and is left out." in notes
    assert not any(note.startswith("Level 2") for note in notes)


HEIGHTS = st.sampled_from([4, 5, 6, 6.33, 6.5, 7, 8])
PARTS = st.builds(
    part,
    kind=st.sampled_from(["living", "stair", "open_below", "garage", "porch", "unfinished"]),
    height=HEIGHTS,
    sloped=st.booleans(),
    connected=st.booleans(),
)


@settings(max_examples=100, deadline=None)
@given(st.lists(PARTS, min_size=1, max_size=5), st.sampled_from(list(Rule)), st.sampled_from(["below", "at", "above"]))
def test_no_area_is_lost_or_counted_twice(parts, rule, grade):
    spread = [
        {**one, "polygon": square(10 * n), "ceiling": [{**one["ceiling"][0], "polygon": square(10 * n)}]}
        for n, one in enumerate(parts)
    ]
    found = totals(plan(*spread, grade=grade), rule)
    counted = found.above_grade_finished.sqft + found.below_grade_finished.sqft + found.unfinished.sqft
    assert counted + sum(area.sqft for area in found.excluded.values()) == 100 * len(parts)


POINTS = st.tuples(st.integers(-9, 9), st.integers(-9, 9))


@given(st.lists(POINTS, min_size=3, max_size=6, unique=True), POINTS, st.integers(0, 5))
def test_area_does_not_change_when_moved_turned_or_begun_elsewhere(corners, by, start):
    ring = tuple((Fraction(x), Fraction(y)) for x, y in corners)
    area = ring_area(ring)
    assert ring_area(tuple((x + by[0], y + by[1]) for x, y in ring)) == area
    assert ring_area(tuple((-y, x) for x, y in ring)) == area
    start %= len(ring)
    assert ring_area((ring[start:] + ring[:start])[::-1]) == area


def test_a_ring_lies_wholly_within_itself_and_not_in_its_neighbour():
    ring = tuple((Fraction(x), Fraction(y)) for x, y in SQUARE)
    beside = tuple((x + 10, y) for x, y in ring)
    assert area_within(ring, [ring, ring]) == 100
    assert area_within(ring, [beside]) == 0
    assert area_within(ring, []) == 0


# the command


@pytest.fixture
def written(tmp_path):
    def write(content) -> str:
        path = tmp_path / "plan.json"
        path.write_bytes(content if isinstance(content, bytes) else json.dumps(content).encode())
        return str(path)

    return write


def run(capsys, *args: str) -> tuple[int, str, str]:
    try:
        call_command("area", *args)
        status = 0
    except SystemExit as stop:
        status = stop.code
    out, err = capsys.readouterr()
    return status, out, err


def test_the_answer_for_machines(written, capsys):
    status, out, err = run(capsys, written(plan(part(), part("garage", square(10)))), "--rule=ansi-z765", "--json")
    assert (status, err) == (0, "")
    answer = json.loads(out)
    nothing = {"sqft": "0", "m2": "0.00"}
    areas = {
        "above_grade_finished": {"sqft": "100", "m2": "9.29"},
        "below_grade_finished": nothing,
        "unfinished": nothing,
        "excluded": dict.fromkeys(EXCLUDED, nothing) | {"garage": {"sqft": "100", "m2": "9.29"}},
    }
    assert answer["levels"] == [{"number": 1, **areas}]
    assert answer["totals"] == areas
    assert set(answer) == {"levels", "totals", "notes"}


def test_the_table_for_people(written, capsys):
    _, out, _ = run(capsys, written(plan(part(), part("porch", square(10)))), "--rule=as-drawn")
    assert "  above grade, finished             100.00          9.29" in out
    assert "  left out: porch                   100.00          9.29" in out
    assert "left out: garage" not in out
    assert "Approximate" in out


@pytest.mark.parametrize("rule", [(), ("--rule=ansi",), ("--rule=",)])
def test_a_rule_must_be_named(written, capsys, rule):
    status, out, err = run(capsys, written(plan(part())), *rule)
    assert (status, out, err) == (2, "", "--rule: expected one of ansi-z765, ipms-3b, as-drawn\n")


def changed(path: tuple, value) -> dict:
    """A plan of two parts side by side, with one thing in it set to `value`."""
    content = copy.deepcopy(plan(part(), part("stair", square(10))))
    inner = content
    for key in path[:-1]:
        inner = inner[key]
    inner[path[-1]] = value
    return content


PART = ("levels", 0, "parts", 0)
AT = "levels[0].parts[0]."
BOWTIE = [[0, 0], [10, 10], [10, 0], [0, 10]]
NAN = float("nan")


@pytest.mark.parametrize(
    ("path", "value", "named"),
    [
        (("unit",), "yd", "unit: expected"),
        (("unit",), None, "unit: expected"),
        (("levels",), [], "levels: "),
        (("levels",), {}, "levels: "),
        (("levels", 0), "Ground", "levels[0]: "),
        (("levels", 0, "number"), 0, "levels[0].number: "),
        (("levels", 0, "number"), "1", "levels[0].number: "),
        (("levels", 0, "number"), 1.5, "levels[0].number: "),
        (("levels", 0, "number"), True, "levels[0].number: "),
        (("levels", 0, "number"), 10**30, "levels[0].number: "),
        (("levels", 0, "name"), 1, "levels[0].name: "),
        (("levels", 0, "grade"), "under", "levels[0].grade: "),
        (("levels", 0, "parts"), [], "levels[0].parts: "),
        (("levels", 0, "extra"), 1, "levels[0].extra: unknown key"),
        ((*PART, "kind"), "attic", AT + "kind: expected"),
        ((*PART, "sloped"), "false", AT + "sloped: "),
        ((*PART, "connected"), 1, AT + "connected: "),
        ((*PART, "polygon"), [], AT + "polygon: "),
        ((*PART, "polygon"), [[0, 0], [10, 0]], AT + "polygon: "),
        ((*PART, "polygon"), [[0, 0], [5, 0], [10, 0]], AT + "polygon: expected a polygon that encloses"),
        ((*PART, "polygon"), [[0, 0], [0, 0], [0, 0]], AT + "polygon: expected a polygon of three corners"),
        ((*PART, "polygon"), BOWTIE, AT + "polygon: expected a polygon that neither crosses"),
        ((*PART, "polygon"), [*SQUARE, [5, 0]], AT + "polygon: expected a polygon that neither"),
        ((*PART, "polygon"), square() * 200, AT + "polygon: "),
        ((*PART, "polygon", 2), [10], AT + "polygon[2]: expected a point [x, y]"),
        ((*PART, "polygon", 2), [10, 10, 0], AT + "polygon[2]: expected a point [x, y]"),
        ((*PART, "polygon", 2), {"x": 1}, AT + "polygon[2]: expected a point [x, y]"),
        ((*PART, "polygon", 2), [NAN, 10], AT + "polygon[2]: expected a number"),
        ((*PART, "polygon", 2), [float("inf"), 10], AT + "polygon[2]: expected a number"),
        ((*PART, "polygon", 2), [10**400, 10], AT + "polygon[2]: expected a number"),
        ((*PART, "polygon", 2), [1e300, 10], AT + "polygon[2]: expected a number"),
        ((*PART, "polygon", 2), ["10", 10], AT + "polygon[2]: expected a number, found '10'"),
        ((*PART, "polygon", 2), [True, 10], AT + "polygon[2]: expected a number, found True"),
        ((*PART, "ceiling"), [], AT + "ceiling: "),
        ((*PART, "ceiling"), None, AT + "ceiling: "),
        ((*PART, "ceiling", 0, "height"), 0, AT + "ceiling[0].height: expected a height above zero"),
        ((*PART, "ceiling", 0, "height"), -8, AT + "ceiling[0].height: expected a height above zero"),
        ((*PART, "ceiling", 0, "height"), NAN, AT + "ceiling[0].height: expected a number"),
        ((*PART, "ceiling", 0, "height"), "8", AT + "ceiling[0].height: expected a number"),
        ((*PART, "ceiling", 0, "polygon"), BOWTIE, AT + "ceiling[0].polygon: expected a polygon that"),
        ((*PART, "ceiling", 0, "polygon"), square(0, 0, 9.9), AT + "ceiling: expected ceilings that cover"),
        ((*PART, "ceiling", 0, "polygon"), square(20), AT + "ceiling: expected ceilings that cover"),
    ],
)  # fmt: skip
def test_a_plan_that_does_not_fit_is_refused_by_key_path(written, capsys, path, value, named):
    source = written(changed(path, value))
    status, out, err = run(capsys, source, "--rule=ansi-z765", "--json")
    assert (status, out) == (2, "")
    assert err.startswith(f"{source}: {named}")
    assert err.count("\n") == 1


@pytest.mark.parametrize("depth", [(), ("levels", 0), PART, (*PART, "ceiling", 0)])
def test_every_missing_key_is_named(written, capsys, depth):
    def inside(content):
        for key in depth:
            content = content[key]
        return content

    for key in list(inside(plan(part()))):
        content = copy.deepcopy(plan(part()))
        del inside(content)[key]
        source = written(content)
        status, out, err = run(capsys, source, "--rule=as-drawn")
        assert (status, out) == (2, "")
        assert err.endswith(f"{key}: expected this key\n")


def test_parts_that_overlap_are_both_named(written, capsys):
    source = written(plan(part(), part("garage", square(20)), part("stair", square(9.9))))
    status, out, err = run(capsys, source, "--rule=ansi-z765")
    assert (status, out) == (2, "")
    assert err == (
        f"{source}: levels[0].parts: expected parts that do not overlap, "
        "found parts[0] (living) and parts[2] (stair) one over the other\n"
    )


def test_a_part_inside_another_overlaps_it(written, capsys):
    assert run(capsys, written(plan(part(), part("stair", square(4, 4, 2)))), "--rule=ansi-z765")[0] == 2


def test_parts_over_one_another_on_two_levels_do_not_overlap(written, capsys):
    two = plan(part())
    two["levels"].append({**two["levels"][0], "number": 2})
    assert run(capsys, written(two), "--rule=ansi-z765")[0] == 0
    two["levels"][1]["number"] = 1
    status, _, err = run(capsys, written(two), "--rule=ansi-z765")
    assert status == 2
    assert "levels: expected each level number once, found 1 again at levels[1]" in err


def test_the_rounding_of_a_drawing_is_no_overlap():
    # a wall at an angle, its middle corner rounded to a hundredth on one side only
    left = [[0, 0], [10, 0], [7, 10], [0, 10]]
    right = [[10, 0], [20, 0], [20, 10], [7, 10], [8.49, 5]]
    assert totals(plan(part(polygon=left), part(polygon=right))).above_grade_finished.sqft == 200


def test_a_corner_written_twice_or_again_at_the_end_is_one_corner():
    closed = [[0, 0], [0, 0], [10, 0], [10, 10], [0, 10], [0, 0]]
    assert totals(plan(part(polygon=closed))).above_grade_finished.sqft == 100


@pytest.mark.parametrize("content", [b"", b"{", b"\xff", b"[]", b"null", b"[" * 100_000, b'{"unit": NaN}'])
def test_a_file_that_is_no_plan_is_refused(written, capsys, content):
    source = written(content)
    status, out, err = run(capsys, source, "--rule=ansi-z765")
    assert (status, out) == (2, "")
    assert err.startswith(source)
    assert err.count("\n") == 1


JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=6),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=4), inner, max_size=3),
    max_leaves=8,
)
PLACES = [("unit",), ("levels",), ("levels", 0), ("levels", 0, "number"), ("levels", 0, "parts"), PART,
          *((*PART, key) for key in part()), (*PART, "polygon", 1), (*PART, "polygon", 1, 0), (*PART, "ceiling", 0),
          (*PART, "ceiling", 0, "polygon"), (*PART, "ceiling", 0, "height")]  # fmt: skip


@settings(max_examples=200, deadline=None)
@given(st.sampled_from(PLACES), JSON, st.sampled_from(list(Rule)))
def test_anything_anywhere_is_answered_or_refused_in_one_line(tmp_path_factory, path, value, rule):
    source = tmp_path_factory.mktemp("any") / "plan.json"
    source.write_text(json.dumps(changed(path, value)), encoding="utf-8")
    out, err = io.StringIO(), io.StringIO()
    status = 0
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("sys.stderr", err)
        try:
            call_command("area", str(source), f"--rule={rule}", "--json", stdout=out)
        except SystemExit as stop:
            status = stop.code
    if status:
        assert (status, out.getvalue(), err.getvalue().count("\n")) == (2, "", 1)
    else:
        assert set(json.loads(out.getvalue())) == {"levels", "totals", "notes"}
