"""The walk check, finding by finding, each at its boundary."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.rules.property_shape import Level, PropertyShape
from jobs.rules.walkcheck import CODES, WalkLimits, check_walk
from tests.jobs.houses import HOUSE, LEVELS, WALK, at, changed, codes, found, opening, space, verdict, without


def places(findings) -> list[tuple]:
    return [(finding.severity, finding.level, finding.space, finding.station) for finding in findings]


def house(**parts) -> PropertyShape:
    return replace(HOUSE, **parts)


@pytest.mark.parametrize("package", ["both", "plan", "tour"])
def test_a_walk_that_is_right_has_no_finding(package):
    assert codes(package=package) == []


def test_the_verdict_counts_hides_and_measures():
    answer = verdict()
    assert (answer.stations, answer.keep_out, answer.tour_pieces) == (16, (2, 4, 5, 7, 13), 1)
    misclosures = [(miss.station, miss.ties_to, miss.distance_m) for miss in answer.misclosures]
    assert misclosures == [(11, 8, Decimal("0.10")), (13, 1, Decimal("0.20"))]


def test_without_a_tour_nothing_is_kept_out_and_there_are_no_pieces():
    answer = verdict(package="plan")
    assert (answer.keep_out, answer.tour_pieces) == ((), 0)


def test_an_empty_walk_lacks_every_space():
    answer = verdict(())
    assert (answer.stations, answer.keep_out, answer.tour_pieces) == (0, (), 0)
    missing = [finding.space for finding in answer.findings if finding.code == "space-not-captured"]
    assert sorted(missing) == sorted(HOUSE.space_by_code)


def test_an_empty_property_knows_no_space_and_no_level():
    nothing = PropertyShape(levels=(), spaces=(), openings=(), entrance="")
    assert codes((at(1, "hall"),), shape=nothing) == ["unknown-space", "unknown-level"]
    assert codes((), shape=nothing) == []


# level-order


def at_levels(*numbers_and_heights: tuple[int, str]) -> PropertyShape:
    levels = [
        Level(number=number, name=f"L{number}", grade="at", elevation_m=Decimal(height))
        for number, height in numbers_and_heights
    ]
    return PropertyShape(levels=tuple(levels), spaces=(), openings=(), entrance="")


@pytest.mark.parametrize(
    ("levels", "first_wrong"),
    [
        ([(1, "0"), (2, "2.7")], None),
        ([(2, "2.7"), (1, "0")], None),
        ([(1, "-2.5"), (2, "0"), (3, "2.5")], None),
        ([(2, "0"), (1, "2.7")], 2),
        ([(0, "0"), (1, "2.7")], 0),
        ([(-1, "-2.7"), (1, "0")], -1),
        ([(2, "0"), (3, "2.7")], 2),
        ([(1, "0"), (3, "2.7")], 3),
        ([(1, "0"), (1, "2.7")], 1),
        ([(1, "0"), (2, "0")], 2),
    ],
)
def test_level_numbers_rise_with_elevation_from_one(levels, first_wrong):
    wrong = [] if first_wrong is None else [("must", first_wrong, None, None)]
    assert places(found("level-order", (), shape=at_levels(*levels))) == wrong


def test_level_order_says_the_order_to_use():
    [finding] = found("level-order", (), shape=at_levels((2, "0"), (1, "2.7")))
    assert finding.text == "Number the levels from the lowest up, by elevation: 1 L2, 2 L1."


# unknown-space, unknown-level


def test_a_space_that_the_property_lacks():
    assert places(found("unknown-space", (*WALK, at(17, "loft")))) == [("must", 2, "loft", 17)]


def test_a_level_that_the_property_lacks():
    assert places(found("unknown-level", changed(8, level=9))) == [("must", 9, "kitchen", 8)]


def test_a_level_on_which_the_space_is_not():
    [finding] = found("unknown-level", changed(8, level=1))
    assert finding.text.startswith("Station 8 is logged on level 1, but Kitchen is on level 2 (Ground floor)")


def test_a_stair_is_on_its_own_level_and_the_one_above():
    assert codes(changed(14, level=2)) == []
    upstairs = replace(HOUSE, levels=(*LEVELS, Level(number=3, name="", grade="above", elevation_m=Decimal("2.7"))))
    assert places(found("unknown-level", changed(14, level=3), shape=upstairs)) == [("must", 3, "steps", 14)]


# station-repeat, station-gap


def test_a_number_used_again_is_found_once():
    thrice = (*WALK, at(8, "kitchen"), at(8, "garage"))
    [finding] = found("station-repeat", thrice)
    assert (finding.severity, finding.station) == ("must", 8)
    assert finding.text.startswith("Station 8 is logged 3 times")
    assert verdict(thrice).stations == 18


@pytest.mark.parametrize(
    ("gone", "at_station", "text"),
    [
        ((10,), 11, "Station 10 is not in the log"),
        ((8, 9, 10), 11, "Stations 8 to 10 are not in the log"),
        ((1,), 2, "Station 1 is not in the log"),
    ],
)
def test_a_skipped_number_is_found_at_the_station_after(gone, at_station, text):
    [finding] = found("station-gap", without(*gone))
    assert (finding.severity, finding.station) == ("should", at_station)
    assert finding.text.startswith(text)


def test_a_walk_that_stops_early_has_no_gap():
    assert found("station-gap", without(16)) == []


def test_the_order_of_the_rows_does_not_matter():
    assert verdict(tuple(reversed(WALK))) == verdict()


# space-not-captured


@pytest.mark.parametrize(
    ("package", "gone", "space_code"),
    [("plan", 7, "c3"), ("both", 7, "c3"), ("plan", 4, "study"), ("both", 12, "garage"), ("tour", 12, "garage")],
)
def test_a_space_without_the_station_that_the_package_needs(package, gone, space_code):
    [finding] = found("space-not-captured", without(gone), package)
    assert (finding.severity, finding.space, finding.station) == ("must", space_code, None)


@pytest.mark.parametrize("gone", [4, 7])
def test_a_tour_needs_neither_private_spaces_nor_closets(gone):
    assert found("space-not-captured", without(gone), "tour") == []


def test_a_closet_is_opened_and_a_room_captured():
    assert found("space-not-captured", without(7))[0].text == "Closet 3 has no plan station: go back and open it."
    assert found("space-not-captured", changed(12, captured_for="plan"))[0].text == (
        "Garage has no tour station: go back and capture it as a visitor should see it."
    )


def test_a_name_over_two_lines_is_told_on_one():
    long = house(spaces=(*HOUSE.spaces, space("den", "room", name="Den\n by the garden")))
    assert found("space-not-captured", shape=long)[0].text.startswith("Den by the garden has no plan station")


def test_a_space_that_lacks_both_is_found_once():
    [finding] = found("space-not-captured", without(12))
    assert finding.text == "Garage has no plan station and no tour station: go back and capture it."


@pytest.mark.parametrize(("package", "count"), [("plan", 0), ("tour", 1), ("both", 1)])
def test_the_exterior_is_for_the_tour_alone(package, count):
    yard = house(spaces=(*HOUSE.spaces, space("yard", "exterior")))
    assert len(found("space-not-captured", WALK, package, yard)) == count


# closet-thin


@pytest.mark.parametrize(("package", "count"), [("plan", 1), ("both", 1), ("tour", 0)])
def test_a_walk_in_closet_takes_two_plan_stations(package, count):
    assert len(found("closet-thin", changed(10, captured_for="tour"), package)) == count
    assert found("closet-thin", changed(10, captured_for="plan"), package) == []


def test_a_walk_in_closet_without_a_station_is_thin_too():
    assert places(found("closet-thin", without(9, 10))) == [("should", 2, "wic", None)]


# pair-missing


def test_an_opening_opened_for_the_plan_is_captured_closed():
    [finding] = found("pair-missing", without(3))
    assert (finding.severity, finding.station) == ("must", 2)
    assert finding.text == (
        "Station 2 has the door between Hall and Study open for the plan:"
        " capture the same spot once more for the tour, with it closed."
    )


@pytest.mark.parametrize("package", ["plan", "tour"])
def test_pairs_are_for_the_package_with_both(package):
    assert found("pair-missing", without(3), package) == []


@pytest.mark.parametrize(
    ("second", "missing"),
    [
        ({"captured_for": "both"}, []),
        ({"opening": None}, []),
        ({"captured_for": "plan"}, [2]),
        ({"opening": "d2"}, [2]),
        ({"pair_of": 5}, [2]),
        ({"pair_of": 99}, [2, 3]),
        ({"pair_of": 3}, [2, 3]),
    ],
)
def test_what_counts_as_the_closed_half(second, missing):
    away = {"x": None, "y": None}
    assert [f.station for f in found("pair-missing", changed(3, **{**away, **second}))] == missing


def test_a_pair_may_be_named_from_the_first_station():
    turned = [replace(s, pair_of={2: 3, 3: None}.get(s.number, s.pair_of), x=None, y=None) for s in WALK]
    assert found("pair-missing", turned) == []
    assert verdict(turned).keep_out == (2, 4, 5, 7, 13)


def test_a_pair_may_be_named_by_its_spot():
    assert found("pair-missing", changed(3, pair_of=None)) == []
    assert [f.station for f in found("pair-missing", changed(3, pair_of=None, x=Decimal("2.16")))] == [2]


def test_a_pair_by_its_spot_is_on_one_level():
    assert [f.station for f in found("pair-missing", changed(3, pair_of=None, level=1))] == [2]


def test_a_station_for_both_cannot_be_the_open_half_alone():
    opened = changed(8, opening="d4")
    assert [f.station for f in found("pair-missing", opened)] == [8]


def test_the_open_half_is_kept_out_even_when_logged_for_both():
    answer = verdict(changed(2, captured_for="both"))
    assert 2 in answer.keep_out
    assert "pair-missing" not in {finding.code for finding in answer.findings}


# pair-apart


@pytest.mark.parametrize(("x", "count"), [("2.15", 0), ("1.85", 0), ("2.1501", 1), ("2.00", 0)])
def test_more_than_fifteen_centimetres_is_apart(x, count):
    assert len(found("pair-apart", changed(3, x=Decimal(x)))) == count


def test_a_pair_without_coordinates_is_not_apart():
    assert found("pair-apart", changed(3, x=None, y=None)) == []


def test_a_pair_on_two_levels_is_apart():
    assert places(found("pair-apart", changed(3, level=1))) == [("should", 1, "hall", 3)]


# tie-in-off


@pytest.mark.parametrize(
    ("x", "severity"),
    [("6.30", None), ("5.70", None), ("6.301", "should"), ("7.00", "should"), ("7.001", "must"), ("90.00", "must")],
)
def test_misclosure_over_thirty_centimetres_and_over_a_metre(x, severity):
    severities = [finding.severity for finding in found("tie-in-off", changed(11, x=Decimal(x)))]
    assert severities == ([severity] if severity else [])


@pytest.mark.parametrize(
    ("ties_to", "why"),
    [(11, "ties in to itself"), (12, "station 12, which comes later"), (99, "station 99, which is not in the log")],
)
def test_a_tie_in_names_an_earlier_station(ties_to, why):
    walk = changed(11, ties_to=ties_to)
    [finding] = found("tie-in-off", walk)
    assert finding.severity == "should"
    assert why in finding.text
    assert [miss.station for miss in verdict(walk).misclosures] == [13]


def test_a_tie_in_without_coordinates_has_no_misclosure():
    answer = verdict(changed(11, x=None, y=None))
    assert [miss.station for miss in answer.misclosures] == [13]
    assert answer.findings == ()


# jump


@pytest.mark.parametrize(("x", "count"), [("12.00", 0), ("12.01", 1)])
def test_more_than_six_metres_is_a_jump(x, count):
    walk = [at(1, "hall", "plan", "6.00", "0"), at(2, "hall", "plan", x, "0")]
    assert len(found("jump", walk)) == count
    assert found("jump", [walk[0], replace(walk[1], ties_to=1)]) == []
    assert found("jump", [walk[0], replace(walk[1], x=None, y=None)]) == []


# stair-chain


def test_no_station_on_the_stairs():
    [finding] = found("stair-chain", without(14, 15))
    assert (finding.severity, finding.level, finding.space, finding.station) == ("must", 1, "steps", 16)
    assert finding.text.startswith("No station stands in Stairs, between level 1 (Basement) and level 2")


def test_no_stair_in_the_property():
    shape = house(
        spaces=tuple(s for s in HOUSE.spaces if s.kind != "stair"),
        openings=tuple(o for o in HOUSE.openings if "steps" not in o.between),
    )
    [finding] = found("stair-chain", without(14, 15), shape=shape)
    assert finding.text.startswith("No stair is listed between")


def begun_early(**more) -> tuple:
    """The store captured before the steps."""
    return (*without(14, 15, 16), at(14, "store", "both", **more), at(15, "steps"), at(16, "steps"))


def test_a_level_begun_out_of_sight_of_the_stairs():
    assert places(found("stair-chain", begun_early())) == [("must", 1, "steps", 14)]


def test_a_level_begun_later_in_the_walk_is_tied_to_the_stairs():
    away = (*without(16), at(16, "garage", "plan"), at(17, "store", "both"))
    assert [f.station for f in found("stair-chain", away)] == [17]
    tied = (*away[:-1], at(17, "store", "both", ties_to=15))
    assert found("stair-chain", tied) == []


def test_a_tie_to_a_stair_station_that_comes_later_is_no_chain():
    assert [f.station for f in found("stair-chain", begun_early(ties_to=15))] == [14]


def test_levels_that_are_not_neighbours_need_no_chain():
    tall = replace(HOUSE, levels=(
        LEVELS[0],
        Level(number=2, name="Between", grade="at", elevation_m=Decimal("-1")),
        Level(number=3, name="Ground floor", grade="at", elevation_m=Decimal("0")),
    ), spaces=tuple(replace(s, level=3) if s.level == 2 else s for s in HOUSE.spaces))  # fmt: skip
    walk = [replace(s, level=3) if s.level == 2 else s for s in without(14, 15)]
    assert found("stair-chain", walk, shape=tall) == []


def test_two_levels_of_one_number_are_a_matter_of_level_order_alone():
    twice = house(levels=(*LEVELS, Level(number=2, name="Loft", grade="above", elevation_m=Decimal("2.7"))))
    assert codes(shape=twice) == ["level-order"]


# shown-private


@pytest.mark.parametrize("captured_for", ["tour", "both"])
def test_a_private_space_is_not_shown(captured_for):
    walk = changed(4, captured_for=captured_for)
    assert places(found("shown-private", walk)) == [("must", 2, "study", 4)]
    assert 4 in verdict(walk).keep_out
    assert found("shown-private", walk, "plan") == []


# tour-in-pieces


def test_a_space_behind_an_opening_shown_closed_is_cut_off():
    closed = changed(11, captured_for="tour", opening="d4")
    answer = verdict(closed)
    assert answer.tour_pieces == 2
    [finding] = found("tour-in-pieces", closed)
    assert (finding.severity, finding.station) == ("must", 12)
    assert "Cut off: Garage (station 12)." in finding.text


def test_an_opening_closed_at_plan_stations_alone_is_open_in_the_tour():
    walk = (*WALK, at(17, "kitchen", "plan", opening="d4"), at(18, "kitchen", "plan", opening="d4", pair_of=17))
    assert verdict(walk).tour_pieces == 1


def test_an_opening_left_open_for_both_keeps_the_tour_whole():
    assert verdict(changed(11, opening="d4")).tour_pieces == 1


def test_a_second_way_round_keeps_the_tour_whole():
    round_about = house(openings=(*HOUSE.openings, opening("d5", "hall", "garage")))
    near = changed(11, captured_for="tour", opening="d4", x=None, y=None)
    near = tuple(replace(s, x=None, y=None) for s in near)
    assert verdict(near, shape=HOUSE).tour_pieces == 2
    assert verdict(near, shape=round_about).tour_pieces == 1


def test_a_private_space_does_not_hold_the_tour_together():
    through = house(spaces=tuple(replace(s, private=s.code == "kitchen") for s in HOUSE.spaces))
    assert verdict(WALK, shape=through).tour_pieces == 3


@pytest.mark.parametrize(("x", "pieces"), [("14.10", 1), ("14.11", 2)])
def test_links_reach_eight_metres(x, pieces):
    assert verdict(changed(12, x=Decimal(x))).tour_pieces == pieces


@pytest.mark.parametrize(("reach", "pieces"), [("3.5", 1), ("3.1623", 1), ("3.1622", 2), ("3", 2)])
def test_the_reach_may_be_finer_than_the_coordinates(reach, pieces):
    walk = [at(1, "kitchen", "tour", "0", "0"), at(2, "garage", "tour", "1", "3")]
    assert check_walk(HOUSE, walk, "tour", WalkLimits(tour_link_m=Decimal(reach))).tour_pieces == pieces


def test_a_station_without_coordinates_is_near_to_all():
    assert verdict(changed(12, x=None, y=None)).tour_pieces == 1


def test_a_stair_without_listed_openings_is_linked_by_its_chain():
    unlisted = house(openings=tuple(o for o in HOUSE.openings if "steps" not in o.between))
    assert verdict(WALK, shape=unlisted).tour_pieces == 1
    apart = changed(16, ties_to=1, x=None, y=None)
    assert verdict(apart, shape=unlisted).tour_pieces == 2


def test_following_a_stair_station_by_chance_is_no_link():
    closed = (*without(13, 14, 15, 16), at(13, "steps"), at(14, "steps"), at(15, "store"))
    closed = tuple(replace(s, captured_for="tour", opening="d4") if s.number == 11 else s for s in closed)
    assert verdict(closed).tour_pieces == 2


# the whole


def test_findings_come_must_first_then_in_the_order_of_the_codes():
    worst = (*without(3, 10, 14, 15), at(16, "loft", "tour"))
    findings = verdict(worst).findings
    order = [(finding.severity != "must", CODES.index(finding.code)) for finding in findings]
    assert order == sorted(order)
    assert {"unknown-space", "station-repeat", "pair-missing", "stair-chain"} <= {f.code for f in findings}


def test_an_office_may_set_its_own_limits():
    strict = WalkLimits(pair_apart_m=Decimal("0.01"), tie_in_should_m=Decimal("0.05"), jump_m=Decimal(1))
    found_codes = {finding.code for finding in check_walk(HOUSE, WALK, "both", strict).findings}
    assert found_codes >= {"pair-apart", "tie-in-off", "jump"}


numbers = st.integers(1, 12)
stations = st.builds(
    at,
    numbers,
    st.sampled_from([*HOUSE.space_by_code, "loft"]),
    st.sampled_from(["plan", "tour", "both"]),
    st.sampled_from(["", "0", "0.1", "7.5", "40"]),
    st.just("0"),
    level=st.integers(0, 3),
    pair_of=st.none() | numbers,
    ties_to=st.none() | numbers,
    opening=st.none() | st.sampled_from([*HOUSE.opening_by_code]),
)


@given(st.lists(stations, max_size=14), st.sampled_from(["plan", "tour", "both"]))
def test_any_log_is_judged_and_hides_what_it_must(walk, package):
    answer = verdict(walk, package)
    assert {finding.code for finding in answer.findings} <= set(CODES)
    assert all(finding.text.endswith(".") and "\n" not in finding.text for finding in answer.findings)
    assert answer.stations == len(walk)
    hidden = {s.number for s in walk if s.captured_for == "plan" or s.space == "study"}
    assert set(answer.keep_out) >= (hidden if package != "plan" else set())
    assert (answer.tour_pieces > 1) == any(finding.code == "tour-in-pieces" for finding in answer.findings)
    assert verdict(sorted(walk, key=lambda s: s.number), package) == answer


@given(st.lists(stations, max_size=14))
def test_the_same_station_object_twice_is_judged(walk):
    assert verdict([*walk, *walk]).stations == 2 * len(walk)
