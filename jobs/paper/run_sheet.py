"""The run sheet: what the crew works from on the day. Front: who, where, how to get in; back: the walk.

It never holds an entry code. Importing this loads reportlab.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, PageBreak, Table

from office.paper.fonts import REGULAR
from office.paper.parts import CELL, HEADING, INK, LINE, SMALL, STRONG_CELL, QrCode, gap, rows, text
from office.paper.sheet import Letterhead, TitleBlock, Words, draw_sheet

NOTES_MM, RULE_MM = 30, 8
BOX = 3.2 * mm
STEP = ParagraphStyle("step", CELL, fontSize=8.5, leading=10.5)


@dataclass(frozen=True)
class WalkStep:
    """One line of the plan: the station numbers ("4–6"), the pass, what to do."""

    numbers: str
    captured_for: str
    what: str


@dataclass(frozen=True)
class Labels:
    """The words of the sheet, in the paper's language."""

    getting_in: str
    cautions: str
    kit: str
    levels: str
    walk: str
    notes: str
    map: str


@dataclass(frozen=True)
class RunSheet:
    """Everything the sheet says, written out; `facts` are a label and a value each."""

    letterhead: Letterhead
    block: TitleBlock
    words: Words
    labels: Labels
    facts: tuple[tuple[str, str], ...]
    geo_uri: str
    getting_in: str
    cautions: tuple[str, ...]
    kit: tuple[str, ...]
    levels: tuple[tuple[str, str], ...]
    walk_summary: str
    walk: tuple[WalkStep, ...]
    no_walk: str


def run_sheet_pdf(sheet: RunSheet) -> bytes:
    """The sheet as PDF: one page for the front, the walk on its back, and on more pages where it is long."""
    labels = sheet.labels
    front = [_who_and_where(sheet), *_getting_in(sheet), *_listed(labels.cautions, sheet.cautions), *_kit(sheet)]
    back = [*_levels(sheet), text(labels.walk, HEADING), *_walk(sheet)]
    story = [*front, text(labels.notes, HEADING), _RuledLines(), PageBreak(), *back]
    return draw_sheet(sheet.letterhead, sheet.block, story, sheet.words)


def _who_and_where(sheet: RunSheet) -> Flowable:
    """The facts beside the map's code."""
    facts = rows(["", ""], sheet.facts, [26, 74])
    code = [QrCode(sheet.geo_uri, 28), text(sheet.labels.map, SMALL)] if sheet.geo_uri else []
    return _side_by_side([facts], code, (74, 26))


def _side_by_side(left: Sequence[Flowable], right: Sequence[Flowable], widths: tuple[int, int]) -> Table:
    return Table(
        [[list(left), list(right)]],
        colWidths=[f"{width}%" for width in widths],
        style=[
            ("FONT", (0, 0), (-1, -1), REGULAR),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (0, -1), 0),
            ("RIGHTPADDING", (-1, 0), (-1, -1), 0),
            ("TOPPADDING", (0, 0), (-1, -1), 0),
        ],
    )


def _getting_in(sheet: RunSheet) -> list[Flowable]:
    return [text(sheet.labels.getting_in, HEADING), text(sheet.getting_in)] if sheet.getting_in else []


def _listed(title: str, lines: Sequence[str]) -> list[Flowable]:
    return [text(title, HEADING), *(text(f"–  {line}") for line in lines)] if lines else []


def _kit(sheet: RunSheet) -> list[Flowable]:
    """Two boxes a thing: ticked when leaving the office, and again when leaving the house."""
    if not sheet.kit:
        return []
    return [text(sheet.labels.kit, HEADING), _columns([_Ticked(thing, 2) for thing in sheet.kit], 3)]


def _columns(things: Sequence[Flowable], count: int) -> Table:
    """Down the columns, not across, as a list is read."""
    height = -(-len(things) // count)
    columns = [things[start : start + height] for start in range(0, height * count, height)]
    cells = [[list(column[row : row + 1]) for column in columns] for row in range(height)]
    return Table(
        cells,
        colWidths=[f"{100 // count}%"] * count,
        style=[
            ("FONT", (0, 0), (-1, -1), REGULAR),
            ("LEFTPADDING", (0, 0), (-1, -1), 0),
            ("TOPPADDING", (0, 0), (-1, -1), 1),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 1),
        ],
    )


def _levels(sheet: RunSheet) -> list[Flowable]:
    if not sheet.levels:
        return []
    body = [[[text(level, STEP)], [text(spaces, STEP)]] for level, spaces in sheet.levels]
    return [text(sheet.labels.levels, HEADING), rows(["", ""], body, [26, 74])]


def _walk(sheet: RunSheet) -> list[Flowable]:
    if not sheet.walk:
        return [text(sheet.no_walk)]
    return [text(sheet.walk_summary, SMALL), gap(1), _TwoColumns([_step(step) for step in sheet.walk])]


def _step(step: WalkStep) -> Flowable:
    """The number in the margin, the pass beside it, then what to do."""
    return Table(
        [[text(step.numbers, STRONG_CELL), text(step.captured_for, SMALL), text(step.what, STEP)]],
        colWidths=["16%", "11%", "73%"],
        style=[
            ("FONT", (0, 0), (-1, -1), REGULAR),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (-1, -1), 0),
            ("RIGHTPADDING", (0, 0), (-1, -1), 4),
            ("TOPPADDING", (0, 0), (-1, -1), 1),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
            ("LINEBELOW", (0, 0), (-1, -1), 0.3, LINE),
        ],
    )


class _TwoColumns(Flowable):
    """Things down the left column, then down the right one, about as long; on to the next page where they are many."""

    GUTTER = 6 * mm

    def __init__(self, things: Sequence[Flowable]) -> None:
        super().__init__()
        self._things = list(things)

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        heights = self._heights(width)
        ways = [(max(sum(heights[:left]), sum(heights[left:])), left) for left in range(len(heights) + 1)]
        self.width, (self.height, self._left) = width, min(ways)
        return self.width, self.height

    def split(self, width: float, height: float) -> list[Flowable]:
        heights = self._heights(width)
        left = _that_fit(heights, height)
        both = left + _that_fit(heights[left:], height)
        return [_TwoColumns(part) for part in (self._things[:both], self._things[both:]) if part] if both else []

    def draw(self) -> None:
        column = self._column(self.width)
        for x, things in ((0, self._things[: self._left]), (column + self.GUTTER, self._things[self._left :])):
            y = self.height
            for thing in things:
                y -= thing.wrap(column, self.height)[1]
                thing.drawOn(self.canv, x, y)

    def _column(self, width: float) -> float:
        return (width - self.GUTTER) / 2

    def _heights(self, width: float) -> list[float]:
        column = self._column(width)
        return [float(thing.wrap(column, 10_000)[1]) for thing in self._things]


def _that_fit(heights: Sequence[float], height: float) -> int:
    """How many of them, from the first on, stand within `height`."""
    return sum(total <= height for total in accumulate(heights))


class _RuledLines(Flowable):
    """Lines to write on, down to the foot of the page; on the next one where hardly any room is left."""

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        self.width, self.height = width, max(NOTES_MM * mm, height - 1)
        return self.width, self.height

    def draw(self) -> None:
        self.canv.setStrokeColor(LINE)
        self.canv.setLineWidth(0.4)
        line = self.height - RULE_MM * mm
        while line > 0:
            self.canv.line(0, line, self.width, line)
            line -= RULE_MM * mm


class _Ticked(Flowable):
    """Boxes to tick, then a few words."""

    def __init__(self, words: str, boxes: int) -> None:
        super().__init__()
        self._words, self._boxes = text(words, CELL), boxes

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        self._indent = self._boxes * (BOX + 3) + 2
        _, self.height = self._words.wrap(width - self._indent, height)
        self.width = width
        return width, self.height

    def draw(self) -> None:
        self.canv.setStrokeColor(INK)
        self.canv.setLineWidth(0.6)
        for number in range(self._boxes):
            self.canv.rect(number * (BOX + 3), self.height - BOX - 1, BOX, BOX)
        self._words.drawOn(self.canv, self._indent, 0)
