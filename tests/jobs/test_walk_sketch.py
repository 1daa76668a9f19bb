"""The sketch of a walk's levels, and how its loops close."""

import re
from dataclasses import replace
from decimal import Decimal

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from jobs.actions.walks import import_walk
from jobs.rules.walk_sketch import EDGE, WIDTH, closures, sketch_levels
from tests.cast import NOW
from tests.jobs.houses import HOUSE, WALK, at, changed

METRES = st.decimals(-500, 500, places=2)


def test_each_level_with_coordinates_is_drawn_the_lowest_first():
    sketches = sketch_levels(HOUSE, WALK, keep_out=(2, 4))
    assert [(sketch.number, sketch.name, len(sketch.stations)) for sketch in sketches] == [
        (1, "Basement", 3), (2, "Ground floor", 13),
    ]  # fmt: skip
    assert [station.number for station in sketches[1].stations if station.kept_out] == [2, 4]


def test_a_walk_without_coordinates_has_no_sketch():
    assert sketch_levels(HOUSE, [replace(station, x=None, y=None) for station in WALK]) == ()


def test_north_is_up_and_a_metre_is_as_long_across_as_down():
    (sketch,) = sketch_levels(
        HOUSE, [at(1, "hall", x="0", y="0"), at(2, "hall", x="3", y="0"), at(3, "hall", x="0", y="3")]
    )
    first, east, north = [(float(station.x), float(station.y)) for station in sketch.stations]
    metre = float(sketch.metre)
    assert east == pytest.approx((first[0] + 3 * metre, first[1]), abs=0.2)
    assert north == pytest.approx((first[0], first[1] - 3 * metre), abs=0.2)


def test_a_tie_in_is_drawn_on_the_station_it_meets_and_the_miss_beside_it():
    stations = changed(11, x=Decimal("6.40"))
    (_, ground) = sketch_levels(HOUSE, stations)
    spots = {station.number: (station.x, station.y) for station in ground.stations}
    assert spots[11] == spots[8]
    assert [line for line in ground.lines if line.kind == "moved"]


def test_runs_join_stations_in_a_row_on_one_level_only():
    sketches = sketch_levels(HOUSE, WALK)
    assert [sum(line.kind == "run" for line in sketch.lines) for sketch in sketches] == [2, 12]


def test_private_ground_and_names_are_marked():
    (_, ground) = sketch_levels(HOUSE, WALK)
    assert {space.name: space.private for space in ground.spaces}["Study"] is True


@given(st.lists(st.tuples(METRES, METRES), min_size=1, max_size=12))
def test_whatever_the_coordinates_everything_lies_on_the_sheet(spots):
    stations = [at(number, "hall", x=str(x), y=str(y)) for number, (x, y) in enumerate(spots, 1)]
    (sketch,) = sketch_levels(HOUSE, stations)
    for station in sketch.stations:
        assert EDGE <= float(station.x) <= WIDTH - EDGE + 0.1
        assert EDGE <= float(station.y) <= sketch.height - EDGE + 0.6
    for space in sketch.spaces:
        corners = [float(number) for number in re.findall(r"-?\d+\.\d", space.path)]
        assert all(0 <= across <= WIDTH for across in corners[::2])


def test_a_loop_is_told_with_its_miss_its_path_and_its_precision():
    loop = [
        at(1, "hall", x="0", y="0"), at(2, "hall", x="10", y="0"), at(3, "hall", x="10", y="10"),
        at(4, "hall", x="0", y="10"), at(5, "hall", x="0.3", y="0.4", ties_to=1),
    ]  # fmt: skip
    (closure,) = closures(loop)
    assert (closure.station, closure.ties_to) == (5, 1)
    # 3-4-5 triangle: the miss is 0.5 m; the path three sides of 10 m and √(0.3² + 9.6²) m
    assert closure.misses_m == Decimal("0.5")
    assert round(closure.path_m, 4) == Decimal("39.6047")
    assert closure.one_in == 79


def test_a_loop_that_closes_exactly_has_no_precision_to_tell():
    (closure,) = closures(
        [at(1, "hall", x="0", y="0"), at(2, "hall", x="3", y="0"), at(3, "hall", x="0", y="0", ties_to=1)]
    )
    assert (closure.misses_m, closure.one_in) == (0, None)


def test_stations_on_one_spot_make_a_loop_without_length():
    (closure,) = closures([at(1, "hall", x="1", y="1"), at(2, "hall", x="1", y="1", ties_to=1)])
    assert (closure.path_m, closure.one_in) == (0, None)


def test_a_tie_to_a_later_or_unknown_station_is_no_loop():
    assert closures([at(1, "hall", x="0", y="0", ties_to=2), at(2, "hall", x="1", y="0", ties_to=9)]) == ()


@pytest.mark.django_db
@pytest.mark.parametrize("page", ["walk", "shoot"])
def test_the_sketch_and_the_loops_stand_on_the_page(owner_browser, confirmed, by_owner, page):
    walk = (
        "station,level,space,pass,pair_of,opening,ties_to,x,y\n"
        "1,1,H,both,,,,0,0\n2,1,H,both,,,,3,0\n3,1,H,both,,,1,0.3,0.4\n"
    )
    import_walk(shoot=confirmed, content=walk.encode(), file_name="walk.csv", by=by_owner, now=NOW)
    text = owner_browser.get(reverse(f"jobs:{page}", args=[confirmed.number])).text
    assert text.count('class="sketch-station both"') == 3
    assert "1 in 11" in text  # (3 + √(2.7² + 0.4²)) / 0.5 = 11.46
