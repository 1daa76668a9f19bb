"""Traverses: how far a chain of courses misses the point it should close on, and the compass rule to spread the miss.

A course runs from one station to the next: its latitude (northing, y), its departure (easting, x) and its length, all
in one unit. The compass rule (Bowditch) corrects each course by −closure × length ÷ total length, in either direction.
"""

from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import NamedTuple

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
