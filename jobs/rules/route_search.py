"""How the best order of a day is sought: exactly first, with a library's search to help where that grows too large."""

import time
import warnings
from typing import TYPE_CHECKING

from jobs.rules.route import Stops, walked
from jobs.rules.route_labels import Exhausted, Problem, least_travel, problem_of

if TYPE_CHECKING:
    from pyvrp import Model, Solution

MOST_CELLS = 4_000_000
"""Labels of one layer × stops, once a good order bounds the search."""
FIRST_LABELS = 20_000
IDLE_ITERATIONS = 3_000
"""The library's search ends when it has found nothing better for so long."""


def best_order(stops: Stops, seconds: float) -> tuple[list[int], bool]:
    """Stop numbers in order, as many as can be met, and whether that is proved to be the best."""
    if stops.leaves_at > stops.stops[0].closes:
        return [], True
    deadline = time.monotonic() + seconds
    problem, count = problem_of(stops), len(stops.stops) - 1
    few = min(FIRST_LABELS, MOST_CELLS // len(stops.stops))
    for left_out in range(count + 1):
        try:
            order = least_travel(problem, left_out, None, few, deadline)
        except Exhausted:
            return _bounded_order(stops, problem, left_out, deadline)
        if order is not None:
            return order, True
    return [], True


def _bounded_order(stops: Stops, problem: Problem, left_out: int, deadline: float) -> tuple[list[int], bool]:
    """A good order first, then the exact search for anything better than it."""
    good = good_order(stops, (deadline - time.monotonic()) / 3)
    route, fewest = walked(stops, good), len(stops.stops) - 1 - len(good)
    for number in range(left_out, fewest + 1):
        ceiling = route.travel_minutes if route and number == fewest else None
        try:
            better = least_travel(problem, number, ceiling, MOST_CELLS // len(stops.stops), deadline)
        except Exhausted:
            return good, False
        if better is not None:
            return better, True
    return good, True


def good_order(stops: Stops, seconds: float) -> list[int]:
    """An order that keeps every window, of as many stops as the library's search could fit; seldom the best."""
    from pyvrp.stop import MaxRuntime, MultipleCriteria, NoImprovement

    ends = MultipleCriteria([MaxRuntime(max(seconds, 0.1)), NoImprovement(IDLE_ITERATIONS)])
    with warnings.catch_warnings(action="ignore"):  # that stops must be left out is no news here
        solution = _model(stops).solve(ends, seed=1, collect_stats=False, display=False).best
    order = _order(solution)
    return order if walked(stops, order) else []


def _model(stops: Stops) -> "Model":
    """The day with a prize for every stop that is worth more than any travel."""
    from pyvrp import Model

    model = Model()
    places = [model.add_location(0, 0) for _ in stops.stops]
    model.add_depot(places[0])
    model.add_vehicle_type(1, tw_early=stops.leaves_at, tw_late=stops.stops[0].closes)
    prize = 1 + sum(max(row) for row in stops.minutes)
    for place, stop in zip(places[1:], stops.stops[1:], strict=True):
        model.add_client(place, [], [], stop.service, stop.opens, stop.closes, prize=prize, required=False)
    for start, row in zip(places, stops.minutes, strict=True):
        for end, minutes in zip(places, row, strict=True):
            if start is not end:
                model.add_edge(start, end, minutes, minutes)
    return model


def _order(solution: "Solution") -> list[int]:
    if not solution.is_feasible():
        return []
    return [visit.idx + 1 for route in solution.routes() for visit in route if visit.is_client()]
