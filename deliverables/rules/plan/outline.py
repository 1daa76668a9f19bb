"""Where on a page the plan is: what its outer walls enclose, without sheet frames, title blocks, arrows and logos."""

from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING

from .masks import Box, depth_in, long_side
from .working import Working, block_extreme

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Mask = NDArray[np.bool_]

OUTLINE_PIXELS = 512
"""The long side of the copy on which the outline is sought."""
LEAST_PART = 0.05
LEAST_WALLS = 0.09
NEIGHBOUR = 0.02
LEAST_PIECE = 0.15
LEAST_PLAN = 0.02
MOSTLY_WALLED = 0.75
FRAME_SPAN = 0.85
FRAME_SIDES = 0.95
FRAME_RIM = 0.02
FRAMED_PLAN = 0.05
BLOCK_FILL = 0.55
BLOCK_SPAN = 0.15
BLOCK_GAP = 0.12
RULED = 0.95
LEAST_RULES = 4
WIDEST_ROW = 0.18
UNEVEN = 0.4
THICKEST_RULE = 4
MOST_ROWS = 0.45
"""A table has at least four whole lines, and rows of one height, low for its width, make up about half of it or more;
what is no higher than a line is thick, in cells, is no row."""
GAPS = (0.016, 0.03, 0.06, 0.12, 0.2)
"""Gaps in the outer walls (doors, windows, garage doors) tried in turn, as shares of the plan's long side."""
ROOM_GAIN = 8
LEAST_ROOM = 0.09
"""What a gap bridged encloses counts when it is this wide, as a share of the plan's long side, and in all larger than
so many squares of half the gap: rooms are; notches in the outline and strips along dimension lines are not."""


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
    cell = -(-max(working.darkest.shape) // OUTLINE_PIXELS)
    darkest = block_extreme(working.darkest, cell, "minimum")
    for level in working.tones.line_levels:
        found = _main_pieces(_enclosed_by(darkest <= level), cell)
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
    for group in _groups(_parts(ink), max(ink.shape)):
        heavy[group.box] |= _hull(group)
    heavy &= outline.inside
    if heavy.sum() < MOSTLY_WALLED * outline.area:
        return outline
    apart = _wide_parts(outline.inside & ~heavy, LEAST_ROOM * sqrt(outline.largest) / 2)
    return _main_pieces(heavy | apart, outline.cell) or outline


def _enclosed_by(ink: "Mask") -> "Mask":
    import numpy as np

    inside = np.zeros(ink.shape, bool)
    for group in _groups(_parts(ink), max(ink.shape)):
        inside |= _enclosed(group)
    return inside


@dataclass(frozen=True)
class _Part:
    """One connected run of ink: its mask on the page and its bounding box."""

    mask: "Mask"
    box: Box

    @property
    def height(self) -> int:
        return int(self.box[0].stop - self.box[0].start)

    @property
    def width(self) -> int:
        return int(self.box[1].stop - self.box[1].start)


def _parts(ink: "Mask") -> list[_Part]:
    """The connected parts that are large enough to be walls, without solid blocks and sheet frames."""
    import numpy as np
    from scipy import ndimage

    labels, _ = ndimage.label(ink, np.ones((3, 3)))
    boxes = ndimage.find_objects(labels)
    sized = [(number, box) for number, box in enumerate(boxes, 1) if long_side(box) >= LEAST_PART * max(ink.shape)]
    parts = [_Part(labels == number, box) for number, box in sized]
    return _without_frames([p for p in parts if not _is_block(p, ink.size) and not _is_table(p)], ink.shape)


def _is_block(part: _Part, page_area: int) -> bool:
    """A title bar, a filled logo, an isolated solid: mostly ink, too small to be a whole plan, and without rooms."""
    span, cut = part.height * part.width, part.mask[part.box]
    if span > BLOCK_SPAN * page_area or int(cut.sum()) < BLOCK_FILL * span:
        return False
    long = max(part.height, part.width)
    rooms = _filled(part, BLOCK_GAP * long / 2) & ~cut
    return not _wide_parts(rooms, LEAST_ROOM * long / 2).any()


def _is_table(part: _Part) -> bool:
    """A ruled rectangle: even rows, each far wider than high, between lines without a gap; no storey is built so."""
    cut = part.mask[part.box]
    return any(_is_ruled(lines.mean(1) >= RULED, lines.shape[1]) for lines in (cut, cut.T))


def _is_ruled(full: "Mask", width: int) -> bool:
    import numpy as np

    starts = np.flatnonzero(full & ~np.append(False, full[:-1]))
    if len(starts) < LEAST_RULES or not (full[:3].any() and full[-3:].any()):
        return False
    rows = np.diff(starts)
    usual = float(np.median(rows[rows > THICKEST_RULE])) if (rows > THICKEST_RULE).any() else 0.0
    alike = rows[np.abs(rows - usual) <= UNEVEN * usual]
    return THICKEST_RULE < usual <= WIDEST_ROW * width and len(alike) >= 2 and alike.sum() >= MOST_ROWS * len(full)


def _without_frames(parts: list[_Part], shape: tuple[int, ...]) -> list[_Part]:
    """`parts` without the rectangles drawn around the whole sheet, title block cells and all."""
    for part in sorted(parts, key=lambda part: -part.height * part.width):
        rest = [other for other in parts if other is not part]
        if _is_frame(part, shape) and _holds_a_plan(part, rest, max(shape)):
            parts = rest
    return parts


def _is_frame(part: _Part, shape: tuple[int, ...]) -> bool:
    if part.height < FRAME_SPAN * shape[0] or part.width < FRAME_SPAN * shape[1]:
        return False
    cut, rim = part.mask[part.box], max(3, round(FRAME_RIM * max(shape)))
    sides = (cut[:rim].any(0), cut[-rim:].any(0), cut[:, :rim].any(1), cut[:, -rim:].any(1))
    return all(float(side.mean()) >= FRAME_SIDES for side in sides)


def _holds_a_plan(frame: _Part, rest: list[_Part], page_long: int) -> bool:
    within = [part for part in rest if _contains(frame.box, part.box)]
    largest = max((int(_hull(group).sum()) for group in _groups(within, page_long)), default=0)
    return largest >= FRAMED_PLAN * frame.height * frame.width


def _contains(outer: Box, inner: Box) -> bool:
    return all(o.start <= i.start and i.stop <= o.stop for o, i in zip(outer, inner, strict=True))


def _groups(parts: list[_Part], page_long: int) -> list[_Part]:
    """Parts whose boxes meet or nearly meet, joined: one group for each plan on the page."""
    groups = [part for part in parts if max(part.height, part.width) >= LEAST_WALLS * page_long]
    small = [part for part in parts if max(part.height, part.width) < LEAST_WALLS * page_long]
    groups = _joined(groups, round(NEIGHBOUR * page_long))
    for part in small:
        home = next((n for n, group in enumerate(groups) if _near(group.box, part.box, 0)), None)
        if home is not None:
            groups[home] = _union(groups[home], part)
    return groups


def _joined(groups: list[_Part], reach: int) -> list[_Part]:
    merged: list[_Part] = []
    for part in groups:
        met = [other for other in merged if _near(other.box, part.box, reach)]
        merged = [other for other in merged if not any(other is one for one in met)]
        for other in met:
            part = _union(part, other)
        merged.append(part)
    return merged if len(merged) == len(groups) else _joined(merged, reach)


def _near(one: Box, other: Box, reach: int) -> bool:
    return all(a.start - reach <= b.stop and b.start - reach <= a.stop for a, b in zip(one, other, strict=True))


def _union(one: _Part, other: _Part) -> _Part:
    spans = [slice(min(a.start, b.start), max(a.stop, b.stop)) for a, b in zip(one.box, other.box, strict=True)]
    return _Part(one.mask | other.mask, (spans[0], spans[1]))


def _enclosed(group: _Part) -> "Mask":
    """What the group encloses once the gaps in its walls are bridged, on the page's grid."""
    import numpy as np

    best, long = _filled(group, 0), max(group.height, group.width)
    for share in GAPS:
        reach = share * long / 2
        gained = _wide_parts(_filled(group, reach) & ~best, LEAST_ROOM * long / 2)
        if gained.sum() >= ROOM_GAIN * reach**2:
            best = best | gained
    page = np.zeros(group.mask.shape, bool)
    page[group.box] = best
    return page


def _hull(group: _Part) -> "Mask":
    """What the group encloses once the widest gaps are bridged, notches and all, in its own box."""
    return _filled(group, GAPS[-1] * max(group.height, group.width) / 2)


def _wide_parts(mask: "Mask", radius: float) -> "Mask":
    """The connected parts of `mask` into which a disc of `radius` fits."""
    import numpy as np
    from scipy import ndimage

    numbers, count = ndimage.label(mask)
    kept = np.zeros(count + 1, bool)
    kept[numbers[depth_in(mask) >= radius]] = True
    return np.asarray(kept[numbers] & mask)


def _filled(group: _Part, reach: float) -> "Mask":
    """The group's box, its ink grown by `reach`, holes filled, and shrunk again: gaps up to 2 × `reach` are shut."""
    import numpy as np
    from scipy import ndimage

    room = int(reach) + 2
    ink = np.pad(group.mask[group.box], room)
    if not reach:
        return np.asarray(ndimage.binary_fill_holes(ink))[room:-room, room:-room]
    grown = ndimage.binary_fill_holes(ndimage.distance_transform_edt(~ink) <= reach)
    shrunk = ndimage.distance_transform_edt(grown) > reach
    return np.asarray((shrunk | ink)[room:-room, room:-room])


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
