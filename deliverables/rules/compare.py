"""What changed between two drafts of a plan, and whether anything changed where each fix was asked.

Every page is laid on the page of the same number; a page only shifted, or saved again with other compression, has not
changed. A page that only one draft has is changed as a whole.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from decimal import Decimal
from itertools import zip_longest
from math import ceil, sqrt
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .plan.limits import PlanLimits, Unreadable
from .plan.sheets import Sheet, open_plan

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from PIL import Image

    from .plan.changes import PageChanges
    from .plan.register import Shift

SHARE_STEP = Decimal("0.0001")
PIN_REACH = 0.03
"""A pin's neighbourhood as a share of the page's long side: about the size of a door."""
COMPARED_PIXELS = 9_000_000
"""Larger pages (than A4 at 300 dpi) are compared at half their size or less; the shift is found at full size."""


@dataclass(frozen=True)
class Pin:
    """A place on the old draft: `x` and `y` are shares of its page, 0 at left and top, 1 at right and bottom."""

    id: str
    page: int
    x: Decimal
    y: Decimal


@dataclass(frozen=True)
class Change:
    """A changed region's box in pixels of the new page (of the old, if only that has it) and its share of the page."""

    page: int
    x: int
    y: int
    width: int
    height: int
    share: Decimal


@dataclass(frozen=True)
class PinState:
    """Whether anything changed at a pin."""

    id: str
    changed: bool


@dataclass(frozen=True)
class Comparison:
    """How far the first page's drawing moved right and down, what changed from the first page on, and the pins.

    `old_pages` counts the old draft's pages.
    """

    shift_px: tuple[int, int]
    changed: tuple[Change, ...]
    pins: tuple[PinState, ...]
    old_pages: int


@dataclass(frozen=True)
class _Pair:
    """Two pages of one number laid on each other; `changes` is None when only one draft has the page."""

    number: int
    shift: "Shift"
    old_size: tuple[int, int]
    size: tuple[int, int]
    factor: int
    changes: "PageChanges | None"
    in_old: bool


def compare_drafts(
    old: Path | str | bytes, new: Path | str | bytes, pins: Sequence[Pin] = (), limits: PlanLimits | None = None
) -> Comparison:
    """Lay `new` on `old`; raises `Unreadable` when a page of either cannot be read, `OSError` for a path.

    In this process: see `sandbox` for files from outside.
    """
    limits = limits or PlanLimits()
    pages = [_pictures(source, index, limits) for index, source in enumerate((old, new))]
    pairs = [_pair(number, *both) for number, both in enumerate(zip_longest(*pages), 1)]
    changed = tuple(change for pair in pairs for change in _changes(pair))
    states = tuple(PinState(pin.id, _changed_at(pin, pairs)) for pin in pins)
    old_pages = sum(pair.in_old for pair in pairs)
    return Comparison(pairs[0].shift, changed, states, old_pages)


def comparison_json(comparison: Comparison) -> dict[str, Any]:
    """The comparison as the terminal contract's JSON; shares are strings."""
    return {
        "shift_px": list(comparison.shift_px),
        "changed": [{**asdict(change), "share": f"{change.share:f}"} for change in comparison.changed],
        "pins": [asdict(pin) for pin in comparison.pins],
    }


def comparison_from(answer: Mapping[str, Any], old_pages: int) -> Comparison:
    """The comparison whose JSON is `answer`."""
    right, down = answer["shift_px"]
    changed = tuple(Change(**{**change, "share": Decimal(change["share"])}) for change in answer["changed"])
    return Comparison((right, down), changed, tuple(PinState(**pin) for pin in answer["pins"]), old_pages)


def _pictures(source: Path | str | bytes, index: int, limits: PlanLimits) -> Iterator["Image.Image"]:
    try:
        file = open_plan(source, limits)
        if file.page_count > limits.most_pages:
            raise Unreadable(f"The file has {file.page_count} pages; at most {limits.most_pages} are compared.")
        for sheet in file.sheets:
            yield _picture(sheet)
    except Unreadable as refusal:
        raise Unreadable(str(refusal), index) from None


def _pair(number: int, old: "Image.Image | None", new: "Image.Image | None") -> _Pair:
    from .plan.changes import changes_between
    from .plan.register import shift_between

    if old is None or new is None:
        size = (new or old).size  # type: ignore[union-attr]
        return _Pair(number, (0, 0), size, size, 1, None, new is None)
    shift = shift_between(_ink(old), _ink(new))
    factor = max(1, ceil(sqrt(max(old.width * old.height, new.width * new.height) / COMPARED_PIXELS)))
    small = (round(shift[0] / factor), round(shift[1] / factor))
    changes = changes_between(old.reduce(factor), new.reduce(factor), small)
    return _Pair(number, shift, old.size, new.size, factor, changes, True)


def _picture(sheet: Sheet) -> "Image.Image":
    if sheet.picture is None:
        raise Unreadable(f"Page {sheet.number}: {sheet.fault}")
    return sheet.picture.convert("RGB")


def _ink(picture: "Image.Image") -> "NDArray[np.float32]":
    """How dark every pixel is against the paper, 0 to 255."""
    import numpy as np

    grey = picture.convert("L")
    counts = grey.histogram()
    return np.abs(np.asarray(grey, np.float32) - counts.index(max(counts)))


def _changes(pair: _Pair) -> list[Change]:
    width, height = pair.size
    if pair.changes is None:
        return [Change(pair.number, 0, 0, width, height, Decimal(1).quantize(SHARE_STEP))]
    return [
        _change(pair, columns.start, rows.start, columns.stop - columns.start, rows.stop - rows.start)
        for rows, columns in pair.changes.boxes
    ]


def _change(pair: _Pair, x: int, y: int, width: int, height: int) -> Change:
    left, top, wide, high = (value * pair.factor for value in (x, y, width, height))
    share = Decimal(wide * high) / (pair.size[0] * pair.size[1])
    return Change(pair.number, left, top, wide, high, min(share, Decimal(1)).quantize(SHARE_STEP))


def _changed_at(pin: Pin, pairs: Sequence[_Pair]) -> bool:
    """Whether a changed pixel lies in the pin's neighbourhood; a pin on a page that neither draft has is unchanged."""
    pair = next((pair for pair in pairs if pair.number == pin.page), None)
    if pair is None or pair.changes is None:
        return pair is not None
    reach = round(PIN_REACH * max(pair.size) / pair.factor)
    x = round((float(pin.x) * pair.old_size[0] + pair.shift[0]) / pair.factor)
    y = round((float(pin.y) * pair.old_size[1] + pair.shift[1]) / pair.factor)
    rows, columns = (slice(max(0, at - reach), max(0, at + reach + 1)) for at in (y, x))
    return _meets(pair.changes.mask[rows, columns], y - rows.start, x - columns.start, reach)


def _meets(mask: "NDArray[np.bool_]", y: int, x: int, reach: int) -> bool:
    import numpy as np

    down, across = np.nonzero(mask)
    return bool((((down - y) ** 2 + (across - x) ** 2) <= reach**2).any())
