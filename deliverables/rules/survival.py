"""The Kaplan–Meier estimate: how likely something is still to come after a time, when some of it has not come yet.

Source: Kaplan and Meier, Journal of the American Statistical Association 53(282), 1958.
"""

from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

Integers = NDArray[np.int64]
Shares = NDArray[np.float64]

ALMOST = 1e-9
"""Shares nearer than this are told apart by exact fractions."""


@dataclass(frozen=True)
class Curve:
    """One step per time at which something came, in order: how many could still come just before it, how many
    came, and the share still to come after it. Arrays of one length, empty when nothing came yet.
    """

    times: Integers
    at_risk: Integers
    events: Integers
    surviving: Shares

    @property
    def seen(self) -> int:
        """How many came in all."""
        return int(self.events.sum())


def kaplan_meier(durations: Integers, came: NDArray[np.bool_]) -> Curve:
    """The curve of whole-number `durations`; where not `came`, the wait was still on when it was last looked at.

    A wait that is cut short at the very time of an event still counts as at risk. Raises `ValueError` for a
    duration below zero or arrays of unequal length.
    """
    if durations.shape != came.shape:
        raise ValueError("expected as many durations as marks of what came")
    if durations.size and durations.min() < 0:
        raise ValueError("expected durations of zero or more")
    times, events = np.unique(durations[came], return_counts=True)
    at_risk = durations.size - np.searchsorted(np.sort(durations), times, "left")
    surviving = np.cumprod((at_risk - events) / at_risk, dtype=np.float64)
    return Curve(times, at_risk.astype(np.int64), events.astype(np.int64), surviving)


def quantile(curve: Curve, share: Fraction) -> int | None:
    """The first time at which the estimate is at most 1 − `share`; None when it never falls so far."""
    left = 1 - share
    for step in np.flatnonzero(curve.surviving <= float(left) + ALMOST):
        if curve.surviving[step] < float(left) - ALMOST or exact_surviving(curve, int(step)) <= left:
            return int(curve.times[step])
    return None


def exact_surviving(curve: Curve, step: int) -> Fraction:
    """The share still to come after a step, as an exact fraction."""
    left = Fraction(1)
    for at_risk, events in zip(curve.at_risk[: step + 1].tolist(), curve.events[: step + 1].tolist(), strict=True):
        left *= Fraction(at_risk - events, at_risk)
    return left
