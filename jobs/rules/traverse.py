"""Traverses: how far a chain of courses misses the point it should close on, and the compass rule to spread the miss.

A course runs from one station to the next: its latitude (northing, y), its departure (easting, x) and its length, all
in one unit. The compass rule (Bowditch) corrects each course by −closure × length ÷ total length, in either direction.
"""

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from itertools import pairwise
from typing import NamedTuple

from jobs.rules.walk import Spot, Station, distance, in_walk_order

ZERO = Decimal(0)


class Course(NamedTuple):
    latitude: Decimal
    departure: Decimal
    length: Decimal


class Offset(NamedTuple):
    """How far one point lies from another."""

    latitude: Decimal
    departure: Decimal

    @property
    def length(self) -> Decimal:
        return (self.latitude**2 + self.departure**2).sqrt()


NOWHERE = Offset(ZERO, ZERO)


def total_length(courses: Iterable[Course]) -> Decimal:
    return sum((course.length for course in courses), ZERO)


def closure(courses: Sequence[Course], ends_at: Offset = NOWHERE) -> Offset:
    """Where the courses end, less where they should: `ends_at` from their start, itself for a closed traverse."""
    return Offset(
        sum((course.latitude for course in courses), ZERO) - ends_at.latitude,
        sum((course.departure for course in courses), ZERO) - ends_at.departure,
    )


def linear_misclosure(courses: Sequence[Course], ends_at: Offset = NOWHERE) -> Decimal:
    return closure(courses, ends_at).length


def relative_precision(courses: Sequence[Course], ends_at: Offset = NOWHERE) -> Decimal | None:
    """N of "1 in N": total length over linear misclosure; None when the traverse closes exactly."""
    miss = linear_misclosure(courses, ends_at)
    return total_length(courses) / miss if miss else None


def corrections(courses: Sequence[Course], ends_at: Offset = NOWHERE) -> tuple[Offset, ...]:
    """What the compass rule adds to each course; raises `ValueError` when they have no length to spread it on."""
    miss, total = closure(courses, ends_at), total_length(courses)
    if total <= 0:
        raise ValueError("expected courses with a length")
    return tuple(Offset(-miss.latitude * c.length / total, -miss.departure * c.length / total) for c in courses)


def adjusted(courses: Sequence[Course], ends_at: Offset = NOWHERE) -> tuple[Offset, ...]:
    """The courses by the compass rule: they end at `ends_at` to the precision of the decimal context."""
    return tuple(
        Offset(course.latitude + added.latitude, course.departure + added.departure)
        for course, added in zip(courses, corrections(courses, ends_at), strict=True)
    )


def adjusted_spots(stations: Iterable[Station]) -> Mapping[int, Spot]:
    """Where the stations of a walk lie once every tie-in meets its station; by number, metres.

    Each tie-in closes a traverse from the station it meets, or from the tie-in before it when that came later, and
    the compass rule spreads the miss over the stations between. What a tie-in has fixed is held; what follows it
    moves along. Stations without coordinates are left out, and so are second ones of a number.
    """
    chain = _Chain()
    place_of: dict[int, int] = {}
    for station in in_walk_order(stations):
        if station.spot is None or station.number in place_of:
            continue
        chain.carry_on(station.spot)
        if station.ties_to in place_of:
            chain.close_on(place_of[station.ties_to])
        place_of[station.number] = len(place_of)
    return {number: chain.spots[place] for number, place in place_of.items()}


class _Chain:
    """Spots in the order of capture, adjusted from one closing to the next."""

    def __init__(self) -> None:
        self.spots: list[Spot] = []
        self._held = 0
        self._shift = NOWHERE

    def carry_on(self, spot: Spot) -> None:
        self.spots.append(_moved(spot, self._shift))

    def close_on(self, meets: int) -> None:
        """Bring the last spot onto the one it meets, spreading the miss from the last spot that is held."""
        fell, last = self.spots[-1], len(self.spots) - 1
        start = max(self._held, meets)
        courses = [_course(here, there) for here, there in pairwise(self.spots[start:])]
        if total_length(courses):
            self._lay(start, adjusted(courses, _offset(self.spots[start], self.spots[meets])))
        self.spots[-1] = self.spots[meets]
        moved = _offset(fell, self.spots[-1])
        self._shift = Offset(self._shift.latitude + moved.latitude, self._shift.departure + moved.departure)
        self._held = last

    def _lay(self, start: int, offsets: Iterable[Offset]) -> None:
        for place, offset in enumerate(offsets, start=start):
            self.spots[place + 1] = _moved(self.spots[place], offset)


def _offset(here: Spot, there: Spot) -> Offset:
    return Offset(there.y - here.y, there.x - here.x)


def _moved(spot: Spot, by: Offset) -> Spot:
    return Spot(spot.x + by.departure, spot.y + by.latitude)


def _course(here: Spot, there: Spot) -> Course:
    return Course(*_offset(here, there), distance(here, there))
