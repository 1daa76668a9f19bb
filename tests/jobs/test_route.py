"""The order of a day: every rule of the contract, and every small day against all orders tried."""

import time
from itertools import combinations, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.rules.route import Stop, Stops, best_route, walked
from jobs.rules.route_labels import Exhausted, least_travel, problem_of
from jobs.rules.route_search import good_order

HOME = Stop(id="home", opens=0, closes=600, service=0)


def day(minutes: list[list[int]], *windows: tuple[int, int, int], home: Stop = HOME, start: int = 0) -> Stops:
    stops = [Stop(id=f"s{n}", opens=o, closes=c, service=s) for n, (o, c, s) in enumerate(windows, 1)]
    return Stops(minutes=tuple(map(tuple, minutes)), stops=(home, *stops), start=start)


def travel_of(stops: Stops, order: tuple[int, ...]) -> int | None:
    """The contract read afresh, word by word, to hold the program against; None when a window is missed."""
    clock, spent, here = max(stops.start, stops.stops[0].opens), 0, 0
    for number in order:
        clock += stops.minutes[here][number]
        spent += stops.minutes[here][number]
        clock = max(clock, stops.stops[number].opens)
        if clock > stops.stops[number].closes:
            return None
        clock += stops.stops[number].service
        here = number
    if order:
        clock += stops.minutes[here][0]
        spent += stops.minutes[here][0]
    return spent if clock <= stops.stops[0].closes else None


def least_of(stops: Stops, kept: tuple[int, ...]) -> int | None:
    spent = [travel for order in permutations(kept) if (travel := travel_of(stops, order)) is not None]
    return min(spent, default=None)


def most_kept(stops: Stops) -> tuple[int, int] | None:
    """How many stops can be served at most, and the least travel with so many."""
    for size in range(len(stops.stops) - 1, -1, -1):
        found = [least_of(stops, kept) for kept in combinations(range(1, len(stops.stops)), size)]
        if any(travel is not None for travel in found):
            return size, min(travel for travel in found if travel is not None)
    return None


@st.composite
def days(draw: st.DrawFn, most: int = 6) -> Stops:
    count = draw(st.integers(0, most))
    minutes = draw(
        st.lists(
            st.lists(st.integers(0, 60), min_size=count + 1, max_size=count + 1), min_size=count + 1, max_size=count + 1
        )
    )
    windows = [
        (opens, opens + draw(st.integers(0, 120)), draw(st.sampled_from([0, 0, 5, 30])))
        for opens in draw(st.lists(st.integers(0, 200), min_size=count, max_size=count))
    ]
    opens = draw(st.sampled_from([0, 0, 40]))
    home = Stop(id="home", opens=opens, closes=opens + draw(st.sampled_from([0, 90, 250, 600])), service=0)
    return day(minutes, *windows, home=home, start=draw(st.sampled_from([0, 30, 60])))


@given(days())
@settings(max_examples=150, deadline=None)
def test_agrees_with_every_order_tried(stops: Stops) -> None:
    found, expected = best_route(stops), most_kept(stops)
    assert found.proved
    if expected is None:
        assert found.route is None
        assert len(found.cannot_be_met) == len(stops.stops) - 1
        return
    kept, travel = expected
    assert found.route is not None
    assert (len(found.route.order), found.route.travel_minutes) == (kept, travel)
    assert {*found.route.order, *found.cannot_be_met} == {stop.id for stop in stops.stops[1:]}
    assert len(found.route.order) + len(found.cannot_be_met) == len(stops.stops) - 1


@given(days())
@settings(max_examples=100, deadline=None)
def test_a_known_order_bounds_the_search_and_hides_nothing_better(stops: Stops) -> None:
    least = least_of(stops, tuple(range(1, len(stops.stops))))
    if least is None:
        return
    problem = problem_of(stops)
    order = least_travel(problem, 0, least + 1, 10_000, float("inf"))
    assert order is not None
    assert travel_of(stops, tuple(order)) == least
    assert least_travel(problem, 0, least, 10_000, float("inf")) is None


def test_more_labels_than_allowed_and_a_deadline_end_the_search() -> None:
    problem = problem_of(open_day(6))
    with pytest.raises(Exhausted):
        least_travel(problem, 0, None, 10, float("inf"))
    with pytest.raises(Exhausted):
        least_travel(problem, 0, None, 10_000, time.monotonic() - 1)


@given(days())
@settings(max_examples=100, deadline=None)
def test_a_later_closing_never_costs_travel(stops: Stops) -> None:
    before = best_route(stops)
    eased = [Stop(id=s.id, opens=s.opens, closes=s.closes + 30, service=s.service) for s in stops.stops]
    after = best_route(Stops(minutes=stops.minutes, stops=tuple(eased), start=stops.start))
    assert len(after.cannot_be_met) <= len(before.cannot_be_met)
    if before.feasible and before.route and after.route:
        assert after.route.travel_minutes <= before.route.travel_minutes


@given(days())
@settings(max_examples=20, deadline=None)
def test_the_help_for_large_days_never_breaks_a_window(stops: Stops) -> None:
    order = good_order(stops, 0.1) if stops.leaves_at <= stops.stops[0].closes else []
    assert len(set(order)) == len(order)
    assert not order or walked(stops, list(order)) is not None


def test_no_stops_is_a_day_at_home() -> None:
    found = best_route(day([[7]]))
    assert found.feasible
    assert found.route is not None
    assert (found.route.order, found.route.travel_minutes, found.route.home_at) == ((), 0, 0)


def test_the_way_there_and_back_may_differ() -> None:
    found = best_route(day([[0, 50, 3], [4, 0, 50], [50, 5, 0]], (0, 600, 0), (0, 600, 0)))
    assert found.route is not None
    assert (found.route.order, found.route.travel_minutes) == (("s2", "s1"), 3 + 5 + 4)


def test_a_stop_reached_in_time_only_through_another_is_reached() -> None:
    # Straight to s2 takes 90, by s1 20: the table does not keep the triangle inequality.
    found = best_route(day([[0, 10, 90], [10, 0, 10], [90, 10, 0]], (0, 600, 0), (0, 25, 0)))
    assert found.route is not None
    assert found.route.order == ("s1", "s2")


def test_a_stop_that_only_a_detour_reaches_in_time_is_not_given_up() -> None:
    # From s1 straight to s3 takes 60, by s2 ten.
    minutes = [[0, 10, 90, 90], [90, 0, 5, 60], [90, 90, 0, 5], [10, 90, 90, 0]]
    found = best_route(day(minutes, (0, 600, 0), (0, 600, 0), (0, 22, 0)))
    assert found.route is not None
    assert found.route.arrivals == (10, 15, 20)


def test_a_later_beginning_that_costs_less_travel_is_kept() -> None:
    # s2, s1, s3 begins at s3 five minutes earlier than s1, s2, s3 and has driven 25 minutes more.
    minutes = [[0, 10, 30, 10], [10, 0, 10, 15], [30, 10, 0, 10], [10, 15, 10, 0]]
    found = best_route(day(minutes, (50, 60, 0), (0, 70, 0), (60, 100, 0)))
    assert found.route is not None
    assert (found.route.order, found.route.travel_minutes) == (("s1", "s2", "s3"), 40)


def test_service_may_begin_exactly_at_closing_and_not_a_minute_later() -> None:
    minutes = [[0, 10], [10, 0]]
    assert best_route(day(minutes, (0, 10, 5))).feasible
    assert best_route(day(minutes, (0, 9, 5))).cannot_be_met == ("s1",)


def test_home_may_be_reached_exactly_at_its_closing_and_not_a_minute_later() -> None:
    minutes = [[0, 10], [10, 0]]
    assert best_route(day(minutes, (0, 60, 5), home=Stop(id="home", opens=0, closes=25, service=0))).feasible
    assert not best_route(day(minutes, (0, 60, 5), home=Stop(id="home", opens=0, closes=24, service=0))).feasible


def test_waiting_costs_nothing_and_delays_what_follows() -> None:
    found = best_route(day([[0, 10, 10], [10, 0, 10], [10, 10, 0]], (100, 120, 30), (0, 140, 0)))
    assert found.route is not None
    assert found.route.order == ("s2", "s1")
    assert walked(day([[0, 10, 10], [10, 0, 10], [10, 10, 0]], (100, 120, 30), (0, 139, 0)), [1, 2]) is None


def test_the_day_begins_at_the_later_of_start_and_home_opening() -> None:
    home = Stop(id="home", opens=480, closes=900, service=0)
    early = best_route(day([[0, 10], [10, 0]], (0, 900, 0), home=home, start=0)).route
    late = best_route(day([[0, 10], [10, 0]], (0, 900, 0), home=home, start=500)).route
    assert early is not None
    assert late is not None
    assert (early.arrivals, late.arrivals) == ((490,), (510,))


def test_the_fewest_stops_are_left_out_and_the_rest_is_ordered() -> None:
    # s1 and s2 both want minute 10 and lie apart; s3 fits with either, and s1 is the shorter day.
    minutes = [[0, 10, 10, 5], [10, 0, 20, 5], [10, 20, 0, 25], [5, 5, 25, 0]]
    found = best_route(day(minutes, (0, 10, 0), (0, 10, 0), (0, 600, 0)))
    assert not found.feasible
    assert found.cannot_be_met == ("s2",)
    assert found.route is not None
    assert found.route.travel_minutes == 20


def test_a_day_that_cannot_even_begin_names_every_stop() -> None:
    found = best_route(day([[0, 1], [1, 0]], (0, 600, 0), start=601))
    assert (found.route, found.cannot_be_met) == (None, ("s1",))


def open_day(count: int) -> Stops:
    minutes = [[(7 * abs(a - b) + 13 * (a * b % 17)) % 60 + 1 for b in range(count + 1)] for a in range(count + 1)]
    return day(minutes, *[(0, 5000, 0)] * count, home=Stop(id="home", opens=0, closes=5000, service=0))


def test_a_day_too_large_for_a_proof_ends_in_time_with_an_order_that_holds() -> None:
    stops, began = open_day(35), time.monotonic()
    found = best_route(stops, seconds=1.5)
    assert time.monotonic() - began < 30  # a hang, not a measurement
    assert found.feasible
    assert found.route is not None
    assert travel_of(stops, tuple(int(stop[1:]) for stop in found.route.order)) == found.route.travel_minutes


@pytest.mark.parametrize("count", [13, 65])
def test_more_stops_than_one_machine_word_holds_are_told_apart(count: int) -> None:
    """Stops on a line, each with a window of its own, have one order only."""
    minutes = [[abs(a - b) for b in range(count + 1)] for a in range(count + 1)]
    stops = day(minutes, *[(2 * n, 2 * n + 1, 0) for n in range(1, count + 1)])
    found = best_route(stops)
    assert found.proved
    assert found.route is not None
    assert found.route.order == tuple(f"s{n}" for n in range(1, count + 1))
    assert found.route.travel_minutes == 2 * count
