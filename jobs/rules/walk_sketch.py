"""A sketch of each level from the coordinates of a walk, and how well its loops close.

Stations are drawn where the compass rule puts them (jobs.rules.traverse); a space is the ground around its stations,
as nothing else of its outline is known. Lengths are in units of the drawing, which is `WIDTH` wide, y downwards; texts
hold them with a point, whatever the language, as SVG wants it.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from jobs.rules.property_shape import PropertyShape
from jobs.rules.traverse import Course, adjusted_spots, linear_misclosure, relative_precision, total_length
from jobs.rules.walk import Spot, Station, distance, in_walk_order

WIDTH, EDGE = 600, 40
AROUND_M, LEAST_M = 0.6, 4.0
MOVED_M = Decimal("0.05")


@dataclass(frozen=True)
class SketchSpace:
    """The ground around a space's stations: an SVG path, and where its name stands."""

    name: str
    path: str
    x: str
    y: str
    private: bool


@dataclass(frozen=True)
class SketchStation:
    number: int
    captured_for: str
    kept_out: bool
    x: str
    y: str


@dataclass(frozen=True)
class SketchLine:
    """`kind`: run (from one station to the next) or moved (from where the log had it to where it is drawn)."""

    kind: str
    x1: str
    y1: str
    x2: str
    y2: str


@dataclass(frozen=True)
class LevelSketch:
    """One level. `metre` is the length of a metre in the drawing."""

    number: int
    name: str
    width: int
    height: int
    metre: str
    spaces: tuple[SketchSpace, ...]
    lines: tuple[SketchLine, ...]
    stations: tuple[SketchStation, ...]


@dataclass(frozen=True)
class Closure:
    """A loop closed by a tie-in: by how much it misses, over which path, and N of "1 in N" (None when it does not)."""

    station: int
    ties_to: int
    misses_m: Decimal
    path_m: Decimal
    one_in: int | None


def sketch_levels(
    shape: PropertyShape, stations: Iterable[Station], keep_out: Sequence[int] = ()
) -> tuple[LevelSketch, ...]:
    """The levels on which a station has coordinates, the lowest first."""
    walked = in_walk_order(stations)
    spots = adjusted_spots(walked)
    drawn = tuple(station for station in walked if station.number in spots and station.spot is not None)
    sheets = (_Sheet(shape, level.number, drawn, spots, frozenset(keep_out)) for level in shape.storeys)
    return tuple(sheet.sketch() for sheet in sheets if sheet.stations)


def closures(stations: Iterable[Station]) -> tuple[Closure, ...]:
    """One for each tie-in to an earlier station, where all stations on the way have coordinates."""
    walked = [station for station in in_walk_order(stations) if station.spot is not None]
    place_of = {station.number: place for place, station in reversed([*enumerate(walked)])}
    found = []
    for place, station in enumerate(walked):
        met = None if station.ties_to is None else place_of.get(station.ties_to)
        if met is not None and met < place:
            found.append(_closure(station, walked[met : place + 1]))
    return tuple(found)


def _closure(station: Station, loop: Sequence[Station]) -> Closure:
    courses = [_course(one, other) for one, other in pairwise(spot for spot in (s.spot for s in loop) if spot)]
    one_in = relative_precision(courses) if total_length(courses) else None
    return Closure(
        station.number, loop[0].number, linear_misclosure(courses), total_length(courses),
        None if one_in is None else int(one_in),
    )  # fmt: skip


def _course(here: Spot, there: Spot) -> Course:
    return Course(there.y - here.y, there.x - here.x, distance(here, there))


class _Sheet:
    """One level's stations, and the way from metres to the drawing."""

    def __init__(
        self,
        shape: PropertyShape,
        level: int,
        walked: Sequence[Station],
        spots: Mapping[int, Spot],
        keep_out: frozenset[int],
    ) -> None:
        self._shape, self._level, self._walked, self._keep_out = shape, level, walked, keep_out
        self.stations = tuple(station for station in walked if station.level == level)
        self._spots = {number: (float(spot.x), float(spot.y)) for number, spot in spots.items()}
        here = [self._spots[station.number] for station in self.stations] or [(0.0, 0.0)]
        self._left = min(x for x, _ in here) - AROUND_M
        self._top = max(y for _, y in here) + AROUND_M
        wide = max(x for x, _ in here) + AROUND_M - self._left
        deep = self._top - (min(y for _, y in here) - AROUND_M)
        self._metre = (WIDTH - 2 * EDGE) / max(wide, deep, LEAST_M)
        self._height = round(deep * self._metre) + 2 * EDGE

    def sketch(self) -> LevelSketch:
        level = self._shape.level_by_number[self._level]
        return LevelSketch(
            number=level.number, name=level.name, width=WIDTH, height=self._height, metre=f"{self._metre:.1f}",
            spaces=tuple(self._drawn_spaces()), lines=tuple(self._drawn_lines()),
            stations=tuple(self._drawn_station(station) for station in self.stations),
        )  # fmt: skip

    def _at(self, x: float, y: float) -> tuple[str, str]:
        return f"{EDGE + (x - self._left) * self._metre:.1f}", f"{EDGE + (self._top - y) * self._metre:.1f}"

    def _drawn_station(self, station: Station) -> SketchStation:
        x, y = self._at(*self._spots[station.number])
        return SketchStation(station.number, station.captured_for, station.number in self._keep_out, x, y)

    def _drawn_spaces(self) -> Iterator[SketchSpace]:
        from shapely.geometry import MultiPoint

        for code in dict.fromkeys(station.space for station in self.stations):
            here = [self._spots[station.number] for station in self.stations if station.space == code]
            ground = MultiPoint(here).convex_hull.buffer(AROUND_M, quad_segs=3)
            corners = [self._at(x, y) for x, y in ground.exterior.coords[:-1]]
            x, y = self._at(ground.centroid.x, ground.bounds[3])
            space = self._shape.space_by_code.get(code)
            path = "M" + " L".join(f"{across} {down}" for across, down in corners) + " Z"
            yield SketchSpace(space.label if space else code, path, x, y, bool(space and space.private))

    def _drawn_lines(self) -> Iterator[SketchLine]:
        here = {station.number for station in self.stations}
        for before, station in pairwise(self._walked):
            if before.number in here and station.number in here:
                yield self._line("run", self._spots[before.number], self._spots[station.number])
        for station in self.stations:
            yield from self._moved(station)

    def _moved(self, station: Station) -> Iterator[SketchLine]:
        """From where the log put it, where the adjustment moved it by enough to see."""
        if station.spot is None:
            return
        logged = (float(station.spot.x), float(station.spot.y))
        x, y = self._spots[station.number]
        if distance(station.spot, Spot(Decimal(x), Decimal(y))) > MOVED_M:
            yield self._line("moved", logged, (x, y))

    def _line(self, kind: str, one: tuple[float, float], other: tuple[float, float]) -> SketchLine:
        return SketchLine(kind, *self._at(*one), *self._at(*other))
