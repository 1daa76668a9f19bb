"""ANSI Z765: finished area of a one-family house, above and below grade apart.

Source: ANSI Z765-2021, section 3, as the Fannie Mae Selling Guide B4-1.3-05 and appraisal boards quote it.
"""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from deliverables.rules.area_plan import Grade, Kind, Part, Plan, Unit
from deliverables.rules.area_polygon import area_within, ring_area
from deliverables.rules.area_sums import Steps, Sums, area_of, by_kind_and_grade

STEPS = Steps(sqft=Decimal("1"), m2=Decimal("0.01"))


class Limits(NamedTuple):
    """Least ceiling heights: of a room, under its beams and ducts, and under a slope."""

    room: Fraction
    beam: Fraction
    slope: Fraction


LIMITS = {
    Unit.FT: Limits(Fraction(7), Fraction("6.33"), Fraction(5)),  # 6 ft 4 in to two places
    Unit.M: Limits(Fraction("2.13"), Fraction("1.93"), Fraction("1.52")),
}


def sums(part: Part, grade: Grade, unit: Unit) -> Sums:
    """Where the area of one part is reported."""
    if part.kind not in (Kind.LIVING, Kind.STAIR):
        return by_kind_and_grade(part, grade, unit)
    area = ring_area(part.polygon)
    if not part.connected:
        return Sums(not_connected=area)
    counted = area if part.kind is Kind.STAIR else finished_area(part, LIMITS[unit])
    if grade is Grade.BELOW:
        return Sums(below_grade_finished=counted, low_ceiling=area - counted)
    return Sums(above_grade_finished=counted, low_ceiling=area - counted)


def finished_area(part: Part, limits: Limits) -> Fraction:
    """How much of a room is under enough ceiling to count."""
    full = area_at(part, limits.room)
    if part.sloped:
        reachable = area_at(part, limits.slope)
        return reachable if full and 2 * full >= reachable else Fraction(0)
    return area_at(part, limits.beam) if 2 * full >= ring_area(part.polygon) else full


def area_at(part: Part, height: Fraction) -> Fraction:
    """The area of a part whose ceiling is at that height or over it."""
    return ring_area(part.polygon) - area_within(
        part.polygon, [piece.polygon for piece in part.ceiling if piece.height < height]
    )


def notes(plan: Plan, by_level: Mapping[int, Sums]) -> Iterator[str]:
    limits = LIMITS[plan.unit]
    yield (
        "Measuring rule: ANSI Z765-2021, section 3, as quoted in the Fannie Mae Selling Guide B4-1.3-05, for "
        "one-family houses. The plan is taken as drawn to the outside faces of the exterior walls."
    )
    yield "Area above and below grade is never one figure; a level that lies partly below the ground is below grade."
    yield (
        f"Counted under ceilings of {shown(limits.room)} {plan.unit} or more, and {shown(limits.beam)} under the beams "
        f"and ducts of a room that mostly has that height; under a slope from {shown(limits.slope)}, when half of "
        f"that or more reaches {shown(limits.room)}. Stairs count on the level they descend from, whatever the height."
    )
    for level in plan.levels:
        if low := by_level[level.number].low_ceiling:
            yield (
                f"Level {level.number} ({level.name}): {area_of(low, plan.unit, STEPS)} is under too low a ceiling "
                "and is left out."
            )


def shown(limit: Fraction) -> str:
    return f"{float(limit):g}"
