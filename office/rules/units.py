"""Length and area: exact conversions by the international foot (1 ft = 0.3048 m, NIST SP 811 appendix B)."""

from decimal import Decimal
from enum import StrEnum

METRES_PER_FOOT = Decimal("0.3048")
SQUARE_METRES_PER_SQUARE_FOOT = METRES_PER_FOOT**2
KILOMETRES_PER_MILE = Decimal("1.609344")
STORED_AREA = Decimal("0.0001")


class AreaUnit(StrEnum):
    """The unit an office, a rate card or a plan speaks in."""

    SQFT = "sqft"
    M2 = "m2"


AREA_WORDS = {AreaUnit.SQFT: "sq ft", AreaUnit.M2: "m²"}


def converted_area(area: Decimal, from_unit: AreaUnit, to_unit: AreaUnit) -> Decimal:
    """`area` in another unit, exact going to m² and to 28 digits going to sq ft; never rounded here."""
    if from_unit == to_unit:
        return area
    if to_unit == AreaUnit.M2:
        return area * SQUARE_METRES_PER_SQUARE_FOOT
    return area / SQUARE_METRES_PER_SQUARE_FOOT
