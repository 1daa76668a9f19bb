"""Whole numbers in bulk, always exact: 64-bit integers while they fit, Python's own when they do not.

An array made here holds 64-bit integers only below 2⁴⁰, so that a million of them can be added and still fit.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

import numpy as np
import numpy.typing as npt

Whole = npt.NDArray[Any]
"""An array of int64, or of Python integers (dtype object)."""

ROOMY = 2**40
LARGEST = 2**62


@dataclass(frozen=True)
class Scaled:
    """Decimals in bulk: each is `digits` ÷ 10^`places`."""

    digits: Whole
    places: int

    def at(self, places: int) -> Whole:
        """The digits with more places after the point; `places` is not fewer than the column's own."""
        return product(self.digits, whole([10 ** (places - self.places)]))


def scaled(values: Sequence[Decimal]) -> Scaled:
    """The decimals with as many places as the longest needs."""
    places = places_of(values)
    return Scaled(whole([int(value.scaleb(places)) for value in values]), places)


def places_of(values: Iterable[Decimal]) -> int:
    """The most digits after the point."""
    return max((max(-int(value.as_tuple().exponent), 0) for value in values), default=0)


def whole(values: Sequence[int]) -> Whole:
    """The integers as an array."""
    return _narrow(np.array(values, dtype=object))


def peak(values: Whole) -> int:
    """The largest of the values, sign apart; 0 for none."""
    return max(int(values.max()), -int(values.min())) if values.size else 0


def product(values: Whole, factors: Whole) -> Whole:
    """values × factors."""
    return _narrow(_wide(values, peak(values) * peak(factors)) * factors)


def part(values: Whole, ratio: Fraction) -> Whole:
    """values × ratio, each rounded half up (halves away from zero) to a whole number; `ratio` is not negative."""
    above, below = 2 * ratio.numerator, 2 * ratio.denominator
    wide = _wide(values, peak(values) * above + below)
    sizes = (np.abs(wide) * above + ratio.denominator) // below
    return _narrow(np.where(wide < 0, -sizes, sizes))


def between(values: Whole, start: int, end: int | None) -> Whole:
    """How much of 0 to each value lies between start and end (None: no end)."""
    top = peak(values)
    low = min(start, top)
    return np.clip(values, low, max(low, top if end is None else min(end, top))) - low


def exact_sum(values: Whole) -> int:
    """The sum, as a Python integer."""
    return int(_wide(values, peak(values) * values.size).sum())


def _wide(values: Whole, bound: int) -> Whole:
    return values.astype(object) if bound >= LARGEST else values


def _narrow(values: Whole) -> Whole:
    return values.astype(np.int64 if peak(values) < ROOMY else object, copy=False)
