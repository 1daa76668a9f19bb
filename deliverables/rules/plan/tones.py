"""The levels of a drawing: how light its paper is, how dark its ink, and whether it is light on dark.

Levels are 0 (black) to 255 (white) of the strongest channel, so that a saturated colour never counts as dark.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Levels = NDArray[np.uint8]

MIDDLE = 128
LEAST_CONTRAST = 40
"""Levels between paper and the darkest pixels; under it a page is blank."""
LEAST_PAPER = 0.15
LEAST_BORDER = 0.55
FEW_LEVELS = 3
LEAST_FEW = 0.83
"""A photograph has no level near which so many of its pixels lie; or few of its border's do, and it does not consist
of a few levels either, as a drawing cut close to its walls does."""
NEAR_PAPER = 16
INK_FROM = 0.25
STRUCTURE_FROM = 0.45
OUTLINE_FROM = (0.3, 0.12)
SOLID_FROM = 0.52
"""How far from paper (0) to ink (1) a pixel must lie to be a line, and to be solid; mid-grey (0.5) is not solid."""
DARK = 135
NEAR_INK = 0.15
"""In a pale drawing what is lighter than this level is solid only when it is nearly of the ink's own level."""
INK_QUANTILE = 0.1
"""Ink is the tenth percentile of what is darker than paper: below grey fills, above black letters on pale walls."""


@dataclass(frozen=True)
class Tones:
    """Levels of paper and ink, after inversion if any, and whether the page looks like a photograph."""

    paper: int
    ink: int
    inverted: bool
    photograph: bool

    @property
    def structure(self) -> int:
        """A pixel at or under this level belongs to a line or a fill."""
        return round(self.paper - STRUCTURE_FROM * (self.paper - self.ink))

    @property
    def line_levels(self) -> tuple[int, ...]:
        """The level of the lines that make an outline, and a lighter one for walls paler than the words."""
        return tuple(round(self.paper - faint * (self.paper - self.ink)) for faint in OUTLINE_FROM)

    @property
    def solid(self) -> int:
        """A pixel at or under this level is dark enough for a void."""
        contrast = self.paper - self.ink
        return round(min(self.paper - SOLID_FROM * contrast, max(DARK, self.ink + NEAR_INK * contrast)))

    @property
    def blank(self) -> bool:
        """Nothing is drawn."""
        return self.paper - self.ink < LEAST_CONTRAST


def tones_of(levels: "Levels") -> Tones:
    """The tones of a page of `levels` (height, width)."""
    import numpy as np

    counts = np.bincount(levels[::2, ::2].ravel(), minlength=256)
    border = np.concatenate([levels[0], levels[-1], levels[:, 0], levels[:, -1]])
    inverted = _mode(counts) < MIDDLE and float(np.median(border)) < MIDDLE
    if inverted:
        counts, border = counts[::-1], 255 - border
    paper = MIDDLE + _mode(counts[MIDDLE:])
    return Tones(paper, _ink_level(counts, paper), inverted, _is_photograph(counts, border, paper))


def _is_photograph(counts: "NDArray[np.intp]", border: "Levels", paper: int) -> bool:
    import numpy as np

    if _near(counts, paper).sum() < LEAST_PAPER * counts.sum():
        return True
    if (np.abs(border.astype(np.int16) - paper) <= NEAR_PAPER).mean() >= LEAST_BORDER:
        return False
    left = counts.copy()
    for _ in range(FEW_LEVELS):
        _near(left, _mode(left))[:] = 0
    return bool(left.sum() > (1 - LEAST_FEW) * counts.sum())


def _near(counts: "NDArray[np.intp]", level: int) -> "NDArray[np.intp]":
    return counts[max(0, level - NEAR_PAPER) : level + NEAR_PAPER + 1]


def _mode(counts: "NDArray[np.intp]") -> int:
    import numpy as np

    middle = int(np.convolve(counts, np.ones(9), "same").argmax())
    start = max(0, middle - 4)
    return start + int(counts[start : middle + 5].argmax())


def _ink_level(counts: "NDArray[np.intp]", paper: int) -> int:
    import numpy as np

    drawn = np.flatnonzero(counts[:paper])
    if drawn.size == 0:
        return paper
    last = int(paper - INK_FROM * (paper - drawn[0]))
    running = np.cumsum(counts[: last + 1])
    return int(np.searchsorted(running, INK_QUANTILE * running[-1]))
