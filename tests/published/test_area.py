"""Floor areas against the rules of ANSI Z765 as published, real and generated layouts, and shapely."""

import json
from decimal import Decimal
from fractions import Fraction

import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from deliverables.rules.area import Rule, measure
from deliverables.rules.area_plan import Plan
from deliverables.rules.area_polygon import SLIVER, area_within, overlapping, ring_area, shape_of
from office.rules.reading import parse_json

COUNTED = ("above_grade_finished", "below_grade_finished", "unfinished")


def plan_of(plan: dict) -> Plan:
    return parse_json(json.dumps(plan), Plan, "plan")


def rectangle(width, depth, x=0, y=0) -> list[list[float]]:
    return [[x, y], [x + width, y], [x + width, y + depth], [x, y + depth]]


def part(polygon, kind="living", height=8, bands=None, connected=True) -> dict:
    """A part under one height, or under a slope written as bands of (height, polygon)."""
    ceiling = bands or [(height, polygon)]
    return {
        "kind": kind,
        "polygon": polygon,
        "ceiling": [{"polygon": piece, "height": high} for high, piece in ceiling],
        "sloped": bands is not None,
        "connected": connected,
    }


def house(*levels, unit="ft") -> Plan:
    """Levels as (grade, parts), the lowest first."""
    return plan_of(
        {
            "unit": unit,
            "levels": [
                {"number": number, "name": str(number), "grade": grade, "parts": parts}
                for number, (grade, parts) in enumerate(levels, 1)
            ],
        }
    )


def attic(width_at_seven: float) -> dict:
    """20 long, 16 wide at 5 ft or more, so much of it at 7 ft or more, in the middle."""
    side = (16 - width_at_seven) / 2
    bands = [
        (5, rectangle(side, 20)),
        (7, rectangle(width_at_seven, 20, x=side)),
        (5, rectangle(side, 20, x=side + width_at_seven)),
    ]
    return part(rectangle(16, 20), bands=bands)


L_SHAPED_WITH_GARAGE = [[0, 0], [50, 0], [50, 30], [22, 30], [22, 22], [0, 22]]


@pytest.mark.parametrize(
    ("plan", "above"),
    [
        # ANSI Z765-2003 annex: two storeys of 28 by 42 ft are 1,176 each
        (house(("above", [part(rectangle(28, 42))]), ("above", [part(rectangle(28, 42))])), 2352),
        # ANSI Z765 section 3 (reported to the nearest whole square foot): 28 ft 6 in by 41 ft 7 in
        (house(("above", [part(rectangle(28.5, 41.583333))])), 1185),
        (house(("above", [part(rectangle(25.583333, 18.416667))])), 471),
        (house(("above", [part(rectangle(33.4, 27.6))])), 922),
        # ANSI Z765 section 3, openings to the floor below: two of 40 by 30 with 10 by 12 open upstairs
        (
            house(
                ("above", [part(rectangle(40, 30))]),
                (
                    "above",
                    [
                        part([[0, 0], [40, 0], [40, 30], [10, 30], [10, 18], [0, 18]]),
                        part(rectangle(10, 12, y=18), "open_below"),
                    ],
                ),
            ),
            2280,
        ),
        # ANSI Z765 section 3, sloped ceilings: at least half at 7 ft, nothing under 5 ft
        (house(("above", [attic(8)])), 320),
        (house(("above", [attic(7.9)])), 0),
        # ANSI Z765 section 3, ceilings: 7 ft, but 6 ft 4 in under beams and ducts (NC Real Estate Commission)
        (house(("above", [part(rectangle(12, 10), height=6.833333)])), 0),
        (house(("above", [part(rectangle(12, 10), height=7)])), 120),
        # ANSI Z765 section 3, stairs: an opening of 3 by 10 counts on the floor the stair descends from
        (
            house(
                ("below", [part(rectangle(30, 40), "unfinished")]),
                (
                    "above",
                    [
                        part([[0, 0], [30, 0], [30, 40], [3, 40], [3, 30], [0, 30]]),
                        part(rectangle(3, 10, y=30), "stair"),
                    ],
                ),
            ),
            1200,
        ),
    ],
)
def test_above_grade_finished_area(plan, above):
    assert measure(plan, Rule.ANSI_Z765).totals.above_grade_finished.sqft == above


def test_beams_and_ducts():
    # ANSI Z765 section 3: 6 ft 4 in (1.93 m) under beams, ducts and other obstructions
    for unit, height, enough, too_low in (("ft", 8, 6.33, 6.25), ("m", 2.4, 1.93, 1.92)):
        for lowest, counted in ((enough, 200), (too_low, 190)):
            room = part(rectangle(20, 10))
            room["ceiling"] = [
                {"polygon": rectangle(20, 10), "height": height},
                {"polygon": rectangle(1, 10, x=7), "height": lowest},
            ]
            found = measure(house(("above", [room]), unit=unit), Rule.ANSI_Z765).totals
            assert (found.above_grade_finished.sqft if unit == "ft" else found.above_grade_finished.m2) == counted


def test_a_walk_out_basement_is_below_grade():
    # Fannie Mae Selling Guide B4-1.3-05: partly below grade is below grade
    totals = measure(house(("below", [part(rectangle(40, 25))])), Rule.ANSI_Z765).totals
    assert (totals.above_grade_finished.sqft, totals.below_grade_finished.sqft) == (0, 1000)


def test_a_garage_in_the_outline_is_left_out():
    # ANSI Z765 section 3: garages are not finished area; 50 by 30 with 22 by 22 of garage is 1,016
    house_part = part([[22, 0], [50, 0], [50, 30], [0, 30], [0, 22], [22, 22]])
    totals = measure(house(("above", [house_part, part(rectangle(22, 22), "garage")])), Rule.ANSI_Z765).totals
    assert (totals.above_grade_finished.sqft, totals.excluded["garage"].sqft) == (1016, 484)


def test_inside_the_outer_walls():
    # IPMS: Residential Buildings (2016), second-hand: 10 by 8 m outside with walls of 0.30 m is 69.56 m² by 3B
    totals = measure(house(("above", [part(rectangle(9.4, 7.4), height=2.4)]), unit="m"), Rule.IPMS_3B).totals
    assert totals.above_grade_finished.m2 == Decimal("69.56")


def test_the_check_set(checks):
    cases = json.loads((checks / "area/cases.json").read_text(encoding="utf-8"))
    assert len(cases) >= 13
    for case in cases:
        sheet = measure(plan_of(case["plan"]), Rule.ANSI_Z765)
        unit, expected = case["expected"]["unit"], case["expected"]
        assert list(sheet.levels) == [level["number"] for level in expected["levels"]], case["name"]
        for areas, level in zip(sheet.levels.values(), expected["levels"], strict=True):
            found = {name: getattr(getattr(areas, name), unit) for name in COUNTED}
            assert found == {name: Decimal(str(level[name])) for name in COUNTED}, case["name"]
        found = {name: getattr(getattr(sheet.totals, name), unit) for name in COUNTED}
        assert found == {name: Decimal(str(expected["totals"][name])) for name in COUNTED}, case["name"]


def as_drawn(polygons: list, unit="m") -> Plan:
    return house(("at", [part(polygon, height=2.5) for polygon in polygons]), unit=unit)


def test_rooms_of_generated_houses(checks):
    # a room's area there is its number of grid cells; turned layouts have corners rounded to 0.1 mm
    for layout in json.loads((checks / "plans/procthor_30.json").read_text(encoding="utf-8")):
        allowed = Fraction("0.002") if layout["turned_deg"] else 0
        plan = as_drawn([room["polygon"] for room in layout["rooms"]])
        for found, room in zip(plan.levels[0].parts, layout["rooms"], strict=True):
            assert abs(ring_area(found.polygon) - Fraction(room["area_m2"])) <= allowed
        total = measure(plan, Rule.AS_DRAWN).totals.above_grade_finished.m2
        off = abs(Fraction(total) - Fraction(layout["total_area_m2"]))
        assert off <= Fraction("0.005") + len(layout["rooms"]) * allowed, layout["name"]
        outline = as_drawn([layout["outline"]]).levels[0].parts[0].polygon
        within = sum(area_within(outline, [one.polygon]) for one in plan.levels[0].parts)
        assert abs(within - Fraction(layout["total_area_m2"])) <= len(layout["rooms"]) * allowed


def test_outlines_of_real_storeys(checks):
    for slab in json.loads((checks / "plans/slabs.json").read_text(encoding="utf-8")):
        polygon = as_drawn([slab["polygon"]]).levels[0].parts[0].polygon
        assert ring_area(polygon) == Fraction(slab["area_m2"])


def test_rooms_of_a_real_house_as_its_authoring_program_states_them(checks):
    spaces = json.loads((checks / "plans/fzk_haus_spaces.json").read_text(encoding="utf-8"))
    for storey in {space["storey"] for space in spaces}:
        mine = [space for space in spaces if space["storey"] == storey]
        for found, space in zip(as_drawn([s["polygon"] for s in mine]).levels[0].parts, mine, strict=True):
            assert float(ring_area(found.polygon)) == pytest.approx(space["stated"]["gross_floor_area_m2"], abs=1e-4)


# shapely 2 as the reference for the exact overlay

GRID = st.integers(0, 12)


@st.composite
def shapes(draw):
    """A triangle or quadrangle on a coarse grid, so that corners and sides often coincide."""
    corners = draw(st.lists(st.tuples(GRID, GRID), min_size=3, max_size=4, unique=True))
    assume(shapely.Polygon(corners).is_valid and shapely.Polygon(corners).area > 0)
    return tuple((Fraction(x), Fraction(y)) for x, y in corners)


@settings(max_examples=200, deadline=None)
@given(shapes(), st.lists(shapes(), max_size=4))
def test_the_area_inside_others_agrees_with_shapely(ring, others):
    union = shapely.union_all([shape_of(other) for other in others])
    assert float(area_within(ring, others)) == pytest.approx(shape_of(ring).intersection(union).area, abs=1e-9)


@settings(max_examples=200, deadline=None)
@given(shapes(), shapes())
def test_shapes_overlap_when_they_share_more_than_slivers(one, other):
    shared = area_within(one, [other])
    if overlapping(one, other):
        assert shared > 0
    else:
        assert 2 * float(shared) <= SLIVER * shape_of(one).intersection(shape_of(other)).length + 1e-9
