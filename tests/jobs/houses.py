"""An invented house and a walk through it that is right in every way, for the tests of the walk rules.

Level 1 is a basement (store), level 2 the ground floor: hall, kitchen, private study, closet, walk-in closet, garage.
"""

from dataclasses import replace
from decimal import Decimal

from jobs.rules.property_shape import Level, Opening, PropertyShape, Space
from jobs.rules.walk import Station
from jobs.rules.walkcheck import Finding, WalkVerdict, check_walk

LEVELS = (
    Level(number=1, name="Basement", grade="below", elevation_m=Decimal("-2.60")),
    Level(number=2, name="Ground floor", grade="at", elevation_m=Decimal("0.00")),
)


def space(code: str, kind: str, level: int = 2, *, name: str = "", private: bool = False) -> Space:
    return Space(code=code, name=name or code.title(), kind=kind, level=level, private=private)


def opening(code: str, one: str, other: str, kind: str = "door") -> Opening:
    return Opening(code=code, between=(one, other), kind=kind)


HOUSE = PropertyShape(
    levels=LEVELS,
    spaces=(
        space("hall", "hall"), space("kitchen", "kitchen"), space("study", "room", private=True),
        space("c3", "closet", name="Closet 3"), space("wic", "walk_in_closet", name="Walk-in"),
        space("garage", "garage"), space("steps", "stair", 1, name="Stairs"), space("store", "room", 1),
    ),
    openings=(
        opening("o1", "hall", "kitchen", "open"), opening("d1", "hall", "study"), opening("d2", "hall", "c3"),
        opening("d3", "kitchen", "wic"), opening("d4", "kitchen", "garage"),
        opening("o2", "hall", "steps", "open"), opening("o3", "steps", "store", "open"),
    ),
    entrance="hall",
)  # fmt: skip


def at(number: int, where: str, captured_for: str = "both", x: str = "", y: str = "", **more: object) -> Station:
    """A station on its space's own level; coordinates as text, both or neither."""
    level = HOUSE.space_by_code[where].level if where in HOUSE.space_by_code else 2
    spot = {"x": Decimal(x), "y": Decimal(y)} if x else {}
    return Station(number=number, space=where, captured_for=captured_for, **{"level": level, **spot, **more})


WALK = (
    at(1, "hall", "both", "0.00", "0.00"),
    at(2, "hall", "plan", "2.00", "0.00", opening="d1"),
    at(3, "hall", "tour", "2.00", "0.00", opening="d1", pair_of=2),
    at(4, "study", "plan", "2.00", "2.00"),
    at(5, "hall", "plan", "4.00", "0.00", opening="d2"),
    at(6, "hall", "tour", "4.05", "0.00", opening="d2", pair_of=5),
    at(7, "c3", "plan", "4.00", "1.00"),
    at(8, "kitchen", "both", "6.00", "0.00"),
    at(9, "wic", "both", "6.00", "2.00"),
    at(10, "wic", "both", "6.00", "4.00"),
    at(11, "kitchen", "both", "6.10", "0.00", ties_to=8),
    at(12, "garage", "both", "10.00", "0.00"),
    at(13, "hall", "plan", "0.00", "0.20", ties_to=1),
    at(14, "steps", "both", "0.00", "1.00"),
    at(15, "steps", "both", "0.00", "3.00"),
    at(16, "store", "both", "0.00", "5.00"),
)


def changed(number: int, **new: object) -> tuple[Station, ...]:
    """WALK with something else on one station."""
    return tuple(replace(station, **new) if station.number == number else station for station in WALK)


def without(*numbers: int) -> tuple[Station, ...]:
    return tuple(station for station in WALK if station.number not in numbers)


def verdict(stations: object = WALK, package: str = "both", shape: PropertyShape = HOUSE) -> WalkVerdict:
    return check_walk(shape, stations, package)


def found(code: str, stations: object = WALK, package: str = "both", shape: PropertyShape = HOUSE) -> list[Finding]:
    return [finding for finding in verdict(stations, package, shape).findings if finding.code == code]


def codes(stations: object = WALK, package: str = "both", shape: PropertyShape = HOUSE) -> list[str]:
    return [finding.code for finding in verdict(stations, package, shape).findings]
