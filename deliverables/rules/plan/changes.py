"""Where two pictures of a page differ once one is laid on the other, beyond what saving a picture again does to it."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from .masks import Box, box_of, parts_of, parts_sized, widened
from .register import Shift, overlap
from .working import page_levels

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from PIL import Image

    Mask = NDArray[np.bool_]
    Levels = NDArray[np.uint8]

TOLERANCE = 64
"""Levels a pixel may lie outside the range of its neighbours on the other page: the ringing of a lossy file."""
LEAST_STROKE = 6
STROKE_WINDOW = 5
"""A stroke has changed when so many pixels of a window of so many a side have."""
BLOCK = 8
TINT_TOLERANCE = 16
LEAST_TINT = 4
"""A fill has changed when the mean colour of so many neighbouring blocks of 8 × 8 pixels has, by more than this."""
TOGETHER = 0.008
"""Changes closer than this share of the page's long side are one region."""


@dataclass(frozen=True)
class PageChanges:
    """What of the new page changed: a mask of its pixels, and the boxes of the regions from the top down."""

    mask: "Mask"
    boxes: tuple[Box, ...]


def changes_between(old: "Image.Image", new: "Image.Image", shift: Shift) -> PageChanges:
    """The differences between two RGB pictures, `old` moved by `shift`, where both have something."""
    import numpy as np

    mask = np.zeros((new.height, new.width), bool)
    rows, columns = overlap(old.size, new.size, shift)
    if rows.stop > rows.start and columns.stop > columns.start:
        mine = new.crop((columns.start, rows.start, columns.stop, rows.stop))
        left, top = columns.start - shift[0], rows.start - shift[1]
        other = old.crop((left, top, left + mine.width, top + mine.height))
        mask[rows, columns] = _strokes(other, mine) | _tints(other, mine)
    if old.size != new.size:
        mask |= _added(new, rows, columns)
    return PageChanges(mask, tuple(_regions(mask)))


def _strokes(old: "Image.Image", new: "Image.Image") -> "Mask":
    """Pixels darker or lighter than anything beside them on the other page, several together."""
    import numpy as np
    from scipy import ndimage

    one, other = _on_white(old), _on_white(new)
    odd = _beyond(one, other) | _beyond(other, one)
    count = ndimage.uniform_filter(odd.astype(np.float32), STROKE_WINDOW, mode="constant") * STROKE_WINDOW**2
    return np.asarray(odd & widened(count > LEAST_STROKE - 0.5, STROKE_WINDOW // 2))


def _on_white(picture: "Image.Image") -> "Levels":
    """Levels of grey, moved so that the commonest is white: a warmer scan of a page is the same page."""
    import numpy as np

    grey = picture.convert("L")
    counts = grey.histogram()
    paper = counts.index(max(counts))
    return np.clip(np.asarray(grey, np.int16) + (255 - paper if paper > 128 else 0), 0, 255).astype(np.uint8)


def _beyond(levels: "Levels", others: "Levels") -> "Mask":
    """Where `levels` lie outside the range of the 3 × 3 pixels of `others` around them."""
    import numpy as np
    from scipy import ndimage

    lowest = np.maximum(ndimage.minimum_filter(others, 3), TOLERANCE) - TOLERANCE
    highest = np.minimum(ndimage.maximum_filter(others, 3), 255 - TOLERANCE) + TOLERANCE
    return np.asarray((levels < lowest) | (levels > highest))


def _tints(old: "Image.Image", new: "Image.Image") -> "Mask":
    """Areas whose colour changed."""
    import numpy as np
    from PIL import ImageChops

    one, other = (np.asarray(picture.reduce(BLOCK), np.int16) for picture in (old, new))
    even = np.median(other - one, axis=(0, 1)).astype(np.int16)
    odd = parts_sized(_apart(one + even, other) & _apart(other, one + even), least=LEAST_TINT)
    if not odd.any():
        return np.zeros((new.height, new.width), bool)
    blocks = widened(odd, 1).repeat(BLOCK, 0).repeat(BLOCK, 1)[: new.height, : new.width]
    return blocks & (page_levels(ImageChops.difference(old, new)) > TINT_TOLERANCE + int(np.abs(even).max()))


def _apart(levels: "NDArray[np.int16]", others: "NDArray[np.int16]") -> "Mask":
    import numpy as np
    from scipy import ndimage

    lowest = ndimage.minimum_filter(others, (3, 3, 1)) - TINT_TOLERANCE
    highest = ndimage.maximum_filter(others, (3, 3, 1)) + TINT_TOLERANCE
    return np.asarray(((levels < lowest) | (levels > highest)).any(2))


def _added(new: "Image.Image", rows: slice, columns: slice) -> "Mask":
    """Ink on the part of a page of another size that the old page does not reach."""
    mask = _on_white(new) < 255 - 2 * TOLERANCE
    mask[rows, columns] = False
    return mask


def _regions(mask: "Mask") -> list[Box]:
    """The bounding boxes of changes that lie together."""
    if not mask.any():
        return []
    reach = max(2, round(TOGETHER * max(mask.shape) / 2))
    boxes = []
    for box, part in parts_of(widened(mask, reach)):
        rows, columns = box_of(mask[box] & part)
        top, left = box[0].start, box[1].start
        boxes.append((slice(rows.start + top, rows.stop + top), slice(columns.start + left, columns.stop + left)))
    return boxes
