"""The part of a page inside the plan's outline, and the measures everything on it is held against."""

from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING

from .masks import Box, box_of
from .outline import Outline
from .tones import Tones
from .working import Working

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Mask = NDArray[np.bool_]
    Levels = NDArray[np.uint8]


@dataclass(frozen=True)
class Ground:
    """The outline's box, `at` its place on the page in working pixels; `area` is that of the plan's largest piece."""

    at: Box
    inside: "Mask"
    lightest: "Levels"
    darkest: "Levels"
    tones: Tones
    area: int

    @property
    def side(self) -> float:
        """The side of a square as large as the plan."""
        return sqrt(self.area)

    @property
    def solid(self) -> "Mask":
        """What is dark throughout."""
        return (self.lightest <= self.tones.solid) & self.inside

    @property
    def lines(self) -> "Mask":
        """What belongs to any line or fill."""
        return (self.darkest <= self.tones.structure) & self.inside


def ground_of(working: Working, outline: Outline) -> Ground:
    """The ground inside `outline`."""
    rows, columns = box_of(outline.inside)
    height, width = working.lightest.shape
    at = (
        slice(rows.start * outline.cell, min(height, rows.stop * outline.cell)),
        slice(columns.start * outline.cell, min(width, columns.stop * outline.cell)),
    )
    area = outline.largest * outline.cell**2
    return Ground(at, inside_at(outline, at), working.lightest[at], working.darkest[at], working.tones, area)


def inside_at(outline: Outline, at: Box) -> "Mask":
    """What of a box that starts on a cell lies inside `outline`, in working pixels."""
    rows, columns = (slice(side.start // outline.cell, -(-side.stop // outline.cell)) for side in at)
    cells = outline.inside[rows, columns].repeat(outline.cell, 0).repeat(outline.cell, 1)
    return cells[: at[0].stop - at[0].start, : at[1].stop - at[1].start]
