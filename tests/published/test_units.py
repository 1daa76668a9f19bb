"""Areas and lengths against the exact conversions of NIST SP 811 and tables made from them."""

import json
from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from office.rules.units import (
    KILOMETRES_PER_MILE,
    METRES_PER_FOOT,
    SQUARE_METRES_PER_SQUARE_FOOT,
    AreaUnit,
    converted_area,
)


@pytest.fixture(scope="session")
def units(checks):
    return json.loads((checks / "units" / "units.json").read_text())


def half_up(value: Decimal, places: int) -> str:
    return str(value.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP))


def test_the_exact_factors(units):
    exact = {row["from"]: Decimal(row["value"]) for row in units["exact"]}  # NIST SP 811 appendix B
    assert exact["1 foot"] == METRES_PER_FOOT
    assert exact["1 square foot"] == SQUARE_METRES_PER_SQUARE_FOOT
    assert exact["1 mile"] == KILOMETRES_PER_MILE * 1000


def test_areas_both_ways(units):
    rows = units["areas"]
    assert len(rows) == 17
    for row in rows:
        if "sqft" in row:
            metric = converted_area(Decimal(row["sqft"]), AreaUnit.SQFT, AreaUnit.M2)
            assert metric == Decimal(row["m2_exact"])
            assert (half_up(metric, 2), half_up(metric, 4)) == (row["m2_2dp_half_up"], row["m2_4dp_half_up"])
        else:
            imperial = converted_area(Decimal(row["m2"]), AreaUnit.M2, AreaUnit.SQFT)
            assert (half_up(imperial, 2), half_up(imperial, 0)) == (row["sqft_2dp_half_up"], row["sqft_whole_half_up"])


def test_feet_and_inches(units):
    for row in units["feet_inches"]:
        feet = row["feet"] + Decimal(row["inches"]) / 12
        assert half_up(feet, 6) == row["feet_decimal_6dp"]
        assert (row["feet"] * 12 + row["inches"]) * METRES_PER_FOOT / 12 == Decimal(row["m_exact"])


@given(st.decimals(0, 10**7, places=4))
def test_there_and_back_is_the_same_area(area):
    there = converted_area(area, AreaUnit.SQFT, AreaUnit.M2)
    assert converted_area(there, AreaUnit.M2, AreaUnit.SQFT) == area
    for unit in AreaUnit:
        assert converted_area(area, unit, unit) == area
