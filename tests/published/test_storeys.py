"""The order of levels against published rules and a published house."""

import json
from decimal import Decimal
from itertools import permutations

import pytest

from jobs.rules.property_shape import Level, PropertyShape
from jobs.rules.walkcheck import check_walk


def numbered(*numbers_and_heights: tuple[int, str]) -> PropertyShape:
    levels = (
        Level(number=number, name="", grade="at", elevation_m=Decimal(height)) for number, height in numbers_and_heights
    )
    return PropertyShape(levels=tuple(levels), spaces=(), openings=(), entrance="")


def is_in_order(shape: PropertyShape) -> bool:
    return "level-order" not in {finding.code for finding in check_walk(shape, (), "both").findings}


@pytest.fixture(scope="module")
def storeys(checks) -> dict[str, str]:
    """Name and elevation of each storey of the FZK-Haus, as its authoring software states them (IFC4, KIT 2016)."""
    spaces = json.loads((checks / "plans/fzk_haus_spaces.json").read_text(encoding="utf-8"))
    return {space["storey"]: str(space["storey_elevation_m"]) for space in spaces}


def test_the_storeys_of_a_published_house(storeys):
    # FZK-Haus: Erdgeschoss at 0.0 m, Dachgeschoss at 2.7 m
    assert is_in_order(numbered((1, storeys["Erdgeschoss"]), (2, storeys["Dachgeschoss"])))
    assert not is_in_order(numbered((2, storeys["Erdgeschoss"]), (1, storeys["Dachgeschoss"])))


def test_with_a_basement_the_ground_floor_is_level_two():
    # common practice, no source: with a basement, number it 1 and the ground floor 2
    assert is_in_order(numbered((2, "0.00"), (1, "-2.70")))
    assert not is_in_order(numbered((1, "0.00"), (0, "-2.70")))  # UK habit: the ground floor is 0, one below it -1
    assert not is_in_order(numbered((0, "0.00"), (1, "2.70")))


@pytest.mark.parametrize("heights", [("-2.5", "0", "2.8"), ("-0.001", "0", "0.001"), ("0", "3", "3.6")])
def test_only_the_order_of_elevation_is_in_order(heights):
    # ISO 16739 (IFC 4.3), IfcBuildingStorey: storeys are ordered by elevation, ascending; from memory
    right = [
        numbers for numbers in permutations((1, 2, 3)) if is_in_order(numbered(*zip(numbers, heights, strict=True)))
    ]
    assert right == [(1, 2, 3)]
