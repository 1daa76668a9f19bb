"""What a walk must do in each space of a property: which pass, how many stations, what is opened and closed again."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property

from jobs.rules.property_shape import Opening, PackageCode, PropertyShape, Space
from jobs.rules.walk import Pass

TYPICAL_STATIONS = {
    "room": 3, "hall": 2, "closet": 1, "walk_in_closet": 2, "bathroom": 1, "kitchen": 2,
    "garage": 3, "stair": 3, "utility": 1, "porch": 1, "exterior": 4,
}  # fmt: skip
"""Stations in a space whose area is not known; common practice, no source."""
LARGEST_M2 = Decimal(100_000)
_LAST_TO_START_IN = ("closet", "walk_in_closet", "bathroom", "exterior", "stair")


@dataclass(frozen=True)
class Spacing:
    """How close stations stand: one to every square of `metres`. Common practice, no source: 1.5 to 2.5 m."""

    metres: Decimal = Decimal(2)
    on_stairs: int = 3
    least_in_walk_in_closet: int = 2


@dataclass(frozen=True)
class HouseToWalk:
    """A property with the order placed for it. `areas` are square metres by space code, as far as they are known."""

    shape: PropertyShape
    package: PackageCode
    spacing: Spacing
    areas: Mapping[str, Decimal] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if not self.spacing.metres > 0 or self.spacing.on_stairs < 1:
            raise ValueError("expected a spacing of more than zero and a station on the stairs")
        if not all(0 < area <= LARGEST_M2 for area in self.areas.values()):
            raise ValueError(f"expected areas of more than zero and at most {LARGEST_M2} m²")

    def is_shown(self, space: Space) -> bool:
        """Whether the tour, if there is one, shows the space: not what is private, nor the inside of a closet."""
        return self.package != "plan" and not space.private and space.kind != "closet"

    def is_needed(self, space: Space) -> bool:
        """Whether the package asks for a station in the space."""
        return self.is_shown(space) or (self.package != "tour" and space.kind != "exterior")

    def pass_in(self, space: Space) -> Pass:
        """What its stations are captured for: the plan where the tour shows nothing, even if only passed through."""
        if not self.is_shown(space):
            return "plan"
        return "tour" if self.package == "tour" or space.kind == "exterior" else "both"

    def pass_of_tie_in(self, space: Space) -> Pass:
        """A tie-in repeats a spot, which a tour need not show twice."""
        return "tour" if self.package == "tour" and self.is_shown(space) else "plan"

    def station_count(self, space: Space) -> int:
        """How many stations the space takes, pairs and tie-ins not counted."""
        if space.kind == "stair":
            return self.spacing.on_stairs
        least = self.spacing.least_in_walk_in_closet if space.kind == "walk_in_closet" else 1
        area = self.areas.get(space.code)
        if area is None:
            return max(least, TYPICAL_STATIONS[space.kind])
        return max(least, math.ceil(area / self.spacing.metres**2))

    def closed_for_the_tour(self, space: Space) -> Iterator[Opening]:
        """What must be open in the space for the plan and closed for the tour: one pair for each.

        That is every opening that can close and leads to what the tour does not show, and a curtain or screen within
        the space. An opening between two shown spaces stays open, or the tour would fall into pieces.
        """
        if self.package != "both" or not self.is_shown(space):
            return
        for opening, beyond in self.shape.neighbours(space.code):
            if opening.kind != "open" and (beyond == space or not self.is_shown(beyond)):
                yield opening

    @cached_property
    def beside(self) -> Mapping[str, tuple[str, ...]]:
        """Where one can go from each space: by its openings, and from a stair onto a level it has no opening to."""
        beside = {
            space.code: [near.space.code for near in self.shape.neighbours(space.code)] for space in self.shape.spaces
        }
        for stair in self.shape.spaces:
            for level in self.shape.levels_of(stair) if stair.kind == "stair" else ():
                lands_in = self.main_space(level)
                if lands_in and not any(self._touches(code, level) for code in beside[stair.code]):
                    beside[stair.code].append(lands_in.code)
                    beside[lands_in.code].append(stair.code)
        return {code: tuple(dict.fromkeys(near for near in found if near != code)) for code, found in beside.items()}

    def _touches(self, code: str, level: int) -> bool:
        return level in self.shape.levels_of(self.shape.space_by_code[code])

    def main_space(self, level: int) -> Space | None:
        """Where one would expect to stand on a level: the entrance, else a hall, else a room; never on the stairs."""
        on_it = [space for space in self.shape.spaces if space.level == level and space.kind != "stair"]
        return min(on_it, key=self._expectedness, default=None)

    def _expectedness(self, space: Space) -> tuple[bool, bool, bool, bool]:
        is_last = space.kind in _LAST_TO_START_IN
        return (space.code != self.shape.entrance, space.private, space.kind != "hall", is_last)

    @cached_property
    def start(self) -> Space | None:
        """The entrance; where it is not known, the main space of the ground floor."""
        known = self.shape.space_by_code.get(self.shape.entrance)
        storeys = sorted(self.shape.storeys, key=lambda level: level.grade != "at")
        found = (self.main_space(level.number) for level in storeys)
        return known or next((space for space in found if space), next(iter(self.shape.spaces), None))
