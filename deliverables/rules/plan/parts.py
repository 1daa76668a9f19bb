"""Connected parts of a page's ink, and the groups of them that make one plan each."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from .masks import Box, long_side

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Mask = NDArray[np.bool_]

LEAST_PART = 0.05
LEAST_WALLS = 0.09
"""Walls are parts that long, as a share of the page's long side; shorter ones, longer than words, only in a group."""
NEIGHBOUR = 0.02
"""Walls whose boxes lie no further apart than this share belong to one plan."""


@dataclass(frozen=True)
class Part:
    """One connected run of ink: its mask on the page and its bounding box."""

    mask: "Mask"
    box: Box

    @property
    def height(self) -> int:
        return int(self.box[0].stop - self.box[0].start)

    @property
    def width(self) -> int:
        return int(self.box[1].stop - self.box[1].start)

    @property
    def long(self) -> int:
        """The longer of height and width."""
        return max(self.height, self.width)

    @property
    def cut(self) -> "Mask":
        """The mask in its own box."""
        return self.mask[self.box]


def parts_of_ink(ink: "Mask") -> list[Part]:
    """The connected parts of `ink`, also over corners, that are longer than words are."""
    import numpy as np
    from scipy import ndimage

    numbers, _ = ndimage.label(ink, np.ones((3, 3)))
    boxes = enumerate(ndimage.find_objects(numbers), 1)
    return [Part(numbers == number, box) for number, box in boxes if long_side(box) >= LEAST_PART * max(ink.shape)]


def groups_of(parts: list[Part], page_long: int) -> list[Part]:
    """Parts whose boxes meet or nearly meet, joined: one group for each plan on the page."""
    groups = [part for part in parts if part.long >= LEAST_WALLS * page_long]
    small = [part for part in parts if part.long < LEAST_WALLS * page_long]
    groups = _joined(groups, round(NEIGHBOUR * page_long))
    for part in small:
        home = next((n for n, group in enumerate(groups) if _near(group.box, part.box, 0)), None)
        if home is not None:
            groups[home] = _union(groups[home], part)
    return groups


def _joined(groups: list[Part], reach: int) -> list[Part]:
    merged: list[Part] = []
    for part in groups:
        met = [other for other in merged if _near(other.box, part.box, reach)]
        merged = [other for other in merged if not any(other is one for one in met)]
        for other in met:
            part = _union(part, other)
        merged.append(part)
    return merged if len(merged) == len(groups) else _joined(merged, reach)


def _near(one: Box, other: Box, reach: int) -> bool:
    return all(a.start - reach <= b.stop and b.start - reach <= a.stop for a, b in zip(one, other, strict=True))


def _union(one: Part, other: Part) -> Part:
    spans = [slice(min(a.start, b.start), max(a.stop, b.stop)) for a, b in zip(one.box, other.box, strict=True)]
    return Part(one.mask | other.mask, (spans[0], spans[1]))
