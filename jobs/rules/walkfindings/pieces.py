"""Disjoint sets of stations, joined where two lie near each other."""

from collections.abc import Iterable, Sequence
from decimal import Decimal
from itertools import combinations, product

from jobs.rules.walk import Spot


class Pieces:
    """The places `shown`, each a piece of its own until joined; `spots` is by place, `reach` in metres.

    Two places are near when they lie within `reach`, or one has no coordinates. Coordinates are compared as whole
    multiples of the finest digit written: exact, and quick enough to judge a walk while it is logged.
    """

    def __init__(self, shown: Sequence[int], spots: Sequence[Spot | None], reach: Decimal) -> None:
        self._piece_of = {place: [place] for place in shown}
        digits = max((_digits(metres) for spot in spots if spot for metres in spot), default=0)
        digits = max(digits, _digits(reach))
        self._spots = [spot and (_whole(spot.x, digits), _whole(spot.y, digits)) for spot in spots]
        self._reach_squared = _whole(reach, digits) ** 2

    def join(self, group: Sequence[int], beside: Sequence[int]) -> None:
        """Join every near couple of the two groups; a group beside itself joins all within it."""
        couples: Iterable[tuple[int, int]] = combinations(group, 2) if group is beside else product(group, beside)
        piece_of = self._piece_of
        for one, other in couples:
            if piece_of[one] is not piece_of[other] and self._near(one, other):
                self._merge(piece_of[one], piece_of[other])

    def _near(self, one: int, other: int) -> bool:
        here, there = self._spots[one], self._spots[other]
        if here is None or there is None:
            return True
        return (here[0] - there[0]) ** 2 + (here[1] - there[1]) ** 2 <= self._reach_squared

    def _merge(self, one: list[int], other: list[int]) -> None:
        larger, smaller = (one, other) if len(one) >= len(other) else (other, one)
        larger.extend(smaller)
        self._piece_of.update(dict.fromkeys(smaller, larger))

    def found(self) -> list[list[int]]:
        """The places of each piece, in order."""
        return [sorted(piece) for piece in {id(piece): piece for piece in self._piece_of.values()}.values()]


def _digits(metres: Decimal) -> int:
    """How many stand behind the point."""
    exponent = metres.as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 0


def _whole(metres: Decimal, digits: int) -> int:
    return int(metres.scaleb(digits))
