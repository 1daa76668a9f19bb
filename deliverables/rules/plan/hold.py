"""Whether a solid is held by the plan's walls, as a space is, or stands free, as furniture, columns and arrows do."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from .masks import Box, depth_in, grown, numbered, opened, placed, widened

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Mask = NDArray[np.bool_]
    Numbers = NDArray[np.int32]

LEAST_WALL = 0.1
"""What is shorter than this share of the plan's side cannot hold a void: words, symbols."""
FREE_SHARE = 0.025
FREE_BLOCK_SHARE = 0.015
BLOCK_FILL = 0.9
"""A free solid is a space only from this share of the plan on: less for an upright rectangle, as no furniture is."""
FREE_EXCESS = 1.5
"""How much larger than a free solid the ink may be of which it is part: a word that touches it."""
MOST_TIES = 3
"""More lines than this run from a solid that stands in hatching."""
HATCH_WINDOW = 0.1
HATCH_DENSITY = 0.17
"""Thin lines are hatching where they darken this much of a window this share of the plan's side wide."""
FRAMED = 0.42
FRAME_REACH = 0.03
"""Walls hold a solid when they follow two of its four sides or nearly, within this share of the plan's side."""
THICKEST_STRIP = 0.07
STRIP_LENGTH = 10
"""A solid no wider than this share of the plan's side and so many times as long is a stretch of thicker wall."""


@dataclass(frozen=True)
class Hold:
    """The connected parts of a plan's walls, of all its lines, and of its lines without hatching; in working pixels."""

    walls: "Parts"
    lines: "Parts"
    open_lines: "Parts"
    side: float
    across: int

    def is_space(self, box: Box, mask: "Mask") -> bool:
        """Whether the solid `mask` at `box` is held by walls or too large to be furniture, and no stretch of wall."""
        area = int(mask.sum())
        if self._is_strip(mask, area):
            return False
        least = FREE_BLOCK_SHARE if area >= BLOCK_FILL * mask.size else FREE_SHARE
        return area >= least * self.side**2 or not self.is_free(box, mask) or self._is_framed(box, mask)

    def is_free(self, box: Box, mask: "Mask") -> bool:
        """Whether nothing but hatching ties the solid to the rest of the drawing."""
        if self.walls is not self.lines and not self._is_untied(box, mask, self.walls):
            return False
        if self._is_untied(box, mask, self.lines):
            return True
        return self._ties(box, mask) > MOST_TIES and self._is_untied(box, mask, self.open_lines)

    def _is_strip(self, mask: "Mask", area: int) -> bool:
        wide = 2 * float(depth_in(mask).max())
        return wide <= THICKEST_STRIP * self.side and area >= STRIP_LENGTH * wide**2

    def _is_untied(self, box: Box, mask: "Mask", parts: "Parts") -> bool:
        """Whether the parts that the solid covers end with it."""
        import numpy as np

        own = parts.under(box, mask)
        near = int(np.isin(parts.numbers[grown(box, self.across, parts.numbers.shape)], own).sum())
        return int(parts.areas[own].sum()) == near and near <= FREE_EXCESS * int(mask.sum())

    def _ties(self, box: Box, mask: "Mask") -> int:
        """How many lines run from the solid."""
        from scipy import ndimage

        around = grown(box, 4, self.lines.numbers.shape)
        solid = placed(mask, box, around)
        ring = widened(solid, 3) & ~widened(solid, 1)
        return int(ndimage.label(ring & (self.lines.numbers[around] > 0))[1])

    def _is_framed(self, box: Box, mask: "Mask") -> bool:
        import numpy as np
        from scipy import ndimage

        parts = self.open_lines if self.walls is self.lines else self.walls
        reach = round(FRAME_REACH * self.side)
        around = grown(box, reach + 1, parts.numbers.shape)
        numbers = parts.numbers[around]
        others = (numbers > 0) & ~np.isin(numbers, parts.under(box, mask))
        solid = placed(mask, box, around)
        edge = solid & ~ndimage.binary_erosion(solid)
        return float(widened(others, reach)[edge].mean()) >= FRAMED


@dataclass(frozen=True)
class Parts:
    """Connected parts by number (0: none), and the area of each."""

    numbers: "Numbers"
    areas: "NDArray[np.intp]"

    def under(self, box: Box, mask: "Mask") -> "Numbers":
        """The numbers of the parts that `mask` covers."""
        import numpy as np

        found = np.unique(self.numbers[box][mask])
        return found[found > 0]


def hold_of(walls: "Mask | None", lines: "Mask", hair: int, side: float, across: int) -> Hold:
    """The hold of a plan whose thin lines are `hair` thick; `walls` is None where walls are no thicker than lines."""
    line_parts = _long_parts(lines, side)
    wall_parts = line_parts if walls is None else _long_parts(walls, side)
    return Hold(wall_parts, line_parts, _long_parts(_without_hatching(lines, hair, side), side), side, across)


def _long_parts(ink: "Mask", side: float) -> Parts:
    import numpy as np

    numbers = numbered(ink, longer_than=LEAST_WALL * side)
    return Parts(numbers, np.bincount(numbers.ravel()))


def _without_hatching(lines: "Mask", hair: int, side: float) -> "Mask":
    """`lines` less the thin ones that stand close together: hatching, words, treads."""
    import numpy as np
    from scipy import ndimage

    thin = lines & ~opened(lines, hair + 2)
    share = ndimage.uniform_filter(thin.astype(np.float32), round(HATCH_WINDOW * side))
    return np.asarray(lines & ~(thin & (share >= HATCH_DENSITY)))
