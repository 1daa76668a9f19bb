"""By how many pixels the drawing on one page is shifted against that on another: phase correlation.

The phase of the cross-power spectrum of two pictures of the same thing is that of a pure shift; its inverse transform
is a single peak there (Kuglin and Hines, 1975). Scale and direction are taken to be the same.
"""

from itertools import product
from math import ceil, sqrt
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ink = NDArray[np.float32]

Shift = tuple[int, int]
"""Right and down, in pixels: what is at (x, y) on the old page is at (x + right, y + down) on the new one."""

COARSE_PIXELS = 1_500_000
WINDOW = 1536
SMOOTHING = 0.25
"""Frequencies above this share of the sampling rate hold compression noise; they count little."""
PEAKS = 4
ROUND_SIZE = 64
"""Sizes are filled up to a multiple of this, which a fast transform takes apart into small factors."""


def shift_between(old: "Ink", new: "Ink") -> Shift:
    """The shift of the drawing from `old` to `new`, arrays (height, width) in which paper is 0; (0, 0) without ink."""
    factor = max(1, ceil(sqrt(max(old.size, new.size) / COARSE_PIXELS)))
    coarse = _best(_means(old, factor), _means(new, factor), max(old.size, new.size))
    rough = (coarse[0] * factor, coarse[1] * factor)
    return rough if factor == 1 else _refined(old, new, rough, 2 * factor)


def overlap(old: tuple[int, int], new: tuple[int, int], shift: Shift) -> tuple[slice, slice]:
    """Rows and columns of a page of size `new` (width, height) that one of size `old` covers once shifted."""
    left, top = max(0, shift[0]), max(0, shift[1])
    right, bottom = min(new[0], old[0] + shift[0]), min(new[1], old[1] + shift[1])
    return slice(top, max(top, bottom)), slice(left, max(left, right))


def _best(old: "Ink", new: "Ink", reach: int) -> Shift:
    """Of the highest peaks and no shift at all, the one under which the two differ least."""
    peaks = [(0, 0), *_peaks(old, new, reach)]
    return min(peaks, key=lambda shift: (_difference(old, new, shift), abs(shift[0]) + abs(shift[1])))


def _peaks(old: "Ink", new: "Ink", reach: int) -> list[Shift]:
    """The shifts of at most `reach` with the highest correlation."""
    import numpy as np

    size = [-(-max(a, b) // ROUND_SIZE) * ROUND_SIZE for a, b in zip(old.shape, new.shape, strict=True)]
    cross = np.fft.rfft2(new, size) * np.conj(np.fft.rfft2(old, size))
    strength = np.abs(cross)
    if not strength.max() > 0:
        return []
    correlation = np.fft.irfft2(cross / (strength + 1e-6 * strength.max()) * _low_pass(size), size)
    highest = np.argpartition(correlation.ravel(), -PEAKS)[-PEAKS:]
    shifts = [_signed(np.unravel_index(peak, correlation.shape), size) for peak in highest]
    return [shift for shift in shifts if max(map(abs, shift)) <= reach]


def _signed(peak: "tuple[np.intp, ...]", size: list[int]) -> Shift:
    down, right = (int(at) - length if at > length // 2 else int(at) for at, length in zip(peak, size, strict=True))
    return right, down


def _low_pass(size: list[int]) -> "NDArray[np.float32]":
    import numpy as np

    down, across = np.fft.fftfreq(size[0])[:, None], np.fft.rfftfreq(size[1])[None, :]
    return np.exp(-(down**2 + across**2) / (2 * SMOOTHING**2)).astype(np.float32)


def _difference(old: "Ink", new: "Ink", shift: Shift) -> float:
    """How much of the ink of both has no match under `shift`, with what has no counterpart counted in full."""
    import numpy as np

    rows, columns = overlap(old.shape[::-1], new.shape[::-1], shift)
    mine = new[rows, columns]
    other = old[_back(rows, shift[1]), _back(columns, shift[0])]
    matched = float(np.minimum(mine, other).sum(dtype=np.float64))
    return float(old.sum(dtype=np.float64) + new.sum(dtype=np.float64)) - 2 * matched


def _back(span: slice, by: int) -> slice:
    return slice(span.start - by, span.stop - by)


def _means(ink: "Ink", factor: int) -> "Ink":
    import numpy as np

    if factor == 1:
        return ink
    height, width = (-(-length // factor) * factor for length in ink.shape)
    full = np.pad(ink, [(0, height - ink.shape[0]), (0, width - ink.shape[1])])
    return full.reshape(height // factor, factor, width // factor, factor).mean((1, 3), dtype=np.float32)  # type: ignore[no-any-return]


def _refined(old: "Ink", new: "Ink", rough: Shift, reach: int) -> Shift:
    """`rough` corrected to the pixel by the part of the pages that holds most ink."""
    rows, columns = overlap(old.shape[::-1], new.shape[::-1], rough)
    rows, columns = _inkiest(new, rows, columns)
    mine, other = new[rows, columns], old[_back(rows, rough[1]), _back(columns, rough[0])]
    right, down = _best(other, mine, reach)
    return rough[0] + right, rough[1] + down


def _inkiest(ink: "Ink", rows: slice, columns: slice) -> tuple[slice, slice]:
    """The window of at most `WINDOW` a side, on a grid of half windows, with most ink."""
    tops = range(rows.start, max(rows.start + 1, rows.stop - WINDOW // 2), WINDOW // 2)
    lefts = range(columns.start, max(columns.start + 1, columns.stop - WINDOW // 2), WINDOW // 2)
    windows = (
        (slice(top, min(rows.stop, top + WINDOW)), slice(left, min(columns.stop, left + WINDOW)))
        for top, left in product(tops, lefts)
    )
    return max(windows, key=lambda window: float(ink[window].sum()))
