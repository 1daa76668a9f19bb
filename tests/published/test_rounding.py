"""Half-up rounding of money against the General Decimal Arithmetic tests and Python's own decimal."""

import json
from decimal import ROUND_HALF_UP, Decimal

from hypothesis import given
from hypothesis import strategies as st

from office.rules.money import half_up, rounded


def test_the_half_up_cases_of_the_general_decimal_arithmetic_tests(checks):
    cases = json.loads((checks / "rounding" / "half_up.json").read_text())  # IBM, quantize, rounding half_up
    assert len(cases) == 137
    for case in cases:
        found = half_up(Decimal(case["value"]), Decimal(1).scaleb(-case["places"]))
        assert found == Decimal(case["half_up"]), case["id"]
        assert -found.as_tuple().exponent == case["places"], case["id"]


@given(st.decimals(-(10**12), 10**12, places=6), st.integers(0, 4))
def test_steps_of_ten_are_those_of_the_decimal_module(value, places):
    step = Decimal(1).scaleb(-places)
    assert half_up(value, step) == value.quantize(step, rounding=ROUND_HALF_UP)


@given(
    st.decimals(-(10**9), 10**9, places=4),
    st.sampled_from([Decimal("0.05"), Decimal("0.25"), Decimal("2.5"), Decimal(10)]),
)
def test_any_step_gives_the_nearest_multiple(value, step):
    found = half_up(value, step)
    assert found % step == 0
    assert abs(found - value) <= step / 2
    assert abs(found) >= abs(value) or abs(found - value) < step / 2  # halves go away from zero


def test_there_is_no_negative_zero():
    assert str(rounded(Decimal("-0.004"), "USD")) == "0.00"
    assert str(rounded(Decimal("-0.4"), "JPY")) == "0"
