"""Ways through a property: what lies on the way to what must be captured, and the longest run through a level."""

import heapq
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass

from jobs.rules.walkplan_house import HouseToWalk

_DETOUR = {"exterior": 100, "closet": 20, "walk_in_closet": 20}
"""How many plain spaces one would rather pass through than one of these; a space the tour hides counts as 20 more."""


@dataclass(frozen=True)
class Zone:
    """A tree of spaces.

    `beyond` has those entered from each, without the closets that lead nowhere else: they stand in `closets_off`, as
    one captures them from within the room. `stations` says how many the longest run from each takes.
    """

    beyond: Mapping[str, tuple[str, ...]]
    closets_off: Mapping[str, tuple[str, ...]]
    stations: Mapping[str, int]

    def longest_run(self, start: str) -> tuple[str, ...]:
        """From `start` outwards, always to where most stations lie ahead; the first listed of equals."""
        run = [start]
        while self.beyond[run[-1]]:
            run.append(max(self.beyond[run[-1]], key=lambda space: self.stations[space]))
        return tuple(run)


def on_the_way(house: HouseToWalk) -> tuple[str, ...]:
    """The spaces that the package needs and those that one passes to reach them, in the property's order."""
    needed = [space.code for space in house.shape.spaces if house.is_needed(space)]
    start = house.start
    came_from = {} if start is None else _ways_from(start.code, house, house.shape.space_by_code)
    wanted = set(needed)
    for code in needed:
        wanted.update(_way_back(code, came_from))
    return tuple(space.code for space in house.shape.spaces if space.code in wanted)


def _way_back(code: str, came_from: Mapping[str, str | None]) -> Iterator[str]:
    before = came_from.get(code)
    while before is not None:
        yield before
        before = came_from[before]


def zone_from(root: str, house: HouseToWalk, within: Collection[str]) -> Zone:
    """The tree of the shortest ways from `root` through the spaces `within`."""
    came_from = _ways_from(root, house, within)
    beyond: dict[str, list[str]] = {code: [] for code in came_from}
    closets_off: dict[str, list[str]] = {code: [] for code in came_from}
    stations: dict[str, int] = {}
    for code, before in reversed(came_from.items()):
        ahead = max((stations[space] for space in beyond[code]), default=0)
        stations[code] = ahead + _worth(house, code)
        if before is not None:
            leads_nowhere = not beyond[code] and not closets_off[code]
            is_closet = leads_nowhere and house.shape.space_by_code[code].kind == "closet"
            (closets_off if is_closet else beyond)[before].insert(0, code)
    return Zone(_frozen(beyond), _frozen(closets_off), stations)


def _frozen(lists: Mapping[str, list[str]]) -> dict[str, tuple[str, ...]]:
    return {code: tuple(spaces) for code, spaces in lists.items()}


def _worth(house: HouseToWalk, code: str) -> int:
    """What a space adds to a run: its stations; nothing outdoors, so that a run stays in the house."""
    space = house.shape.space_by_code[code]
    return 0 if space.kind == "exterior" else house.station_count(space)


def _ways_from(start: str, house: HouseToWalk, within: Collection[str]) -> dict[str, str | None]:
    """Whence the shortest way comes to each space, nearest first, so every space follows the one it is reached from."""
    came_from: dict[str, str | None] = {}
    found = 0
    ahead: list[tuple[int, int, str, str | None]] = [(0, found, start, None)]
    while ahead:
        far, _, code, before = heapq.heappop(ahead)
        if code in came_from:
            continue
        came_from[code] = before
        for near in house.beside[code]:
            if near in within and near not in came_from:
                found += 1
                heapq.heappush(ahead, (far + _detour(house, near), found, near, code))
    return came_from


def _detour(house: HouseToWalk, code: str) -> int:
    space = house.shape.space_by_code[code]
    hidden = house.package != "plan" and not house.is_shown(space)
    return _DETOUR.get(space.kind, 1) + 20 * hidden
