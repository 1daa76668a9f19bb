"""Routes against published instances whose optimum is proved, and small days solved by trying every order."""

import json
from pathlib import Path

import pytest
from pydantic import TypeAdapter

from jobs.rules.route import Stop, Stops, best_route, walked

# Dumas, Desrosiers, Gélinas, Solomon, Operations Research 43(2), 1995; each optimum proved with CP-SAT (checks/routes).
INSTANCES = ["n20w20.001", "n20w40.001", "n20w60.001", "n20w100.001", "n40w20.001", "n40w40.001", "n60w20.001"]


def instance(path: Path) -> Stops:
    """The format of López-Ibáñez and Blum: the size, the matrix, one window a line; row 0 is the depot."""
    numbers = [int(text) for text in path.read_text().split()]
    size = numbers[0]
    rows = [tuple(numbers[1 + size * n : 1 + size * (n + 1)]) for n in range(size)]
    windows = numbers[1 + size * size :]
    stops = [Stop(id=str(n), opens=windows[2 * n], closes=windows[2 * n + 1], service=0) for n in range(size)]
    return Stops(minutes=tuple(rows), stops=tuple(stops), start=0)


@pytest.mark.parametrize("name", INSTANCES)
def test_published_instance_is_solved_to_its_proved_optimum(checks: Path, name: str) -> None:
    published = {row["name"]: row for row in json.loads((checks / "routes/dumas/optima.json").read_text())}[name]
    stops = instance(checks / f"routes/dumas/{name}.txt")
    found = best_route(stops)
    assert found.feasible
    assert found.proved
    assert found.route is not None
    assert found.route.travel_minutes == published["optimum_travel"]
    assert walked(stops, [int(stop) for stop in found.route.order]) == found.route


@pytest.mark.parametrize("name", INSTANCES)
def test_published_tour_is_walked_to_its_published_figures(checks: Path, name: str) -> None:
    published = {row["name"]: row for row in json.loads((checks / "routes/dumas/optima.json").read_text())}[name]
    route = walked(instance(checks / f"routes/dumas/{name}.txt"), published["optimal_tour"])
    assert route is not None
    assert (route.travel_minutes, route.home_at) == (published["optimum_travel"], published["finish"])


def test_small_days_agree_with_every_order_tried(checks: Path) -> None:
    days = json.loads((checks / "routes/small_days.json").read_text())
    assert len(days) == 15
    for day in days:
        found = best_route(TypeAdapter(Stops).validate_json(json.dumps(day["request"])))
        expected = day["expected"]
        assert found.proved
        assert found.feasible is expected["feasible"]
        if found.feasible:
            assert found.route is not None
            assert found.route.travel_minutes == expected["travel_minutes"]
            assert list(found.route.order) in expected["optimal_orders"] or expected["optimal_order_count"] > 12


def test_small_days_begin_service_and_end_as_published(checks: Path) -> None:
    for day in json.loads((checks / "routes/small_days.json").read_text()):
        stops = TypeAdapter(Stops).validate_json(json.dumps(day["request"]))
        if not day["expected"]["feasible"]:
            continue
        numbers = {stop.id: number for number, stop in enumerate(stops.stops)}
        route = walked(stops, [numbers[stop] for stop in day["expected"]["optimal_orders"][0]])
        assert route is not None
        opens = [stops.stops[numbers[stop]].opens for stop in route.order]
        begins = [max(at, opening) for at, opening in zip(route.arrivals, opens, strict=True)]
        assert begins == day["expected"]["first_order_service_starts"]
        assert route.home_at == day["expected"]["back_home_at"]
