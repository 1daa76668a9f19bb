"""What drafters draw around a plan: title bars, logos, tables, and the frame of the sheet."""

from typing import TYPE_CHECKING

from .enclosing import LEAST_ROOM, filled, hull_of, wide_parts
from .masks import Box
from .parts import Part, groups_of

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Mask = NDArray[np.bool_]

BLOCK_FILL = 0.55
BLOCK_SPAN = 0.15
BLOCK_GAP = 0.12
"""A block has so much ink in its box, spans no more of the page, and holds no room even with such gaps bridged."""
RULED = 0.95
LEAST_RULES = 4
WIDEST_ROW = 0.18
UNEVEN = 0.4
THICKEST_RULE = 4
MOST_ROWS = 0.45
"""A table has at least four whole lines, and rows of one height, low for its width, make up about half of it or more;
what is no higher than a line is thick, in cells, is no row."""
FRAME_SPAN = 0.85
FRAME_SIDES = 0.95
FRAME_RIM = 0.02
FRAMED_PLAN = 0.05
"""A frame spans so much of the page both ways, is drawn along so much of each side, within a rim so wide (as a share of
the page's long side), without a line in the middle half, and what it frames encloses so much of it."""


def without_sheet_marks(parts: list[Part], shape: tuple[int, ...]) -> list[Part]:
    """`parts` of a page of `shape` that may be walls."""
    kept = [part for part in parts if not _is_block(part, shape[0] * shape[1]) and not _is_table(part)]
    return _without_frames(kept, shape)


def _is_block(part: Part, page_area: int) -> bool:
    """A title bar, a filled logo, an isolated solid: mostly ink, too small to be a whole plan, and without rooms."""
    span, cut = part.height * part.width, part.cut
    if span > BLOCK_SPAN * page_area or int(cut.sum()) < BLOCK_FILL * span:
        return False
    rooms = filled(part, BLOCK_GAP * part.long / 2) & ~cut
    return not wide_parts(rooms, LEAST_ROOM * part.long / 2).any()


def _is_table(part: Part) -> bool:
    """A ruled rectangle: even rows, each far wider than high, between lines without a gap; no storey is built so."""
    cut = part.cut
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


def _without_frames(parts: list[Part], shape: tuple[int, ...]) -> list[Part]:
    """`parts` without the rectangles drawn around the whole sheet, title block cells and all."""
    for part in sorted(parts, key=lambda part: -part.height * part.width):
        rest = [other for other in parts if other is not part]
        if _is_frame(part, shape) and _holds_a_plan(part, rest, max(shape)):
            parts = rest
    return parts


def _is_frame(part: Part, shape: tuple[int, ...]) -> bool:
    if part.height < FRAME_SPAN * shape[0] or part.width < FRAME_SPAN * shape[1]:
        return False
    cut, rim = part.cut, max(3, round(FRAME_RIM * max(shape)))
    sides = (cut[:rim].any(0), cut[-rim:].any(0), cut[:, :rim].any(1), cut[:, -rim:].any(1))
    middle = cut[part.height // 4 : -part.height // 4, part.width // 4 : -part.width // 4]
    return all(float(side.mean()) >= FRAME_SIDES for side in sides) and not middle.any()


def _holds_a_plan(frame: Part, rest: list[Part], page_long: int) -> bool:
    within = [part for part in rest if _contains(frame.box, part.box)]
    largest = max((int(hull_of(group).sum()) for group in groups_of(within, page_long)), default=0)
    return largest >= FRAMED_PLAN * frame.height * frame.width


def _contains(outer: Box, inner: Box) -> bool:
    return all(o.start <= i.start and i.stop <= o.stop for o, i in zip(outer, inner, strict=True))
