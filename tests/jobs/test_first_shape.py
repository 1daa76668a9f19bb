"""A first shape from bedrooms, baths and levels, and what to look at again in a shape."""

import json
from dataclasses import asdict, replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.rules.first_shape import FirstFacts, first_shape, free_code
from jobs.rules.property_shape import PropertyShape, parse_property
from jobs.rules.shape_notes import shape_notes
from jobs.rules.walkcheck import check_walk
from jobs.rules.walkplan import plan_walk
from tests.jobs.houses import HOUSE, opening, space

FACTS = st.builds(
    FirstFacts, levels=st.integers(1, 4), bedrooms=st.integers(0, 7), bathrooms=st.integers(0, 5),
    walk_in_closets=st.integers(0, 3), basement=st.booleans(), garage=st.booleans(),
)  # fmt: skip


def written(shape: PropertyShape) -> str:
    return json.dumps(asdict(shape), default=str)


def named(shape: PropertyShape, kind: str) -> list[str]:
    return [found.name for found in shape.spaces if found.kind == kind]


@given(FACTS)
def test_every_first_shape_is_a_property_with_nothing_to_look_at_again(facts):
    shape = first_shape(facts)
    assert parse_property(written(shape), "shape") == shape
    assert shape_notes(shape) == ()


@given(FACTS)
def test_levels_are_numbered_from_the_lowest_up(facts):
    shape = first_shape(facts)
    heights = [level.elevation_m for level in shape.levels]
    assert [level.number for level in shape.levels] == list(range(1, facts.levels + facts.basement + 1))
    assert heights == sorted(heights)
    assert shape.levels[0].name == ("Basement" if facts.basement else "Ground floor")


@given(FACTS)
def test_it_has_the_rooms_that_were_told(facts):
    shape = first_shape(facts)
    assert len([name for name in named(shape, "room") if name.startswith("Bedroom")]) == facts.bedrooms
    assert len(named(shape, "bathroom")) == facts.bathrooms
    assert len(named(shape, "walk_in_closet")) == min(facts.walk_in_closets, facts.bedrooms)
    assert len(named(shape, "garage")) == facts.garage
    assert len(named(shape, "stair")) == facts.levels + facts.basement - 1


@given(FACTS, st.sampled_from(["tour", "plan", "both"]))
def test_a_walk_planned_in_it_passes_the_walk_check(facts, package):
    shape = first_shape(facts)
    walked = [planned.station for planned in plan_walk(shape, package)]
    assert check_walk(shape, walked, package).findings == ()


def test_bedrooms_lie_upstairs_where_there_is_an_upstairs():
    shape = first_shape(FirstFacts(levels=3, bedrooms=4))
    levels = {space.name: space.level for space in shape.spaces}
    assert [levels[f"Bedroom {number}"] for number in (1, 2, 3, 4)] == [2, 2, 3, 3]


@pytest.mark.parametrize("wrong", [{"levels": 0}, {"bedrooms": -1}, {"bathrooms": -2}, {"walk_in_closets": -1}])
def test_figures_that_are_no_house_are_refused(wrong):
    with pytest.raises(ValueError, match="at least one level"):
        first_shape(FirstFacts(**wrong))


def test_a_free_code_fills_the_first_gap():
    assert free_code("K", {"K1", "K3"}) == "K2"


def test_two_levels_at_one_elevation_are_named():
    level = replace(HOUSE.levels[0], elevation_m=Decimal("0.00"))
    assert "at one elevation" in shape_notes(replace(HOUSE, levels=(level, HOUSE.levels[1])))[0]


def test_a_level_without_a_stair_is_named():
    without_stair = replace(
        HOUSE,
        spaces=tuple(space for space in HOUSE.spaces if space.kind != "stair"),
        openings=tuple(opening for opening in HOUSE.openings if "steps" not in opening.between),
    )
    notes = shape_notes(without_stair)
    assert any("No stair leads from Basement to Ground floor" in note for note in notes)
    assert any("Store cannot be reached" in note for note in notes)


def test_a_level_without_spaces_is_named():
    attic = replace(HOUSE.levels[1], number=3, name="Attic", elevation_m=Decimal("5.60"))
    assert any("Attic has no space yet" in note for note in shape_notes(replace(HOUSE, levels=(*HOUSE.levels, attic))))


def test_two_spaces_of_one_name_are_named():
    twin = space("kitchen2", "kitchen", name="kitchen")
    shape = replace(HOUSE, spaces=(*HOUSE.spaces, twin), openings=(*HOUSE.openings, opening("d9", "hall", "kitchen2")))
    assert shape_notes(shape) == ("kitchen and kitchen2 are both called kitchen: the crew cannot tell them apart.",)


def test_a_shape_without_entrance_asks_for_it():
    assert shape_notes(replace(HOUSE, entrance="")) == ("Say which space one enters first.",)
