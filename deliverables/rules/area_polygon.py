"""Polygons: exact areas by fractions, and whether outlines cross, overlap or cover one another.

Areas are exact for the coordinates as written. Whether two outlines overlap is a question for the drawing's
own accuracy: a sliver that is on average no wider than `SLIVER` is the rounding of a drawing, not an overlap.
"""

from collections import deque
from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import islice, pairwise
from typing import NamedTuple

import shapely
from shapely.validation import explain_validity

Point = tuple[Fraction, Fraction]
Ring = tuple[Point, ...]

SLIVER = 0.01
"""In the drawing's unit, a hundredth of a foot or of a metre."""


class Edge(NamedTuple):
    """A side of a ring that is not upright, from left to right; `ring` tells whose it is."""

    left: Point
    right: Point
    ring: int

    def height(self, x: Fraction) -> Fraction:
        (x1, y1), (x2, y2) = self.left, self.right
        return y1 + (y2 - y1) * (x - x1) / (x2 - x1)


def ring_area(ring: Ring) -> Fraction:
    """The area inside, in square units, exact (the surveyor's cross products)."""
    return abs(sum((x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in sides(ring)), Fraction(0))) / 2


def sides(ring: Ring) -> Iterator[tuple[Point, Point]]:
    return pairwise((*ring, ring[0]))


def area_within(ring: Ring, others: Sequence[Ring]) -> Fraction:
    """The area of `ring` that lies inside at least one of the others, exact.

    The plane is cut into upright strips at every corner and crossing; inside a strip no two sides cross, so
    what lies between neighbouring sides is a trapezium.
    """
    rings = [ring, *(other for other in others if _boxes_meet(ring, other))]
    edges = sorted(edge for index, one in enumerate(rings) for edge in _edges(one, index))
    cuts = sorted({x for edge in edges for x in (edge.left[0], edge.right[0])} | set(_crossings(edges)))
    waiting, across, total = deque(edges), list[Edge](), Fraction(0)
    for left, right in pairwise(cuts):
        across = [edge for edge in across if edge.right[0] > left]
        while waiting and waiting[0].left[0] <= left:
            across.append(waiting.popleft())
        total += _strip_area(across, left, right)
    return total


def _edges(ring: Ring, index: int) -> list[Edge]:
    return [Edge(min(a, b), max(a, b), index) for a, b in sides(ring) if a[0] != b[0]]


def _crossings(edges: Sequence[Edge]) -> Iterator[Fraction]:
    """Where sides of different rings cross; the sides in order of their left ends."""
    for index, one in enumerate(edges):
        for other in islice(edges, index + 1, None):
            if other.left[0] >= one.right[0]:
                break
            if one.ring != other.ring:
                yield from _crossing(one, other)


def _crossing(one: Edge, other: Edge) -> Iterator[Fraction]:
    left, right = other.left[0], min(one.right[0], other.right[0])
    before, after = one.height(left) - other.height(left), one.height(right) - other.height(right)
    if before * after < 0:
        yield left + (right - left) * before / (before - after)


def _strip_area(across: Sequence[Edge], left: Fraction, right: Fraction) -> Fraction:
    """The area inside ring 0 and any other ring between two cuts, from the sides that run across."""
    middle = (left + right) / 2
    inside: set[int] = set()
    total = Fraction(0)
    for (low, ring), (high, _) in pairwise(sorted((edge.height(middle), edge.ring) for edge in across)):
        inside ^= {ring}
        if 0 in inside and len(inside) > 1:
            total += high - low
    return total * (right - left)


def _boxes_meet(one: Ring, other: Ring) -> bool:
    return all(
        min(p[axis] for p in one) < max(p[axis] for p in other)
        and min(p[axis] for p in other) < max(p[axis] for p in one)
        for axis in (0, 1)
    )


def outline_fault(ring: Ring) -> str | None:
    """Why this is no outline of a floor, or None: too few corners, no area, crossing or touching itself."""
    if len(set(ring)) < 3:
        return "expected a polygon of three corners or more"
    shape = shape_of(ring)
    if shape.convex_hull.area == 0:
        return "expected a polygon that encloses an area"
    if shape.is_valid:
        return None
    return f"expected a polygon that neither crosses nor touches itself ({explain_validity(shape)})"


def overlapping(one: Ring, other: Ring) -> bool:
    """Whether two outlines share more than a sliver."""
    return _boxes_meet(one, other) and _wider_than_a_sliver(shape_of(one).intersection(shape_of(other)))


def covered(ring: Ring, covers: Sequence[Ring]) -> bool:
    """Whether the covers together leave no more than slivers of `ring` bare."""
    return not _wider_than_a_sliver(shape_of(ring).difference(shapely.union_all([shape_of(one) for one in covers])))


def _wider_than_a_sliver(left: shapely.Geometry) -> bool:
    return any(2 * piece.area > SLIVER * piece.length for piece in shapely.get_parts(left))


def shape_of(ring: Ring) -> shapely.Polygon:
    return shapely.Polygon([(float(x), float(y)) for x, y in ring])
