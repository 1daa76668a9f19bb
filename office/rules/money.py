"""Money: one rounding function for the whole program, and the currency's own minor unit.

Amounts are `Decimal` in the currency's main unit ("12.50" dollars, never cents as float).
"""

from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache

from iso4217 import Currency


class UnknownCurrency(ValueError):
    """The code is not in the ISO 4217 list."""


@lru_cache(maxsize=256)
def minor_units(currency: str) -> int:
    """Digits after the point of a currency (USD 2, JPY 0, KWD 3); raises `UnknownCurrency`. Source: ISO 4217."""
    try:
        found = Currency(currency)
    except ValueError:
        raise UnknownCurrency(f"{currency!r} is not an ISO 4217 currency code") from None
    if found.exponent is None:
        raise UnknownCurrency(f"{currency} has no minor unit, so nothing can be priced in it")
    return int(found.exponent)


@lru_cache(maxsize=256)
def smallest(currency: str) -> Decimal:
    """The currency's smallest amount, 0.01 for USD."""
    return Decimal(1).scaleb(-minor_units(currency))


def half_up(value: Decimal, step: Decimal) -> Decimal:
    """`value` to the nearest multiple of `step`, halves away from zero."""
    multiples = (value / step).quantize(Decimal(1), rounding=ROUND_HALF_UP)
    return (multiples * step).quantize(step) if multiples else Decimal(0).quantize(step)


def rounded(amount: Decimal, currency: str) -> Decimal:
    """`amount` to the currency's minor unit, half up; a negative half goes away from zero, and there is no -0."""
    return half_up(amount, smallest(currency))
