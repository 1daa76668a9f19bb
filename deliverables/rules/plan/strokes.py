"""How thick a drawing's walls and lines are."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Depth = NDArray[np.float64]

RIDGE = 0.6
"""A pixel is on the middle line of a stroke when no neighbour lies this much deeper; down a slope one lies 0.7 to 1."""


@dataclass(frozen=True)
class Habit:
    """What may count as wall: no thicker than `thickest` and, all such strips together, at least `run` long.

    Both are shares of the side of a square as large as the plan; the outer walls alone run about 4 sides. And no
    shorter than this share `of_longest`, the strips of the thickness that runs longest, or it is a few narrow voids.
    """

    thickest: float
    run: float
    of_longest: float


HAIR = 3
"""Strokes of so few pixels may be hatching; their length says nothing about the walls."""
USUAL = Habit(0.08, 1.2, 0.2)
HEAVY = Habit(0.10, 0.4, 0.0)
"""A plan of massive walls, or of few walls beside its voids."""


@dataclass(frozen=True)
class Strokes:
    """Thickness, in pixels, of the thickest walls and of the most common stroke; 0 without any."""

    wall: int
    hair: int

    @property
    def line(self) -> int:
        """What is no thicker than this is no wall; 0 to 2 when lines and walls cannot be told apart."""
        return min(self.hair + 2, self.wall // 2)

    @property
    def thin(self) -> int:
        """The thickness of lines that are surely no walls."""
        return min(self.hair, self.wall // 2)


def strokes_of(depth: "Depth", side: float, habit: Habit) -> Strokes:
    """The strokes of a mask, given its pixels' `depth`; `side` is the root of the plan's inside area, in pixels."""
    import numpy as np
    from scipy import ndimage

    middle = depth[(depth > 0) & (depth > ndimage.maximum_filter(depth, 3) - RIDGE)]
    runs = np.bincount(np.rint(2 * middle - 1).astype(np.intp), minlength=2)
    return Strokes(_wall(runs, side, habit), int(runs.argmax()))


def _wall(runs: "NDArray[np.intp]", side: float, habit: Habit) -> int:
    thickest = min(len(runs) - 1, int(habit.thickest * side))
    bands = {thick: runs[-(-3 * thick // 4) : thick + 1] for thick in range(1, thickest + 1)}
    longest = max((int(band.sum()) for thick, band in bands.items() if thick > HAIR), default=0)
    for thick, band in reversed(bands.items()):
        if band.sum() >= max(habit.run * side, habit.of_longest * longest):
            return thick - len(band) + 1 + int(band.argmax())
    return 0
