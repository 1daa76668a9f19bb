"""The order in which the spaces of a property are walked.

The entrance comes first, then the longest run through its level, then the branches off that run from its far end
back. From there the stairs, the lowest first and so down before up, each level begun from its last step. Before a
branch or a stair that does not go on from where the crew stands, the walk comes back and ties in.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from jobs.rules.property_shape import Space
from jobs.rules.walkplan_house import HouseToWalk
from jobs.rules.walkplan_ways import Zone, on_the_way, zone_from


@dataclass(frozen=True)
class Visit:
    """Capture a space, coming from another; from None at the start, or where nothing listed leads there."""

    space: str
    came_from: str | None


@dataclass(frozen=True)
class Climb:
    """Capture the steps of a stair, up or down, from the level it leaves to the level it arrives at."""

    stair: str
    came_from: str | None
    leaves: int
    arrives: int


@dataclass(frozen=True)
class TieIn:
    """Come back to a space, to where it opens to `level`, and set a station on one already set there."""

    space: str
    level: int


Step = Visit | Climb | TieIn


def order_of_walk(house: HouseToWalk) -> tuple[Step, ...]:
    """Each space that the package needs, and those on the way to them, once."""
    return tuple(_Order(house).steps)


class _Order:
    """The steps so far, what is left to capture, and where the crew stands."""

    def __init__(self, house: HouseToWalk) -> None:
        self.steps: list[Step] = []
        self._house = house
        self._shape = house.shape
        self._spaces = house.shape.space_by_code
        self._left = dict.fromkeys(on_the_way(house))
        self._done: set[str] = set()
        self._here: str | None = None
        self._level: int | None = None
        self._out_on_branch_of: str | None = None
        self._walk()

    def _walk(self) -> None:
        start = self._house.start
        if start is not None and start.code in self._left:
            self._go_in(start.code, None)
        while self._left:
            code, beside = min(self._reached(), key=lambda found: self._rank(*found), default=self._anywhere())
            self._go_in(code, beside)
        if self._out_on_branch_of is not None:
            self._come_back(self._out_on_branch_of, self._spaces[self._out_on_branch_of].level)

    def _reached(self) -> Iterator[tuple[str, str]]:
        """What is left, with a captured space beside it: the one where the crew stands, if it can be."""
        for code in self._left:
            beside = [near for near in self._house.beside[code] if near in self._done]
            if beside:
                yield code, min(beside, key=lambda near: near != self._here)

    def _anywhere(self) -> tuple[str, None]:
        """Where nothing listed leads: the lowest level first, and not on its stairs."""
        return min(self._left, key=lambda code: (self._storey(self._spaces[code].level), self._is_chain(code))), None

    def _rank(self, code: str, beside: str) -> tuple[int, ...]:
        """First what lies beside on the same level, then the lowest stair, then what is entered from another level."""
        space = self._spaces[code]
        if self._is_chain(code):
            return 1, self._storey(space.level)
        if space.level in self._shape.levels_of(self._spaces[beside]):
            return 0, space.level != self._level, space.kind != "hall"
        return 2, self._storey(space.level)

    def _storey(self, number: int) -> int:
        return [level.number for level in self._shape.storeys].index(number)

    def _is_chain(self, code: str) -> bool:
        return len(self._shape.levels_of(self._spaces[code])) > 1

    def _ends(self, stair: Space, came_from: str | None) -> tuple[int, int]:
        """The level on which one comes to the stair, and the other."""
        lower, upper = self._shape.levels_of(stair)
        touched = (self._level,) if came_from is None else self._shape.levels_of(self._spaces[came_from])
        return (upper, lower) if upper in touched and lower not in touched else (lower, upper)

    def _go_in(self, code: str, came_from: str | None) -> None:
        space = self._spaces[code]
        if self._is_chain(code):
            self._climb(space, came_from)
            return
        if came_from is not None:
            self._come_back(came_from, space.level)
        zone = zone_from(code, self._house, {left for left in self._left if self._is_in_zone(left, space.level)})
        self._capture(code, came_from, zone)

    def _is_in_zone(self, code: str, level: int) -> bool:
        return self._spaces[code].level == level and not self._is_chain(code)

    def _capture(self, start: str, came_from: str | None, zone: Zone) -> None:
        """The longest run first, then the branches off it from the far end back, each in the same way."""
        run = zone.longest_run(start)
        for code in run:
            self._visit(code, came_from, zone)
            came_from = code
        for code in reversed(run):
            for branch in (space for space in zone.beyond[code] if space in self._left):
                self._come_back(code, self._spaces[code].level)
                self._capture(branch, code, zone)
                self._out_on_branch_of = code

    def _visit(self, code: str, came_from: str | None, zone: Zone) -> None:
        """A space, and from within it the closets that lead nowhere else."""
        self._step(Visit(code, came_from), code, self._spaces[code].level)
        for closet in zone.closets_off[code]:
            self._step(Visit(closet, code), closet, self._spaces[code].level)
            self._here = code

    def _climb(self, stair: Space, came_from: str | None) -> None:
        """Over the steps, and onto a station beyond when that level is captured already, which closes a loop."""
        leaves, arrives = self._ends(stair, came_from)
        if came_from is not None:
            self._come_back(came_from, leaves)
        self._step(Climb(stair.code, came_from, leaves, arrives), stair.code, arrives)
        beyond = [near for near in self._house.beside[stair.code] if self._spaces[near].level == arrives]
        captured = [near for near in beyond if near in self._done]
        if captured and not any(near in self._left for near in beyond):
            self._come_back(captured[0], arrives)

    def _come_back(self, code: str, level: int) -> None:
        if self._here != code:
            self._step(TieIn(code, level), code, level)
            self._out_on_branch_of = None

    def _step(self, step: Step, here: str, level: int) -> None:
        self.steps.append(step)
        self._left.pop(here, None)
        self._done.add(here)
        self._here, self._level = here, level
