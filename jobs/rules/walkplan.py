"""The walk plan: which stations to capture in a property, in order, and what to do at each."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from jobs.rules.property_shape import Opening, PackageCode, PropertyShape, Space
from jobs.rules.walk import Pass, Station
from jobs.rules.walkplan_house import HouseToWalk, Spacing
from jobs.rules.walkplan_order import Climb, Step, TieIn, Visit, order_of_walk
from jobs.rules.walkplan_words import Words

__all__ = ["PlannedStation", "Spacing", "plan_walk"]

COMMON_SPACING = Spacing()


@dataclass(frozen=True)
class PlannedStation:
    """A station as it should come to stand in the log, and what to do there, in one sentence."""

    station: Station
    text: str


def plan_walk(
    property: PropertyShape,
    package: PackageCode,
    spacing: Spacing = COMMON_SPACING,
    areas: Mapping[str, Decimal] | None = None,
) -> tuple[PlannedStation, ...]:
    """The walk to capture `property` for `package`; `areas` are square metres by space code, where they are known.

    The entrance first, then the longest run through its level; branches come back and tie in; what must be open for
    the plan and closed for the tour is taken as a pair; a level is begun from the last step of a stair. Logged as
    planned, the walk passes the walk check, save for what the property itself makes impossible: levels without a
    stair between them, or shown spaces joined only through spaces that are not. Raises `ValueError` for a spacing or
    an area that is not more than zero.
    """
    house = HouseToWalk(property, package, spacing, areas or {})
    return _Planner(house, order_of_walk(house)).planned()


class _Planner:
    """The stations so far, and where a tie-in can meet them."""

    def __init__(self, house: HouseToWalk, steps: tuple[Step, ...]) -> None:
        self._house = house
        self._shape = house.shape
        self._words = Words(house)
        self._steps = steps
        self._spaces = house.shape.space_by_code
        self._planned: list[PlannedStation] = []
        self._met_at: dict[tuple[str, int], Station] = {}
        self._crossings = {(step.space, step.came_from) for step in steps if isinstance(step, Visit)}

    def planned(self) -> tuple[PlannedStation, ...]:
        for step in self._steps:
            if isinstance(step, TieIn):
                self._tie_in(step)
            elif isinstance(step, Climb):
                self._climb(step)
            else:
                self._visit(step)
        return tuple(self._planned)

    def _visit(self, step: Visit) -> None:
        space = self._spaces[step.space]
        came_from = None if step.came_from is None else self._spaces[step.came_from]
        way_in = self._way_in(space, came_from)
        if came_from is not None and way_in is not None:
            self._pair_before_going_in(came_from, space, way_in)
        count = self._house.station_count(space)
        arrives = came_from is not None and bool(self._planned) and self._planned[-1].station.level != space.level
        self._set(space, space.level, self._words.first(space, came_from, way_in, arrives=arrives))
        for _ in range(count - 1):
            self._set(space, space.level, self._words.further(space))
        self._pairs_in(space, space.level, lambda opening: True)

    def _climb(self, step: Climb) -> None:
        stair = self._spaces[step.stair]
        self._pairs_in(stair, step.leaves, lambda opening: self._beyond(opening, stair).level == step.leaves)
        for place in range(self._house.station_count(stair)):
            self._set(stair, step.leaves, self._words.on_steps(stair, step, place))
            if place == 0:
                self._met_at[stair.code, step.leaves] = self._planned[-1].station
        self._met_at[stair.code, step.arrives] = self._planned[-1].station
        self._pairs_in(stair, step.leaves, lambda opening: self._beyond(opening, stair).level != step.leaves)

    def _tie_in(self, step: TieIn) -> None:
        space = self._spaces[step.space]
        met = self._met_at.get((space.code, step.level)) or self._met_at[space.code, space.level]
        text = self._words.tie_in(space, met)
        self._add(space, met.level, self._house.pass_of_tie_in(space), text, ties_to=met.number)

    def _way_in(self, space: Space, came_from: Space | None) -> Opening | None:
        """The opening one comes through, the first listed of several."""
        return next((near.opening for near in self._shape.neighbours(space.code) if near.space == came_from), None)

    def _pairs_in(self, space: Space, level: int, chosen: Callable[[Opening], bool]) -> None:
        """A pair for each opening of the space that is closed for the tour, save where the walk goes in later."""
        for opening in self._house.closed_for_the_tour(space):
            beyond = self._beyond(opening, space)
            if chosen(opening) and not self._goes_through(opening, space, beyond):
                self._pair(space, level, opening)

    def _goes_through(self, opening: Opening, space: Space, beyond: Space) -> bool:
        return (beyond.code, space.code) in self._crossings and self._way_in(beyond, space) == opening

    def _pair_before_going_in(self, space: Space, into: Space, way_in: Opening) -> None:
        if way_in in self._house.closed_for_the_tour(space):
            self._pair(space, self._planned[-1].station.level, way_in)

    def _beyond(self, opening: Opening, space: Space) -> Space:
        return self._spaces[opening.other_side(space.code)]

    def _pair(self, space: Space, level: int, opening: Opening) -> None:
        first = self._add(space, level, "plan", self._words.opened(opening, space), opening=opening.code)
        text = self._words.closed(opening, space)
        self._add(space, level, "tour", text, opening=opening.code, pair_of=first.number)

    def _set(self, space: Space, level: int, text: str) -> None:
        self._met_at[space.code, level] = self._add(space, level, self._house.pass_in(space), text)

    def _add(
        self,
        space: Space,
        level: int,
        captured_for: Pass,
        text: str,
        *,
        pair_of: int | None = None,
        opening: str | None = None,
        ties_to: int | None = None,
    ) -> Station:
        number = len(self._planned) + 1
        station = Station(number, level, space.code, captured_for, pair_of, opening, ties_to)
        self._planned.append(PlannedStation(station, text))
        return station
