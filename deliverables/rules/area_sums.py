"""Sums of floor area by how they are reported, exact until they are written down."""

from dataclasses import dataclass, fields
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from deliverables.rules.area_plan import Grade, Kind, Part, Unit
from deliverables.rules.area_polygon import ring_area
from office.rules.money import half_up
from office.rules.units import SQUARE_METRES_PER_SQUARE_FOOT

ZERO = Fraction(0)
M2_PER_SQFT = Fraction(SQUARE_METRES_PER_SQUARE_FOOT)


@dataclass(frozen=True)
class Sums:
    """Areas in square units of the plan. The last five are left out of the area of the house."""

    above_grade_finished: Fraction = ZERO
    below_grade_finished: Fraction = ZERO
    unfinished: Fraction = ZERO
    garage: Fraction = ZERO
    porch: Fraction = ZERO
    open_below: Fraction = ZERO
    low_ceiling: Fraction = ZERO
    not_connected: Fraction = ZERO

    def __add__(self, other: "Sums") -> "Sums":
        return Sums(*(getattr(self, field.name) + getattr(other, field.name) for field in fields(self)))


COUNTED = ("above_grade_finished", "below_grade_finished", "unfinished")
EXCLUDED = ("garage", "porch", "open_below", "low_ceiling", "not_connected")


def by_kind_and_grade(part: Part, grade: Grade, _unit: Unit) -> Sums:
    """The whole of a part by what it is, with no rule about height, connection or finish."""
    area = ring_area(part.polygon)
    if part.kind not in (Kind.LIVING, Kind.STAIR):
        return Sums(**{part.kind.value: area})
    return Sums(below_grade_finished=area) if grade is Grade.BELOW else Sums(above_grade_finished=area)


@dataclass(frozen=True)
class Steps:
    """What areas are rounded to, once, when they are written down."""

    sqft: Decimal
    m2: Decimal


class Area(NamedTuple):
    """One area in both units, each rounded half up from the exact figure."""

    sqft: Decimal
    m2: Decimal

    def __str__(self) -> str:
        return f"{self.m2} m² ({self.sqft} sq ft)"


def area_of(exact: Fraction, unit: Unit, steps: Steps) -> Area:
    """`exact` square units of the plan as an area."""
    m2 = exact if unit is Unit.M else exact * M2_PER_SQFT
    return Area(half_up(decimal_of(m2 / M2_PER_SQFT), steps.sqft), half_up(decimal_of(m2), steps.m2))


def decimal_of(exact: Fraction) -> Decimal:
    """Exact when 28 digits hold it."""
    return Decimal(exact.numerator) / Decimal(exact.denominator)
