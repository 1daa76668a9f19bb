"""The best order of one crew's day: least travel along home → stops → home, every stop within its window.

Times are whole minutes since local midnight. Row and column 0 are home. Waiting is free; service starts at
arrival or at the opening if that is later, never after `closes`, and delays what follows; the way home must
end by home's own `closes`. The crew leaves at `start` or at home's opening, whichever is later; home's
`service` is not used. Travel may differ by direction and need not be shortest by the direct way.

STOPS, as it is written:

    {"minutes": [[0, 12, 20], [12, 0, 9], [21, 9, 0]],
     "stops": [{"id": "home", "opens": 480, "closes": 1080, "service": 0},
               {"id": "12 Elm", "opens": 540, "closes": 570, "service": 75},
               {"id": "4 Oak", "opens": 480, "closes": 900, "service": 90}],
     "start": 0}
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from pydantic import Field
from pydantic.dataclasses import dataclass as read_dataclass

from office.rules.reading import STRICT, BadInput, read_json

MOST_STOPS = 400
MOST_MINUTES = 1_000_000

Minutes = Annotated[int, Field(ge=0, le=MOST_MINUTES)]


@read_dataclass(frozen=True, config=STRICT)
class Stop:
    """One place to be served, or home; minutes since midnight, and minutes of service."""

    id: Annotated[str, Field(min_length=1, max_length=200)]
    opens: Minutes
    closes: Minutes
    service: Minutes


@read_dataclass(frozen=True, config=STRICT)
class Stops:
    """STOPS: `minutes[i][j]` is the travel from stop i to stop j; `stops[0]` is home."""

    minutes: tuple[tuple[Minutes, ...], ...]
    stops: Annotated[tuple[Stop, ...], Field(min_length=1, max_length=MOST_STOPS)]
    start: Minutes

    @property
    def leaves_at(self) -> int:
        return max(self.start, self.stops[0].opens)


@dataclass(frozen=True)
class Route:
    """An order that keeps every window. Arrivals are before any waiting; minutes."""

    order: tuple[str, ...]
    arrivals: tuple[int, ...]
    travel_minutes: int
    home_at: int


@dataclass(frozen=True)
class DayRoute:
    """The answer for a day.

    `route` serves every stop but those of `cannot_be_met`; it is None when not even the empty day can be kept.
    `proved` says that fewer cannot be left out and that less travel is not possible.
    """

    route: Route | None
    cannot_be_met: tuple[str, ...]
    proved: bool

    @property
    def feasible(self) -> bool:
        return self.route is not None and not self.cannot_be_met


def read_stops(source: str) -> Stops:
    """The day in a STOPS file; raises `BadInput`."""
    stops = read_json(source, Stops)
    check_stops(stops, source)
    return stops


def check_stops(stops: Stops, source: str = "stops") -> None:
    """Raises `BadInput` when the matrix does not fit the stops, an id repeats or a window ends before it begins."""
    size = len(stops.stops)
    if len(stops.minutes) != size:
        raise BadInput(source, "minutes", f"expected {size} rows, one for each stop, found {len(stops.minutes)}")
    for number, row in enumerate(stops.minutes):
        if len(row) != size:
            raise BadInput(source, f"minutes[{number}]", f"expected {size} numbers, found {len(row)}")
    seen: set[str] = set()
    for number, stop in enumerate(stops.stops):
        if stop.id in seen:
            raise BadInput(source, f"stops[{number}].id", f"expected each id once, found {stop.id!r} again")
        if stop.closes < stop.opens:
            raise BadInput(source, f"stops[{number}].closes", f"expected {stop.opens} (opens) or later")
        seen.add(stop.id)


def walked(stops: Stops, order: Sequence[int]) -> Route | None:
    """The day in this order of stop numbers, or None when a window is missed."""
    at, here, travel, arrivals = stops.leaves_at, 0, 0, []
    for number in order:
        stop, leg = stops.stops[number], stops.minutes[here][number]
        arrivals.append(at + leg)
        begins = max(at + leg, stop.opens)
        if begins > stop.closes:
            return None
        at, here, travel = begins + stop.service, number, travel + leg
    leg = stops.minutes[here][0] if order else 0
    if at + leg > stops.stops[0].closes:
        return None
    return Route(tuple(stops.stops[n].id for n in order), tuple(arrivals), travel + leg, at + leg)


def best_route(stops: Stops, seconds: float = 10.0) -> DayRoute:
    """The order of least travel; when there is none, the fewest stops to leave out and the best order of the rest.

    Exact by dynamic programming for any ordinary day. A day too large for that gets a good order, not
    `proved`, within about `seconds`.
    """
    from jobs.rules.route_search import best_order

    order, proved = best_order(stops, seconds)
    kept = set(order)
    left_out = tuple(stop.id for number, stop in enumerate(stops.stops) if number and number not in kept)
    return DayRoute(walked(stops, order), left_out, proved)
