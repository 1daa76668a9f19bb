"""Small tools on masks: boxes, depths, openings, connected parts. A mask is (height, width) of truth values."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Mask = NDArray[np.bool_]
    Depth = NDArray[np.float64]
    Numbers = NDArray[np.int32]

Box = tuple[slice, slice]
"""Rows and columns."""


def long_side(box: Box) -> int:
    """The longer of a box's height and width."""
    return max(int(side.stop - side.start) for side in box)


def shifted(box: Box, rows: int, columns: int) -> Box:
    """`box` moved down and right."""
    down, across = box
    return slice(down.start + rows, down.stop + rows), slice(across.start + columns, across.stop + columns)


def grown(box: Box, reach: int, shape: tuple[int, ...]) -> Box:
    """`box` with a border of `reach`, within an array of `shape`."""
    rows, columns = (
        slice(max(0, side.start - reach), min(limit, side.stop + reach)) for side, limit in zip(box, shape, strict=True)
    )
    return rows, columns


def placed(mask: "Mask", box: Box, around: Box) -> "Mask":
    """`mask`, which fills `box`, in the larger box `around`."""
    import numpy as np

    page = np.zeros([side.stop - side.start for side in around], bool)
    page[shifted(box, -around[0].start, -around[1].start)] = mask
    return page


def box_of(mask: "Mask") -> Box:
    """The bounding box of what is true in `mask`, which must not be empty."""
    import numpy as np

    rows, columns = np.flatnonzero(mask.any(1)), np.flatnonzero(mask.any(0))
    return slice(int(rows[0]), int(rows[-1]) + 1), slice(int(columns[0]), int(columns[-1]) + 1)


def depth_in(mask: "Mask") -> "Depth":
    """Every pixel's distance to the nearest one outside `mask`; beyond the array's edge is outside."""
    import numpy as np
    from scipy import ndimage

    return np.asarray(ndimage.distance_transform_edt(np.pad(mask, 1)))[1:-1, 1:-1]


def opened(mask: "Mask", side: int) -> "Mask":
    """`mask` without what a square of `side` does not fit into."""
    from scipy import ndimage

    eroded = ndimage.minimum_filter(mask, side, mode="constant")
    return ndimage.maximum_filter(eroded, side, origin=side % 2 - 1)  # type: ignore[no-any-return]


def widened(mask: "Mask", reach: int) -> "Mask":
    """`mask` grown by `reach` on every side."""
    from scipy import ndimage

    return ndimage.maximum_filter(mask, 2 * reach + 1)  # type: ignore[no-any-return]


def parts_of(mask: "Mask") -> Iterator[tuple[Box, "Mask"]]:
    """The connected parts of `mask`, each as its bounding box and its mask in that box, from the top down."""
    from scipy import ndimage

    numbers, _ = ndimage.label(mask)
    for number, box in enumerate(ndimage.find_objects(numbers), 1):
        yield box, numbers[box] == number


def numbered(mask: "Mask", *, longer_than: float) -> "Numbers":
    """The connected parts of `mask` by number; the parts whose box is shorter are left out as 0."""
    import numpy as np
    from scipy import ndimage

    numbers, count = ndimage.label(mask)
    kept = np.zeros(count + 1, np.int32)
    for number, box in enumerate(ndimage.find_objects(numbers), 1):
        kept[number] = number if long_side(box) > longer_than else 0
    return np.asarray(kept[numbers])


def parts_sized(mask: "Mask", *, least: float = 0, most: float = float("inf")) -> "Mask":
    """Those connected parts of `mask` whose area lies from `least` to `most`."""
    import numpy as np
    from scipy import ndimage

    numbers, count = ndimage.label(mask)
    areas = np.bincount(numbers.ravel(), minlength=count + 1)
    kept = (areas >= least) & (areas <= most)
    kept[0] = False
    return np.asarray(kept[numbers])
