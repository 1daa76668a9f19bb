"""How long the best order of a day takes, beside trying every order and beside the search of the pyvrp library.

Run: python -m tests.bench.bench_route
"""

import random
import time
from collections.abc import Callable
from itertools import permutations
from typing import Any

from jobs.rules.route import Stop, Stops, best_route, walked
from jobs.rules.route_search import good_order


def timed(work: Callable[[], Any]) -> tuple[float, Any]:
    began = time.perf_counter()
    found = work()
    return time.perf_counter() - began, found


def made_day(count: int, width: int, seed: int) -> Stops:
    """Stops strewn over 50 × 50 minutes, each with a window of about `width` around its turn in a near order."""
    draw = random.Random(seed)
    spots = [(draw.randint(0, 50), draw.randint(0, 50)) for _ in range(count + 1)]
    minutes = [[int(abs(complex(*a) - complex(*b))) for b in spots] for a in spots]
    stops, here, clock = [Stop(id="0", opens=0, closes=10_000, service=0)], 0, 0
    left = set(range(1, count + 1))
    turn: dict[int, Stop] = {}
    while left:
        chosen = min(left, key=lambda stop: minutes[here][stop])
        clock += minutes[here][chosen]
        window = max(0, clock - draw.randint(0, width)), clock + draw.randint(0, width)
        turn[chosen] = Stop(id=str(chosen), opens=window[0], closes=window[1], service=0)
        left.remove(chosen)
        here = chosen
    return Stops(minutes=tuple(map(tuple, minutes)), stops=(*stops, *(turn[n] for n in range(1, count + 1))), start=0)


def every_order(stops: Stops) -> int:
    routes = (walked(stops, order) for order in permutations(range(1, len(stops.stops))))
    return min(route.travel_minutes for route in routes if route)


def main() -> None:
    good_order(made_day(3, 20, 0), 0.1)  # imports done before the clock runs
    best_route(made_day(3, 20, 0))
    small = made_day(8, 40, 1)
    ours, found = timed(lambda: best_route(small))
    tried, least = timed(lambda: every_order(small))
    print(f"8 stops: {ours * 1000:.1f} ms; every order {tried * 1000:.0f} ms; ratio {ours / tried:.4f}")
    assert found.route.travel_minutes == least
    for count, width in ((12, 480), (20, 100), (60, 20), (100, 40)):
        stops = made_day(count, width, count)
        ours, found = timed(lambda stops=stops: best_route(stops))
        peer, order = timed(lambda stops=stops: good_order(stops, 5.0))
        theirs = walked(stops, order)
        print(
            f"{count} stops, windows of {width}: {ours * 1000:.1f} ms for {found.route.travel_minutes} (proved: "
            f"{found.proved}); pyvrp {peer * 1000:.0f} ms for {theirs.travel_minutes if theirs else 'none'}; "
            f"ratio {ours / peer:.4f}"
        )


if __name__ == "__main__":
    main()
