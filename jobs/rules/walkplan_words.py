"""What to do at each planned station, one sentence each, in plain trade English."""

from dataclasses import dataclass

from jobs.rules.property_shape import Opening, Space
from jobs.rules.walk import Station
from jobs.rules.walkplan_house import HouseToWalk
from jobs.rules.walkplan_order import Climb


@dataclass(frozen=True)
class Words:
    house: HouseToWalk

    def first(self, space: Space, came_from: Space | None, way_in: Opening | None, *, arrives: bool) -> str:
        """The first station in a space; `arrives` when it is the first after a stair."""
        where = f"set this one in {space.label}"
        if arrives and came_from is not None:
            level = self.house.shape.level_by_number[space.level].label
            return f"Once the steps line up, change to {level} and {where}, in sight of {came_from.label}."
        if came_from is None:
            return self._without_a_way_in(space)
        return f"{self._through(space, way_in)} {where}, in the doorway{self._held(space)}."

    def _without_a_way_in(self, space: Space) -> str:
        if space == self.house.start:
            return f"Start at the entrance: set the first one in {space.label}, with the outer door closed."
        return f"Nothing listed leads to {space.label}: set this one where a station already set is in sight."

    def _through(self, space: Space, way_in: Opening | None) -> str:
        if way_in is None or way_in.kind == "open":
            return "Go on and"
        kind = _named(way_in)
        if self.house.is_shown(space) or self.house.package != "both":
            return f"Fix the {kind} open and"
        return f"Open the {kind} again and"

    def _held(self, space: Space) -> str:
        has_garage_door = any(near.opening.kind == "garage_door" for near in self.house.shape.neighbours(space.code))
        return ", its doors held still with a stop" if space.kind == "garage" or has_garage_door else ""

    def further(self, space: Space) -> str:
        if space.kind in {"closet", "walk_in_closet"}:
            return f"Set another one deeper in {space.label}, so that every wall is in view."
        return f"Move on in {space.label} by {self.house.spacing.metres:f} m at most, with the last station in sight."

    def opened(self, opening: Opening, space: Space) -> str:
        seen = self._beyond(opening, space)
        return f"In {space.label}, open the {_named(opening)}{seen} and capture it for the plan."

    def closed(self, opening: Opening, space: Space) -> str:
        seen = self._beyond(opening, space)
        return f"On the same spot, move nothing but the {_named(opening)}{seen}: close it and capture for the tour."

    def _beyond(self, opening: Opening, space: Space) -> str:
        beyond = self.house.shape.space_by_code[opening.other_side(space.code)]
        return "" if beyond == space else f" to {beyond.label}"

    def tie_in(self, space: Space, met: Station) -> str:
        return f"Come back to {space.label} and set this one on the spot of station {met.number}, to tie in."

    def on_steps(self, stair: Space, climb: Climb, place: int) -> str:
        """`place` counts the stations of the stair from 0, in the order of capture."""
        last = self.house.station_count(stair) - 1
        goes_up = self._height(climb.leaves) <= self._height(climb.arrives)
        if place not in (0, last):
            where = "on the steps, farther " + ("up" if goes_up else "down")
        else:
            where = "on the bottom step" if (place == 0) == goes_up else "on the top step"
        return f"Keep to {stair.label}: set this one {where}, with the one before in sight."

    def _height(self, level: int) -> int:
        return [storey.number for storey in self.house.shape.storeys].index(level)


def _named(opening: Opening) -> str:
    return "opening" if opening.kind == "open" else opening.kind.replace("_", " ")
