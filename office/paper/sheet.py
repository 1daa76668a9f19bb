"""The sheet that every paper of the office is drawn on: frame, letterhead, and a title block at each page's foot.

Importing this loads reportlab, so it is imported where a paper is drawn and nowhere else.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import Any

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate, Table

from office.paper.fonts import BOLD, REGULAR, runs, use_fonts, width_of
from office.paper.parts import INK, LINE, RED, SMALL, SOFT, STRONG, TITLE, gap, text

LETTER_COUNTRIES = frozenset(["BZ", "CA", "CL", "CO", "CR", "GT", "MX", "NI", "PA", "PH", "PR", "SV", "US", "VE"])
"""Where office paper is US Letter (CLDR supplemental data, paperSize); elsewhere it is A4."""

EDGE, INSIDE, FOOT = 11 * mm, 8 * mm, 12 * mm
PAGE_COUNT = "page-count"


@dataclass(frozen=True)
class Letterhead:
    """Who sends the paper; `lines` are address, phone, mail, tax number. The country chooses the paper's size."""

    name: str
    lines: tuple[str, ...] = ()
    country: str = ""


@dataclass(frozen=True)
class TitleBlock:
    """What the sheet is: its kind ("Quote"), its title, and cells of a label and a value (number, date)."""

    what: str
    title: str
    cells: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Words:
    """The words of the frame, in the paper's language (BCP 47)."""

    language: str = "en"
    sheet: str = "Sheet"
    of: str = "of"


def draw_sheet(
    letterhead: Letterhead, block: TitleBlock, story: Sequence[Flowable], words: Words | None = None
) -> bytes:
    """The whole paper as a PDF: the letterhead, the title, the story, and the title block on each page."""
    use_fonts()
    output = BytesIO()
    paper = _Paper(output, letterhead, block, words or Words())
    paper.build([*_head(letterhead, block), *story], canvasmaker=_CountingCanvas)
    return output.getvalue()


def _head(letterhead: Letterhead, block: TitleBlock) -> list[Flowable]:
    sender = Table(
        [[text(letterhead.name, STRONG), text("\n".join(letterhead.lines), SMALL)]],
        colWidths=["55%", "45%"],
        style=[
            ("FONT", (0, 0), (-1, -1), REGULAR),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (-1, -1), 0),
            ("RIGHTPADDING", (0, 0), (-1, -1), 0),
            ("LINEBELOW", (0, 0), (-1, -1), 1.2, INK),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 6),
        ],
    )
    return [sender, gap(5), text(block.what, SMALL), text(block.title, TITLE)]


class _Paper(BaseDocTemplate):
    """A document whose every page has the frame and the title block."""

    def __init__(self, output: BytesIO, letterhead: Letterhead, block: TitleBlock, words: Words) -> None:
        size = LETTER if letterhead.country in LETTER_COUNTRIES else A4
        number = block.cells[0][1] if block.cells else ""
        super().__init__(
            output, pagesize=size, lang=words.language, title=f"{block.what} {number}".strip(),
            author=letterhead.name, subject=block.title, creator="Stairhead", initialFontName=REGULAR,
            displayDocTitle=True,
        )  # fmt: skip
        self._letterhead, self._block, self._words = letterhead, block, words
        width, height = size
        frame = Frame(
            EDGE, EDGE + FOOT, width - 2 * EDGE, height - 2 * EDGE - FOOT,
            leftPadding=INSIDE, rightPadding=INSIDE, topPadding=INSIDE, bottomPadding=INSIDE / 2,
        )  # fmt: skip
        self.addPageTemplates(PageTemplate(frames=[frame], onPage=self._draw_frame))

    def _draw_frame(self, canvas: Canvas, _document: Any) -> None:
        width, height = self.pagesize
        canvas.setStrokeColor(LINE)
        canvas.setLineWidth(0.4)
        canvas.rect(EDGE - 4, EDGE - 4, width - 2 * EDGE + 8, height - 2 * EDGE + 8)
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(0.9)
        canvas.rect(EDGE, EDGE, width - 2 * EDGE, height - 2 * EDGE)
        canvas.line(EDGE, EDGE + FOOT, width - EDGE, EDGE + FOOT)
        self._draw_title_block(canvas, width)

    def _draw_title_block(self, canvas: Canvas, width: float) -> None:
        """Name and title at the left; at the right the cells, each as wide as its longer line."""
        sheet = f"{canvas.getPageNumber()} {self._words.of} "
        right = width - EDGE
        room_for_count = stringWidth("000", BOLD, 9)
        right = self._draw_cell(canvas, right, self._words.sheet, sheet, room_for_count)
        canvas.saveState()
        canvas.translate(right + 6 + stringWidth(sheet, BOLD, 9), EDGE + 9)
        canvas.doForm(PAGE_COUNT)
        canvas.restoreState()
        for label, value in reversed(self._block.cells):
            right = self._draw_cell(canvas, right, label, value)
        room = right - EDGE - 14
        _draw_line(canvas, EDGE + 7, EDGE + 20, self._letterhead.name, SOFT, REGULAR, 7.5, room)
        _draw_line(canvas, EDGE + 7, EDGE + 9, f"{self._block.what}: {self._block.title}", INK, BOLD, 9, room)

    def _draw_cell(self, canvas: Canvas, right: float, label: str, value: str, more: float = 0) -> float:
        """Draw a cell that ends at `right`; returns where it begins."""
        left = right - 12 - max(width_of(label, REGULAR, 7.5), width_of(value, BOLD, 9) + more)
        canvas.setStrokeColor(LINE)
        canvas.setLineWidth(0.4)
        canvas.line(left, EDGE, left, EDGE + FOOT)
        _draw_line(canvas, left + 6, EDGE + 20, label, RED, REGULAR, 7.5, right - left)
        _draw_line(canvas, left + 6, EDGE + 9, value, INK, BOLD, 9, right - left)
        return left


class _CountingCanvas(Canvas):
    """How many pages there are is known only at the end; each page's title block refers to this form."""

    def save(self) -> None:
        pages = self.getPageNumber() - 1
        self.beginForm(PAGE_COUNT)
        _draw_line(self, 0, 0, str(pages), INK, BOLD, 9, 100)
        self.endForm()
        super().save()


def _draw_line(
    canvas: Canvas, x: float, y: float, words: str, colour: Any, face: str, size: float, room: float
) -> None:
    """One line of words, cut with an ellipsis where it would not fit."""
    while width_of(words, face, size) > room and len(words) > 1:
        words = words[:-2].rstrip() + "…"
    canvas.setFillColor(colour)
    for run_face, run in runs(words, face):
        canvas.setFont(run_face, size)
        canvas.drawString(x, y, run)
        x += stringWidth(run, run_face, size)
