"""IPMS 3B, residential: what one household has to itself, to the inside faces of its outer walls.

Source, second-hand: International Property Measurement Standards, Residential Buildings (2016). Inner walls and
space under a low ceiling count, finish does not matter; openings to below do not count; what lies outside the
rooms is stated apart.
"""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from fractions import Fraction

from deliverables.rules.area_plan import Kind, Part, Plan, Unit
from deliverables.rules.area_polygon import area_within
from deliverables.rules.area_sums import COUNTED, Steps, Sums, area_of, by_kind_and_grade

STEPS = Steps(sqft=Decimal("0.01"), m2=Decimal("0.01"))
sums = by_kind_and_grade
LOW = {Unit.M: Fraction("1.5"), Unit.FT: Fraction("1.5") / Fraction("0.3048")}


def notes(plan: Plan, by_level: Mapping[int, Sums]) -> Iterator[str]:
    in_all = sum((getattr(sums, name) for sums in by_level.values() for name in COUNTED), Fraction(0))
    yield (
        "Measuring rule: IPMS: Residential Buildings (2016), IPMS 3B. The plan is taken as drawn to the inside faces "
        "of the outer walls, inner walls included; a plan drawn to outside faces gives more than IPMS 3B."
    )
    yield (
        f"IPMS 3B does not ask about finish or grade: its figure is above grade, below grade and unfinished together, "
        f"{area_of(in_all, plan.unit, STEPS)}. Garages and porches are stated apart and left out of it."
    )
    low = sum((low_area(part, plan.unit) for level in plan.levels for part in level.parts), Fraction(0))
    if low:
        yield f"Included, with less than 1.5 m of height: {area_of(low, plan.unit, STEPS)}."


def low_area(part: Part, unit: Unit) -> Fraction:
    """The area that counts though its ceiling is lower than 1.5 m."""
    if part.kind not in (Kind.LIVING, Kind.STAIR, Kind.UNFINISHED):
        return Fraction(0)
    return area_within(part.polygon, [piece.polygon for piece in part.ceiling if piece.height < LOW[unit]])
