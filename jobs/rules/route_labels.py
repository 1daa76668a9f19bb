"""Exact search for the order of least travel: dynamic programming over labels, layer by layer.

A label is a part of a day: the stops served, the last of them, when its service begins and the travel so far.
One layer holds all labels of as many stops. Of two labels with the same stops served and the same last one, the
one that is neither earlier nor cheaper is dropped. A label is also dropped when too many stops can no longer be
reached in time, or when its travel and a lower bound of the rest reach a known order's.

After Dumas, Desrosiers, Gélinas and Solomon, "An optimal algorithm for the traveling salesman problem with time
windows", Operations Research 43(2), 1995: from memory; the bound by reduced rows and columns is the assignment
problem's usual first step.
"""

import time
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from jobs.rules.route import Stops

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

NEVER = 1 << 40
WORD = 64
CELLS_AT_ONCE = 4_000_000
"""Labels × next stops × stops left that are looked at in one go; bounds the memory and how late a deadline is seen."""


class Exhausted(Exception):
    """More labels than allowed, or more time."""


class Problem(NamedTuple):
    """A day in arrays; entry 0 is home, and `minutes` and `lead` go from row to column.

    `lead` is service and travel; `latest[i, j]` the last beginning at i from which j is reached in time, by the
    quickest way through any stops; `leave` and `enter` bound the travel out of and into each stop from below.
    """

    leaves_at: int
    minutes: Ints
    lead: Ints
    opens: Ints
    closes: Ints
    latest: Ints
    leave: Ints
    enter: Ints


class Layer(NamedTuple):
    """Labels of as many stops; one row each. `parent` is the row in the layer before; `served` holds one bit a stop."""

    parent: Ints
    last: Ints
    begins: Ints
    travel: Ints
    served: NDArray[np.uint64]

    def rows(self, chosen: Bools | NDArray[np.intp] | slice) -> "Layer":
        parent, last, begins, travel = (column[chosen] for column in self[:4])
        return Layer(parent, last, begins, travel, self.served[chosen])


def problem_of(stops: Stops) -> Problem:
    minutes = np.array(stops.minutes, dtype=np.int64)
    service = np.array([stop.service for stop in stops.stops], dtype=np.int64)
    opens = np.array([stop.opens for stop in stops.stops], dtype=np.int64)
    closes = np.array([stop.closes for stop in stops.stops], dtype=np.int64)
    opens[0], service[0] = stops.leaves_at, 0
    lead = minutes + service[:, None]
    latest = closes - _quickest(lead)
    leave, enter = _bounds(minutes, opens[:, None] + lead <= closes)
    return Problem(stops.leaves_at, minutes, lead, opens, closes, latest, leave, enter)


def _quickest(lead: Ints) -> Ints:
    """Least time between beginnings of service, through any stops but home (Floyd and Warshall)."""
    least = lead.copy()
    np.fill_diagonal(least, 0)
    for through in range(1, len(lead)):
        least = np.minimum(least, least[:, [through]] + least[through])
    return least


def _bounds(minutes: Ints, possible: Bools) -> tuple[Ints, Ints]:
    """Least travel out of each stop, and what the cheapest way in costs beyond that."""
    usable = np.where(possible, minutes, NEVER)
    np.fill_diagonal(usable, NEVER)
    leave = usable.min(axis=1)
    return leave, (usable - leave[:, None]).min(axis=0)


def least_travel(
    problem: Problem, left_out: int, ceiling: int | None, most_labels: int, deadline: float
) -> list[int] | None:
    """The order of least travel that leaves out exactly `left_out` stops, or None when there is none below `ceiling`.

    Raises `Exhausted` when a layer would hold more than `most_labels`, or at `deadline` (of `time.monotonic`).
    """
    layers = [_at_home(problem)]
    for _ in range(len(problem.minutes) - 1 - left_out):
        parts = [
            _followers(problem, part, offset, left_out, ceiling)
            for part, offset in _parts(layers[-1], len(problem.minutes), deadline)
        ]
        layer = _undominated(_joined(parts))
        if not layer.last.size:
            return None
        if layer.last.size > most_labels:
            raise Exhausted
        layers.append(layer)
    return _cheapest_order(problem, layers, ceiling)


def _at_home(problem: Problem) -> Layer:
    served = np.zeros((1, -(-len(problem.minutes) // WORD)), dtype=np.uint64)
    served[0, 0] = 1
    nothing = np.zeros(1, dtype=np.int64)
    return Layer(nothing, nothing, nothing + problem.leaves_at, nothing, served)


def _parts(layer: Layer, stops: int, deadline: float) -> Iterator[tuple[Layer, int]]:
    """The layer in pieces of bounded size, each with the row it begins at."""
    size = max(1, CELLS_AT_ONCE // stops**2)
    for offset in range(0, len(layer.last), size):
        if time.monotonic() > deadline:
            raise Exhausted
        yield layer.rows(slice(offset, offset + size)), offset


def _followers(problem: Problem, layer: Layer, offset: int, left_out: int, ceiling: int | None) -> Layer:
    """Every label that serves one stop more, save those that can lead nowhere."""
    served = _unpacked(layer.served, len(problem.minutes))
    begins = np.maximum(layer.begins[:, None] + problem.lead[layer.last], problem.opens)
    allowed = ~served & (begins <= problem.closes)
    if ceiling is not None:
        allowed &= _least_with(problem, layer, served, left_out) < ceiling
    row, stop = np.nonzero(allowed)
    begin = begins[row, stop]
    lost = (problem.latest[stop] < begin[:, None]) & ~served[row]
    hopeful = (lost.sum(axis=1) <= left_out) & (begin <= problem.latest[stop, 0])
    row, stop, begin = row[hopeful], stop[hopeful], begin[hopeful]
    travel = layer.travel[row] + problem.minutes[layer.last[row], stop]
    return Layer(row + offset, stop, begin, travel, _marked(layer.served[row], stop))


def _least_with(problem: Problem, layer: Layer, served: Bools, left_out: int) -> Ints:
    """Travel of the whole day at least, for each label (row) and next stop (column)."""
    travel = layer.travel[:, None] + problem.minutes[layer.last]
    if left_out:
        return travel
    others: Ints = ~served @ (problem.leave + problem.enter)
    least: Ints = travel + others[:, None] - problem.enter + problem.enter[0]
    return least


def _unpacked(served: NDArray[np.uint64], size: int) -> Bools:
    bits = np.unpackbits(served.astype("<u8").view(np.uint8), axis=1, bitorder="little", count=size)
    return bits.astype(np.bool_)


def _marked(served: NDArray[np.uint64], stop: Ints) -> NDArray[np.uint64]:
    word, bit = np.divmod(stop, WORD)
    served[np.arange(len(stop)), word] |= np.left_shift(np.uint64(1), bit.astype(np.uint64))
    return served


def _joined(parts: list[Layer]) -> Layer:
    return Layer(*(np.concatenate(columns) for columns in zip(*parts, strict=True)))


def _undominated(layer: Layer) -> Layer:
    """By stops served and last stop, the labels that no other matches in both time and travel."""
    if not layer.last.size:
        return layer
    layer = layer.rows(np.lexsort((layer.begins, layer.travel, layer.last, *layer.served.T)))
    fresh = (np.diff(layer.last) != 0) | (np.diff(layer.served.view(np.int64), axis=0) != 0).any(axis=1)
    group = np.concatenate([[0], np.cumsum(fresh)])
    # Counting each group down from the one before lets one running minimum serve them all.
    falling = layer.begins - group * (int(layer.begins.max()) + 1)
    earliest_before = np.concatenate([[falling[0] + 1], np.minimum.accumulate(falling)[:-1]])
    return layer.rows(falling < earliest_before)


def _cheapest_order(problem: Problem, layers: list[Layer], ceiling: int | None) -> list[int] | None:
    last = layers[-1]
    way_home = np.where(last.last > 0, problem.lead[last.last, 0], 0)
    home_travel = np.where(last.last > 0, problem.minutes[last.last, 0], 0)
    travel = np.where(last.begins + way_home <= problem.closes[0], last.travel + home_travel, NEVER)
    if not travel.size or travel.min() >= (NEVER if ceiling is None else ceiling):
        return None
    return _traced(layers, int(travel.argmin()))


def _traced(layers: list[Layer], row: int) -> list[int]:
    order = []
    for layer in reversed(layers[1:]):
        order.append(int(layer.last[row]))
        row = int(layer.parent[row])
    return order[::-1]
