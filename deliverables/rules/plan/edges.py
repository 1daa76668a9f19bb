"""A void's exact edges, back on the page's own pixels."""

from typing import TYPE_CHECKING

from .masks import Box
from .voids import Region
from .working import Working, page_levels

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from PIL import Image

    Mask = NDArray[np.bool_]


def exact_extent(picture: "Image.Image", working: Working, region: Region) -> tuple[Box, int]:
    """The bounding box (rows, columns) of `region` in pixels of `picture`, and how many pixels it covers."""
    import numpy as np

    if working.factor == 1:
        return region.box, int(region.mask.sum())
    rows, columns = (slice((side.start - 1) * working.factor, (side.stop + 1) * working.factor) for side in region.box)
    levels = page_levels(
        picture.crop((columns.start, rows.start, columns.stop, rows.stop)), inverted=working.tones.inverted
    )
    fill = (levels >= region.darkest) & (levels <= region.lightest)
    core, reach = _core_and_reach(region.mask, working.factor)
    exact = (fill | core) & reach
    down, across = np.flatnonzero(exact.any(1)), np.flatnonzero(exact.any(0))
    top, left = rows.start + int(down[0]), columns.start + int(across[0])
    extent = (slice(top, rows.start + int(down[-1]) + 1), slice(left, columns.start + int(across[-1]) + 1))
    return extent, int(exact.sum())


def _core_and_reach(mask: "Mask", factor: int) -> tuple["Mask", "Mask"]:
    """What surely belongs to a region (its inner blocks) and what may (one block further), in page pixels."""
    import numpy as np
    from scipy import ndimage

    room = np.pad(mask, 1)
    around = np.ones((3, 3), bool)
    core, reach = ndimage.binary_erosion(room, around), ndimage.binary_dilation(room, around)
    return core.repeat(factor, 0).repeat(factor, 1), reach.repeat(factor, 0).repeat(factor, 1)
