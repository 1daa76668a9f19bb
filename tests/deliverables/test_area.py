"""Floor areas: what goes where under each measuring rule, and how a plan that does not fit is refused."""

import json
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from deliverables.rules.area import Rule, measure
from deliverables.rules.area_plan import Plan
from deliverables.rules.area_polygon import area_within, ring_area
from office.rules.reading import parse_json
from tests.deliverables.square_plans import SQUARE, part, plan, square


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


@pytest.mark.parametrize(("width", "counted"), [(5, 100), (5.1, 49)])
def test_what_covers_more_than_half_a_room_is_no_beam(width, counted):
    lower = [[0, 0], [width, 0], [width, 10], [0, 10]]
    found = totals(plan(part(ceiling=[(SQUARE, 8), (lower, 6.5)])))
    assert (found.above_grade_finished.sqft, found.excluded["low_ceiling"].sqft) == (counted, 100 - counted)


def test_where_ceilings_overlap_the_lowest_counts_once():
    lower = [[0, 0], [2, 0], [2, 10], [0, 10]]
    found = totals(plan(part(ceiling=[(SQUARE, 8), (lower, 6), (lower, 5)])))
    assert (found.above_grade_finished.sqft, found.excluded["low_ceiling"].sqft) == (80, 20)


def test_a_ceiling_may_reach_beyond_its_part():
    found = totals(plan(part(ceiling=[(square(-5, -5, 20), 6)])))
    assert (found.above_grade_finished.sqft, found.excluded["low_ceiling"].sqft) == (0, 100)


def test_each_figure_is_rounded_once_from_the_exact_sum():
    # three levels of 10.5 sq ft are 11 each, and 31.5 together
    three = plan(part(polygon=[[0, 0], [10.5, 0], [10.5, 1], [0, 1]]))
    three["levels"] = [{**three["levels"][0], "number": number} for number in (1, 2, 3)]
    sheet = measure(parse_json(json.dumps(three), Plan, "plan"), Rule.ANSI_Z765)
    assert [areas.above_grade_finished.sqft for areas in sheet.levels.values()] == [11, 11, 11]
    assert sheet.totals.above_grade_finished.sqft == 32


def test_decimals_are_taken_as_written():
    # 0.1 × 1.15 is 0.115, which rounds up; in binary floats it falls short
    strip = [[0, 0], [1.15, 0], [1.15, 0.1], [0, 0.1]]
    found = totals(plan(part(polygon=strip, height=3), unit="m"), Rule.AS_DRAWN)
    assert found.above_grade_finished.m2 == Decimal("0.12")


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


def test_the_rounding_of_a_drawing_is_no_overlap():
    # a wall at an angle, its middle corner rounded to a hundredth on one side only
    left = [[0, 0], [10, 0], [7, 10], [0, 10]]
    right = [[10, 0], [20, 0], [20, 10], [7, 10], [8.49, 5]]
    assert totals(plan(part(polygon=left), part(polygon=right))).above_grade_finished.sqft == 200


def test_a_corner_written_twice_or_again_at_the_end_is_one_corner():
    closed = [[0, 0], [0, 0], [10, 0], [10, 10], [0, 10], [0, 0]]
    assert totals(plan(part(polygon=closed))).above_grade_finished.sqft == 100
