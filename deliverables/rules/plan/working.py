"""A page brought down to a working size in which lines, walls and fills are still apart."""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeVar

from .tones import Tones, tones_of

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from PIL import Image

    Levels = NDArray[np.uint8]
    T = TypeVar("T", np.uint8, np.bool_)

WORKING_PIXELS = 1_100_000


@dataclass(frozen=True)
class Working:
    """Blocks of `factor` × `factor` page pixels: the level of the lightest and of the darkest part of each.

    A line of any width darkens its block; a block is dark in `lightest` only when it is dark throughout, so hatching
    does not turn solid. Above a factor of 1 the parts are means of 2 × 2 pixels, so that a speck does not count.
    """

    lightest: "Levels"
    darkest: "Levels"
    factor: int
    tones: Tones


def working_copy(picture: "Image.Image") -> Working:
    """`picture` (L or RGB) at a working size of at most about 1.1 megapixels."""
    factor = _factor(picture.width * picture.height)
    halved = picture.reduce(2) if factor > 1 else picture
    levels = page_levels(halved)
    tones = tones_of(levels)
    if tones.inverted:
        levels = page_levels(halved, inverted=True)
        tones = replace(tones_of(levels), inverted=True)
    if factor <= 2:
        return Working(levels, levels, factor, tones)
    return Working(
        block_extreme(levels, factor // 2, "maximum"), block_extreme(levels, factor // 2, "minimum"), factor, tones
    )


def page_levels(picture: "Image.Image", *, inverted: bool = False) -> "Levels":
    """The level of the strongest channel at every pixel; of a drawing light on dark, as its negative has it."""
    import numpy as np
    from PIL import ImageChops

    channels = picture.split()
    extreme = channels[0]
    for channel in channels[1:]:
        extreme = ImageChops.darker(extreme, channel) if inverted else ImageChops.lighter(extreme, channel)
    return np.asarray(ImageChops.invert(extreme) if inverted else extreme)


def block_extreme(levels: "NDArray[T]", side: int, extreme: str) -> "NDArray[T]":
    """The `maximum` or `minimum` of every `side` × `side` block; the last row and column are repeated to fill one."""
    import numpy as np

    take = getattr(np, extreme)
    pad = [(0, -levels.shape[0] % side), (0, -levels.shape[1] % side)]
    full = np.pad(levels, pad, mode="edge") if any(after for _, after in pad) else levels
    rows = full[0::side]
    for offset in range(1, side):
        rows = take(rows, full[offset::side])
    blocks = rows[:, 0::side]
    for offset in range(1, side):
        blocks = take(blocks, rows[:, offset::side])
    return blocks


def _factor(pixels: int) -> int:
    factor = 1
    while pixels / factor**2 > WORKING_PIXELS:
        factor = 2 if factor == 1 else factor + 2
    return factor
