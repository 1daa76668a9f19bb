"""Where on a page the plan is: what its outer walls enclose, without sheet frames, title blocks, arrows and logos."""

from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING

from .enclosing import LEAST_ROOM, enclosed_by, hull_of, wide_parts
from .masks import Box
from .parts import Part, groups_of, parts_of_ink
from .sheet_marks import without_sheet_marks
from .working import Working, block_extreme

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Mask = NDArray[np.bool_]

OUTLINE_PIXELS = 512
"""The long side of the copy on which the outline is sought."""
LEAST_PIECE = 0.15
LEAST_PLAN = 0.02
"""A plan's pieces are at least so large beside the largest, and that one beside the page."""
MOSTLY_WALLED = 0.75
"""Thick walls must enclose this much of an outline before what thin lines add to it is left out."""


@dataclass(frozen=True)
class Outline:
    """The enclosed area as a mask in cells of `cell` × `cell` working pixels, and the area of the largest piece.

    `area` and `largest` are counted in cells.
    """

    inside: "Mask"
    cell: int
    area: int
    largest: int


def find_outline(working: Working) -> Outline | None:
    """The plan's outline, or None when the page encloses nothing that could be a plan."""
    import numpy as np

    cell = -(-max(working.darkest.shape) // OUTLINE_PIXELS)
    darkest = block_extreme(working.darkest, cell, "minimum")
    for level in working.tones.line_levels:
        groups = _plans(darkest <= level)
        inside = np.logical_or.reduce([np.zeros(darkest.shape, bool), *map(enclosed_by, groups)])
        found = _main_pieces(inside, cell)
        if found is not None:
            return found
    return None


def drawn_in(outline: Outline, walls: "Mask", at: Box) -> Outline:
    """`outline` less what only thin lines enclose (dimension lines, tables), where thick `walls` enclose most of it.

    `walls` is a mask, in working pixels, of what lies `at` a box that starts on a cell.
    """
    import numpy as np

    cells = block_extreme(walls, outline.cell, "maximum")
    top, left = at[0].start // outline.cell, at[1].start // outline.cell
    ink = np.zeros_like(outline.inside)
    ink[top : top + cells.shape[0], left : left + cells.shape[1]] = cells
    heavy = np.zeros_like(ink)
    for group in _plans(ink):
        heavy[group.box] |= hull_of(group)
    heavy &= outline.inside
    if heavy.sum() < MOSTLY_WALLED * outline.area:
        return outline
    apart = wide_parts(outline.inside & ~heavy, LEAST_ROOM * sqrt(outline.largest) / 2)
    return _main_pieces(heavy | apart, outline.cell) or outline


def _plans(ink: "Mask") -> list[Part]:
    return groups_of(without_sheet_marks(parts_of_ink(ink), ink.shape), max(ink.shape))


def _main_pieces(inside: "Mask", cell: int) -> Outline | None:
    import numpy as np
    from scipy import ndimage

    labels, count = ndimage.label(inside)
    sizes = np.bincount(labels.ravel(), minlength=count + 1)
    sizes[0] = 0
    largest = int(sizes.max())
    if largest < LEAST_PLAN * inside.size:
        return None
    kept = sizes >= LEAST_PIECE * largest
    return Outline(kept[labels], cell, int(sizes[kept].sum()), largest)
