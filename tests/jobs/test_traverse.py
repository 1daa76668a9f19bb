"""Traverses and the adjustment of a walk: what holds for all of them."""

from dataclasses import replace
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from jobs.rules.traverse import (
    Course,
    Offset,
    adjusted,
    adjusted_spots,
    closure,
    corrections,
    linear_misclosure,
    relative_precision,
    total_length,
)
from jobs.rules.walk import Spot, Station
from tests.jobs.houses import WALK, at, verdict

NOTHING = Decimal("1e-15")
metres = st.decimals(-50, 50, places=3)
courses_strategy = st.lists(
    st.builds(Course, metres, metres, st.decimals("0.001", 50, places=3)), min_size=1, max_size=12
)


def test_a_square_that_misses_by_a_step():
    sides = [("10", "0"), ("0", "10"), ("-9.6", "0"), ("0", "-9.7")]
    square = [Course(Decimal(north), Decimal(east), Decimal(10)) for north, east in sides]
    assert closure(square) == Offset(Decimal("0.4"), Decimal("0.3"))
    assert linear_misclosure(square) == Decimal("0.5")
    assert relative_precision(square) == 80
    assert adjusted(square)[0] == Offset(Decimal("9.9"), Decimal("-0.075"))


def test_a_traverse_that_closes_has_no_relative_precision():
    there_and_back = [Course(Decimal(3), Decimal(4), Decimal(5)), Course(Decimal(-3), Decimal(-4), Decimal(5))]
    assert relative_precision(there_and_back) is None
    assert adjusted(there_and_back) == tuple(Offset(c.latitude, c.departure) for c in there_and_back)


def test_courses_without_length_cannot_be_adjusted():
    with pytest.raises(ValueError, match="with a length"):
        corrections([Course(Decimal(1), Decimal(0), Decimal(0))])


@given(courses_strategy, metres, metres)
def test_adjusted_courses_end_where_they_should(courses, latitude, departure):
    ends_at = Offset(latitude, departure)
    fixed = [Course(*offset, Decimal(1)) for offset in adjusted(courses, ends_at)]
    assert linear_misclosure(fixed, ends_at) < NOTHING


@given(courses_strategy)
def test_corrections_go_with_length_and_against_the_miss(courses):
    miss, total = closure(courses), total_length(courses)
    for course, added in zip(courses, corrections(courses), strict=True):
        assert abs(added.latitude * total + miss.latitude * course.length) < NOTHING
        assert abs(added.departure * total + miss.departure * course.length) < NOTHING


def test_a_loop_is_closed_and_what_follows_moves_along():
    walk = (
        at(1, "hall", x="0", y="0"), at(2, "hall", x="4", y="0"), at(3, "hall", x="1", y="0", ties_to=1),
        at(4, "hall", x="3", y="5"),
    )  # fmt: skip
    # 1 m too far east after 4 m out and 3 m back: 4/7 of it is taken off on the way out
    found = adjusted_spots(walk)
    assert found[2] == (4 - Decimal(4) / 7, 0)
    assert (found[1], found[3], found[4]) == ((0, 0), (0, 0), (2, 5))


def test_what_a_tie_in_has_fixed_is_held():
    first = (at(1, "hall", x="0", y="0"), at(2, "hall", x="4", y="0"), at(3, "hall", x="1", y="0", ties_to=1))
    second = (at(4, "hall", x="1", y="3"), at(5, "hall", x="4", y="0", ties_to=2))
    before, after = adjusted_spots(first), adjusted_spots(first + second)
    assert {number: after[number] for number in before} == dict(before)
    assert after[5] == after[2]


def test_stations_without_coordinates_are_left_out():
    walk = (at(1, "hall", x="0", y="0"), at(2, "hall"), at(3, "hall", x="1", y="0", ties_to=2))
    assert adjusted_spots(walk) == {1: Spot(Decimal(0), Decimal(0)), 3: Spot(Decimal(1), Decimal(0))}
    assert adjusted_spots(()) == {}


@st.composite
def walks(draw) -> list[Station]:
    count = draw(st.integers(1, 12))
    ties = st.none() | st.integers(1, count)
    return [
        replace(at(number, "hall"), x=draw(metres), y=draw(metres), ties_to=draw(ties))
        for number in range(1, count + 1)
    ]


@given(walks())
def test_every_tie_in_meets_its_station(walk):
    found = adjusted_spots(walk)
    assert found[1] == walk[0].spot
    for station in walk:
        if station.ties_to is not None and station.ties_to < station.number:
            assert found[station.number] == found[station.ties_to]


@given(walks())
def test_a_walk_without_tie_ins_stays_as_it_is(walk):
    free = [replace(station, ties_to=None) for station in walk]
    assert adjusted_spots(free) == {station.number: station.spot for station in free}


@given(walks(), metres, metres)
def test_the_frame_does_not_matter(walk, east, north):
    here = adjusted_spots(walk)
    there = adjusted_spots([replace(station, x=station.x + east, y=station.y + north) for station in walk])
    for number, spot in here.items():
        assert abs(there[number].x - spot.x - east) < NOTHING
        assert abs(there[number].y - spot.y - north) < NOTHING


@given(walks())
def test_an_adjusted_walk_has_no_misclosure_and_is_adjusted_no_more(walk):
    fixed = [replace(s, x=adjusted_spots(walk)[s.number].x, y=adjusted_spots(walk)[s.number].y) for s in walk]
    assert all(miss.distance_m == 0 for miss in verdict(fixed).misclosures)
    again = adjusted_spots(fixed)
    assert all(abs(again[s.number].x - s.x) < NOTHING and abs(again[s.number].y - s.y) < NOTHING for s in fixed)


@given(walks())
def test_the_walk_check_measures_what_the_loop_misses(walk):
    by_number = {station.number: station for station in walk}
    assume(any(station.ties_to for station in walk))
    for miss in verdict(walk).misclosures:
        loop = [by_number[number] for number in range(miss.ties_to, miss.station + 1)]
        courses = [Course(there.y - here.y, there.x - here.x, Decimal(1)) for here, there in pairwise(loop)]
        assert linear_misclosure(courses) == miss.distance_m


def test_the_walk_of_the_house_is_adjusted():
    found = adjusted_spots(WALK)
    assert found[11] == found[8]
    assert found[13] == found[1]
