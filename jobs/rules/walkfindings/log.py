"""A logged walk beside its property: what every part of the walk check reads."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Literal

from jobs.rules.property_shape import Level, PackageCode, PropertyShape, Space
from jobs.rules.walk import Station, distance_between
from office.rules.money import half_up

Severity = Literal["must", "should"]
MILLIMETRE = Decimal("0.001")


@dataclass(frozen=True)
class WalkLimits:
    """Distances in metres, each still in order at the figure itself. Common practice, no source: offices differ."""

    pair_apart_m: Decimal = Decimal("0.15")
    tie_in_should_m: Decimal = Decimal("0.30")
    tie_in_must_m: Decimal = Decimal("1.00")
    jump_m: Decimal = Decimal(6)
    tour_link_m: Decimal = Decimal(8)


@dataclass(frozen=True)
class Finding:
    """One thing missing or wrong. `level`, `space` (a code) and `station` say where, as far as it has a place."""

    code: str
    severity: Severity
    level: int | None
    space: str | None
    station: int | None
    text: str


@dataclass(frozen=True)
class Pair:
    """Two stations on one spot, first with an opening open, then closed."""

    open_half: Station
    closed_half: Station

    @property
    def opening_closed(self) -> str | None:
        """What the second half shows closed; it need not repeat what the first one names."""
        return self.closed_half.opening or self.open_half.opening


@dataclass(frozen=True)
class WalkLog:
    """`stations` are in walk order. References of a station that the log does not meet are None here."""

    shape: PropertyShape
    stations: tuple[Station, ...]
    package: PackageCode
    limits: WalkLimits

    @property
    def has_plan(self) -> bool:
        return self.package != "tour"

    @property
    def has_tour(self) -> bool:
        return self.package != "plan"

    @cached_property
    def by_number(self) -> Mapping[int, Station]:
        """The first station of each number."""
        return {station.number: station for station in reversed(self.stations)}

    @cached_property
    def place_of(self) -> Mapping[int, int]:
        """Where in the walk the first station of each number stands, counted from 0."""
        return {station.number: place for place, station in reversed([*enumerate(self.stations)])}

    def space_of(self, station: Station) -> Space | None:
        return self.shape.space_by_code.get(station.space)

    def in_stair(self, station: Station) -> bool:
        space = self.space_of(station)
        return space is not None and space.kind == "stair"

    def is_private(self, station: Station) -> bool:
        space = self.space_of(station)
        return space is not None and space.private

    def levels_of(self, station: Station) -> tuple[int, ...]:
        """The levels where its space is; the level logged when the property does not know the space."""
        space = self.space_of(station)
        return (station.level,) if space is None else self.shape.levels_of(space)

    def tied(self, station: Station) -> Station | None:
        """The earlier station that it ties in to."""
        found = None if station.ties_to is None else self.by_number.get(station.ties_to)
        return found if found is not None and found.number < station.number else None

    def partner(self, station: Station) -> Station | None:
        """The other station that it names as its pair."""
        found = None if station.pair_of is None else self.by_number.get(station.pair_of)
        return found if found is not None and found.number != station.number else None

    @cached_property
    def pairs(self) -> tuple[Pair, ...]:
        """The pairs named by `pair_of`, then those of a plan and a tour station that name one opening on one spot."""
        named = {frozenset((one.number, two.number)): _pair(one, two) for one, two in self._named_as_pairs()}
        return (*named.values(), *self._pairs_by_spot())

    def _named_as_pairs(self) -> Iterable[tuple[Station, Station]]:
        for station in self.stations:
            partner = self.partner(station)
            if partner is not None:
                yield partner, station

    def _pairs_by_spot(self) -> Iterable[Pair]:
        opened: dict[str, list[Station]] = {}
        for first in self.stations:
            if first.captured_for == "plan" and first.opening:
                opened.setdefault(first.opening, []).append(first)
        for second in self.stations:
            if second.captured_for == "tour" and second.opening and second.pair_of is None:
                yield from (
                    Pair(first, second) for first in opened.get(second.opening, ()) if self.on_one_spot(first, second)
                )

    def on_one_spot(self, one: Station, other: Station) -> bool:
        apart = distance_between(one, other)
        return apart is not None and apart <= self.limits.pair_apart_m and one.level == other.level

    @cached_property
    def _open_halves(self) -> frozenset[int]:
        """Numbers of the stations whose spot the tour shows from a second, closed station."""
        return frozenset(pair.open_half.number for pair in self.pairs if pair.closed_half.for_tour)

    def is_kept_out(self, station: Station) -> bool:
        """Whether the public tour must not show it; never when the package has no tour.

        Kept out are stations captured for the plan only (closets, opened doors, the first of a pair), every station
        in a private space whatever its pass, and the first of a pair even when it was logged for both, because the
        tour shows that spot with the opening closed.
        """
        hidden = not station.for_tour or self.is_private(station) or station.number in self._open_halves
        return self.has_tour and hidden

    @cached_property
    def shown(self) -> tuple[int, ...]:
        """The places in the walk of the stations that make the public tour."""
        kept_in = (place for place, station in enumerate(self.stations) if not self.is_kept_out(station))
        return tuple(kept_in) if self.has_tour else ()

    def find(self, code: str, severity: Severity, station: Station, text: str) -> Finding:
        """A finding at a station."""
        return Finding(code, severity, station.level, station.space, station.number, text)

    def space_label(self, code: str) -> str:
        space = self.shape.space_by_code.get(code)
        return code if space is None else space.label

    def level_label(self, number: int) -> str:
        level: Level | None = self.shape.level_by_number.get(number)
        return f"level {number}" if level is None else level.label

    def opening_label(self, code: str) -> str:
        """ "the door between Hall and Closet 3"."""
        opening = self.shape.opening_by_code.get(code)
        if opening is None:
            return f"opening {code}"
        kind = "opening" if opening.kind == "open" else opening.kind.replace("_", " ")
        one, other = opening.between
        if one == other:
            return f"the {kind} in {self.space_label(one)}"
        return f"the {kind} between {self.space_label(one)} and {self.space_label(other)}"


def _pair(one: Station, other: Station) -> Pair:
    """The plan station is the open half; of two of one kind the earlier is."""
    first, second = sorted((one, other), key=lambda half: (half.captured_for != "plan", half.number))
    return Pair(first, second)


def metres(distance: Decimal) -> str:
    """ "0.420 m", to the millimetre."""
    return f"{half_up(distance, MILLIMETRE):f} m"
