"""Pieces of a tour in published layouts against networkx's components and shapely's distances."""

import json
from decimal import Decimal

import networkx as nx
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon

from jobs.rules.property_shape import Level, Opening, PropertyShape, Space
from jobs.rules.walk import Station
from jobs.rules.walkcheck import WalkLimits, check_walk

KINDS = {"Kitchen": "kitchen", "LivingRoom": "room", "Bedroom": "room", "Bathroom": "bathroom"}
GROUND = Level(number=1, name="", grade="at", elevation_m=Decimal(0))


@pytest.fixture(scope="module")
def layouts(checks) -> list[dict]:
    """ProcTHOR layouts (Deitke et al., NeurIPS 2022): rooms as polygons, and which of them touch."""
    found = json.loads((checks / "plans/procthor_30.json").read_text(encoding="utf-8"))
    assert len(found) == 30
    return found


def shape_of(layout: dict, private: set[str]) -> PropertyShape:
    """Every pair of touching rooms with a door between them."""
    return PropertyShape(
        levels=(GROUND,),
        spaces=tuple(
            Space(code=room["id"], name="", kind=KINDS[room["kind"]], level=1, private=room["id"] in private)
            for room in layout["rooms"]
        ),
        openings=tuple(
            Opening(code=f"d{index}", between=(one, other), kind="door")
            for index, (one, other, _) in enumerate(layout["touching"])
        ),
        entrance=layout["rooms"][0]["id"],
    )


def spots_of(layout: dict) -> dict[str, tuple[Decimal, Decimal]]:
    """A point inside each room, to the centimetre."""
    inside = {room["id"]: Polygon(room["polygon"]).representative_point() for room in layout["rooms"]}
    return {name: (Decimal(f"{point.x:.2f}"), Decimal(f"{point.y:.2f}")) for name, point in inside.items()}


def walk_with(shape: PropertyShape, spots: dict, closed: set[str]) -> list[Station]:
    """A station in every room, and a pair in it for each door that is shown closed."""
    walk: list[Station] = []

    def log(space: str, captured_for: str, **more) -> None:
        x, y = spots[space]
        walk.append(Station(len(walk) + 1, 1, space, captured_for, x=x, y=y, **more))

    for space in shape.spaces:
        log(space.code, "both")
    for opening in shape.openings:
        if opening.code in closed:
            log(opening.between[0], "plan", opening=opening.code)
            log(opening.between[0], "tour", opening=opening.code, pair_of=len(walk))
    return walk


def pieces(shape: PropertyShape, spots: dict, closed: set[str], reach: int) -> int:
    limits = WalkLimits(tour_link_m=Decimal(reach))
    return check_walk(shape, walk_with(shape, spots, closed), "both", limits).tour_pieces


def components(shape: PropertyShape, spots: dict, closed: set[str], reach: int) -> int:
    """The shown rooms by networkx: joined by a door that no shown room has closed, within reach."""
    graph = nx.Graph()
    shown = {space.code for space in shape.spaces if not space.private}
    graph.add_nodes_from(shown)
    for opening in shape.openings:
        one, other = opening.between
        near = Point(*spots[one]).distance(Point(*spots[other])) <= reach
        is_closed = opening.code in closed and one in shown
        if near and not is_closed and {one, other} <= shown:
            graph.add_edge(one, other)
    return nx.number_connected_components(graph)


@settings(max_examples=120, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(data=st.data())
def test_pieces_are_the_components_of_the_open_doors(layouts, data):
    layout = data.draw(st.sampled_from(layouts))
    rooms = [room["id"] for room in layout["rooms"]]
    private = data.draw(st.sets(st.sampled_from(rooms), max_size=2))
    shape, spots = shape_of(layout, private), spots_of(layout)
    closed = data.draw(st.sets(st.sampled_from([opening.code for opening in shape.openings])))
    reach = data.draw(st.integers(2, 9))
    assert pieces(shape, spots, closed, reach) == components(shape, spots, closed, reach)


@pytest.mark.parametrize(("reach", "cuts_some"), [(8, False), (4, True)])
def test_layouts_with_every_door_open_are_cut_by_distance_alone(layouts, reach, cuts_some):
    found = []
    for layout in layouts:
        shape, spots = shape_of(layout, set()), spots_of(layout)
        found.append(pieces(shape, spots, set(), reach))
        assert found[-1] == components(shape, spots, set(), reach)
    assert found.count(1) > 0
    assert (found.count(1) < len(layouts)) == cuts_some
