"""What lines enclose, with the gaps of doors, windows and garage doors bridged."""

from typing import TYPE_CHECKING

from .masks import depth_in
from .parts import Part

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Mask = NDArray[np.bool_]

GAPS = (0.016, 0.03, 0.06, 0.12, 0.2)
"""Gaps in the outer walls (doors, windows, garage doors) tried in turn, as shares of the plan's long side."""
ROOM_GAIN = 8
LEAST_ROOM = 0.09
"""What a gap bridged encloses counts when it is this wide, as a share of the plan's long side, and in all larger than
so many squares of half the gap: rooms are; notches in the outline and strips along dimension lines are not."""


def enclosed_by(group: Part) -> "Mask":
    """What the group encloses once the gaps in its walls are bridged, on the page's grid."""
    import numpy as np

    best, long = filled(group, 0), group.long
    for share in GAPS:
        reach = share * long / 2
        gained = wide_parts(filled(group, reach) & ~best, LEAST_ROOM * long / 2)
        if gained.sum() >= ROOM_GAIN * reach**2:
            best = best | gained
    page = np.zeros(group.mask.shape, bool)
    page[group.box] = best
    return page


def hull_of(group: Part) -> "Mask":
    """What the group encloses once the widest gaps are bridged, notches and all, in its own box."""
    return filled(group, GAPS[-1] * group.long / 2)


def wide_parts(mask: "Mask", radius: float) -> "Mask":
    """The connected parts of `mask` into which a disc of `radius` fits."""
    import numpy as np
    from scipy import ndimage

    numbers, count = ndimage.label(mask)
    kept = np.zeros(count + 1, bool)
    kept[numbers[depth_in(mask) >= radius]] = True
    return np.asarray(kept[numbers] & mask)


def filled(group: Part, reach: float) -> "Mask":
    """The group's box, its ink grown by `reach`, holes filled, and shrunk again: gaps up to 2 × `reach` are shut."""
    import numpy as np
    from scipy import ndimage

    room = int(reach) + 2
    ink = np.pad(group.cut, room)
    if not reach:
        return np.asarray(ndimage.binary_fill_holes(ink))[room:-room, room:-room]
    grown = ndimage.binary_fill_holes(ndimage.distance_transform_edt(~ink) <= reach)
    shrunk = ndimage.distance_transform_edt(grown) > reach
    return np.asarray((shrunk | ink)[room:-room, room:-room])
