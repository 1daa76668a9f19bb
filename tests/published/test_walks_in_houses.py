"""Walks planned in published houses: logged as planned, the walk check finds nothing."""

import json
from decimal import Decimal
from itertools import combinations, pairwise
from math import ceil

import networkx as nx
import pytest
from shapely import Polygon

from jobs.rules.property_shape import Level, Opening, PropertyShape, Space
from jobs.rules.walkcheck import check_walk
from jobs.rules.walkplan import Spacing, plan_walk

KINDS = {"Kitchen": "kitchen", "LivingRoom": "room", "Bedroom": "room", "Bathroom": "bathroom"}
PACKAGES = ("tour", "plan", "both")
WALL_M = 0.35


@pytest.fixture(scope="module")
def layouts(checks) -> list[dict]:
    """ProcTHOR layouts (Deitke et al., NeurIPS 2022): rooms, their areas by counted cells, and which of them touch."""
    found = json.loads((checks / "plans/procthor_30.json").read_text(encoding="utf-8"))
    assert len(found) == 30
    return found


def storey(layout: dict, level: int) -> tuple[list[Space], list[Opening]]:
    """The rooms with a door wherever two touch; codes carry the level."""
    spaces = [
        Space(code=f"{level} {room['id']}", name=room["id"], kind=KINDS[room["kind"]], level=level, private=False)
        for room in layout["rooms"]
    ]
    openings = [
        Opening(code=f"{level} d{index}", between=(f"{level} {one}", f"{level} {other}"), kind="door")
        for index, (one, other, _) in enumerate(layout["touching"])
    ]
    return spaces, openings


def stacked(*layouts: dict) -> PropertyShape:
    """One layout on another, with a stair from the first room of each to the first of the next."""
    spaces: list[Space] = []
    openings: list[Opening] = []
    for level, layout in enumerate(layouts, start=1):
        rooms, doors = storey(layout, level)
        spaces += rooms
        openings += doors
    for level, (lower, upper) in enumerate(pairwise(layouts), start=1):
        spaces.append(Space(code=f"{level} stair", name="Stairs", kind="stair", level=level, private=False))
        ends = f"{level} {lower['rooms'][0]['id']}", f"{level + 1} {upper['rooms'][0]['id']}"
        openings += [Opening(code=f"{level} {end}", between=(f"{level} stair", end), kind="open") for end in ends]
    levels = (Level(number=n, name="", grade="at", elevation_m=Decimal(3 * n)) for n in range(1, len(layouts) + 1))
    return PropertyShape(levels=tuple(levels), spaces=tuple(spaces), openings=tuple(openings), entrance=spaces[0].code)


def areas_of(layout: dict, level: int = 1) -> dict[str, Decimal]:
    return {f"{level} {room['id']}": Decimal(room["area_m2"]) for room in layout["rooms"]}


@pytest.mark.parametrize("package", PACKAGES)
def test_walks_in_single_storeys(layouts, package):
    for layout in layouts:
        house = stacked(layout)
        walk = [planned.station for planned in plan_walk(house, package, areas=areas_of(layout))]
        assert check_walk(house, walk, package).findings == (), layout["name"]


@pytest.mark.parametrize("package", PACKAGES)
def test_walks_in_stacked_storeys(layouts, package):
    for lower, middle, upper in zip(layouts, layouts[1:], layouts[2:], strict=False):
        house = stacked(lower, middle, upper)
        walk = [planned.station for planned in plan_walk(house, package)]
        assert check_walk(house, walk, package).findings == (), (lower["name"], middle["name"], upper["name"])


def test_private_bedrooms_are_left_out_of_the_tour(layouts):
    judged = 0
    for layout in layouts:
        house = stacked(layout)
        hidden = {f"1 {room['id']}" for room in layout["rooms"] if room["kind"] == "Bedroom"}
        spaces = (Space(s.code, s.name, s.kind, s.level, s.code in hidden) for s in house.spaces)
        house = PropertyShape(house.levels, tuple(spaces), house.openings, house.entrance)
        walk = [planned.station for planned in plan_walk(house, "both")]
        verdict = check_walk(house, walk, "both")
        assert {walk[number - 1].space for number in verdict.keep_out} >= hidden
        graph = nx.Graph([o.between for o in house.openings])
        shown = graph.subgraph(set(graph) - hidden)
        expected = set() if nx.is_connected(shown) else {"tour-in-pieces"}
        assert {finding.code for finding in verdict.findings} == expected, layout["name"]
        judged += not expected
    assert judged > 15


@pytest.mark.parametrize("side", ["1.5", "2.0", "2.5"])
def test_station_counts_follow_the_published_areas(layouts, side):
    # stations 1.5 to 2.5 m apart: common practice, no source
    for layout in layouts:
        walk = [p.station for p in plan_walk(stacked(layout), "plan", Spacing(metres=Decimal(side)), areas_of(layout))]
        for room in layout["rooms"]:
            stands = [s for s in walk if s.space == f"1 {room['id']}" and s.ties_to is None]
            assert len(stands) == ceil(float(room["area_m2"]) / float(side) ** 2 - 1e-9)


@pytest.fixture(scope="module")
def fzk_haus(checks) -> PropertyShape:
    """The FZK-Haus (KIT, IFC4, 2016): rooms a wall apart joined by doors; a stair from the hall to the loft."""
    rooms = json.loads((checks / "plans/fzk_haus_spaces.json").read_text(encoding="utf-8"))
    heights = sorted({room["storey_elevation_m"] for room in rooms})
    kinds = {"hall": "hall", "kitchen": "kitchen", "bathroom": "bathroom"}
    spaces = [
        Space(r["space"], r["space"], kinds.get(r["kind"], "room"), heights.index(r["storey_elevation_m"]) + 1, False)
        for r in rooms
    ]
    outlines = {room["space"]: Polygon(room["polygon"]) for room in rooms}
    openings = [
        Opening(f"{one.code}-{other.code}", (one.code, other.code), "door")
        for one, other in combinations(spaces, 2)
        if one.level == other.level and outlines[one.code].distance(outlines[other.code]) < WALL_M
    ]
    stair = Space("Treppe", "Treppe", "stair", 1, False)
    openings += [Opening("foot", ("Flur", "Treppe"), "open"), Opening("head", ("Treppe", "Galerie"), "open")]
    levels = (Level(n, "", "at", Decimal(str(height))) for n, height in enumerate(heights, start=1))
    return PropertyShape(tuple(levels), (*spaces, stair), tuple(openings), "Flur")


@pytest.mark.parametrize("package", PACKAGES)
def test_a_walk_in_a_real_house(fzk_haus, package):
    assert len(fzk_haus.spaces) == 8
    walk = [planned.station for planned in plan_walk(fzk_haus, package)]
    assert check_walk(fzk_haus, walk, package).findings == ()
    assert walk[0].space == "Flur"
    first_upstairs = next(place for place, station in enumerate(walk) if station.level == 2)
    assert (walk[first_upstairs - 1].space, walk[first_upstairs].space) == ("Treppe", "Galerie")


def test_leaving_any_station_out_of_a_real_house_is_found_unless_the_space_has_others(fzk_haus):
    walk = [planned.station for planned in plan_walk(fzk_haus, "both")]
    for gone in walk:
        rest = [station for station in walk if station.number != gone.number]
        findings = {finding.code for finding in check_walk(fzk_haus, rest, "both").findings}
        assert ("station-gap" in findings) == (gone.number < len(walk))
        captured = {station.space for station in rest if station.captured_for == "both"}
        assert ("space-not-captured" in findings) == (gone.space not in captured)
