"""What papers are put together from: styles, paragraphs, tables, codes to scan."""

from collections.abc import Sequence
from itertools import groupby

from reportlab.graphics.barcode.qr import QrCodeWidget
from reportlab.lib.colors import HexColor
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, Paragraph, Spacer, Table

from office.paper.fonts import BOLD, REGULAR, marked_up, use_fonts

INK, SOFT, LINE, RED = HexColor("#22262c"), HexColor("#575a5c"), HexColor("#a79c84"), HexColor("#97331c")

QUIET_ZONE = 4

BODY = ParagraphStyle("body", fontName=REGULAR, fontSize=10, leading=13.5, textColor=INK, spaceAfter=4)
SMALL = ParagraphStyle("small", BODY, fontSize=8.5, leading=11, textColor=SOFT, spaceAfter=2)
STRONG = ParagraphStyle("strong", BODY, fontName=BOLD)
HEADING = ParagraphStyle("heading", BODY, fontName=BOLD, fontSize=12, leading=15, spaceBefore=10, spaceAfter=4)
TITLE = ParagraphStyle("title", BODY, fontName=BOLD, fontSize=19, leading=23, spaceAfter=6)
CELL = ParagraphStyle("cell", BODY, spaceAfter=0)
STRONG_CELL = ParagraphStyle("strong cell", STRONG, spaceAfter=0)
_TO_THE_RIGHT = {
    style.name: ParagraphStyle(f"{style.name}, right", style, alignment=TA_RIGHT)
    for style in (SMALL, CELL, STRONG_CELL)
}
_HAIRLINES = [
    ("FONT", (0, 0), (-1, -1), REGULAR),  # cells hold paragraphs, but the default Helvetica would be named unembedded
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("RIGHTPADDING", (0, 0), (-2, -1), 8),
    ("RIGHTPADDING", (-1, 0), (-1, -1), 0),
    ("TOPPADDING", (0, 0), (-1, -1), 3),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 4),
    ("LINEBELOW", (0, 0), (-1, -1), 0.4, LINE),
]


def text(words: str, style: ParagraphStyle = BODY) -> Paragraph:
    """A paragraph of plain words: line breaks are kept, nothing in them is markup."""
    use_fonts()
    return Paragraph(marked_up(words), style)


def gap(height_mm: float = 3) -> Spacer:
    return Spacer(1, height_mm * mm)


def words_and_why(words: str, why: str) -> list[Flowable]:
    """A cell of words with their reason small below."""
    return [text(words, CELL), *([text(why, SMALL)] if why else [])]


def rows(
    head: Sequence[str], body: Sequence[Sequence[str | list[Flowable]]], widths: Sequence[float], *,
    figures: Sequence[int] = (), sums: int = 0,
) -> Table:  # fmt: skip
    """A table with hairlines: `widths` in percent, columns `figures` set to the right, the last `sums` rows strong.

    Cells are plain words or flowables. The head comes again on every page.
    """
    first_sum = len(body) - sums
    cells = [
        [
            _cell(cell, STRONG_CELL if number >= first_sum else CELL, column in figures)
            for column, cell in enumerate(row)
        ]
        for number, row in enumerate(body)
    ]
    titles = [_cell(word, SMALL, column in figures) for column, word in enumerate(head)]
    heads = [titles] if any(head) else []
    # Sums stay with the last line they sum up, never alone on a page.
    style = [*_HAIRLINES, ("NOSPLIT", (0, -sums - 1), (-1, -1))] if 0 < sums < len(body) else _HAIRLINES
    return Table(
        [*heads, *cells], colWidths=[f"{width}%" for width in widths], repeatRows=len(heads), style=style,
        hAlign="LEFT",
    )  # fmt: skip


def _cell(cell: str | list[Flowable], style: ParagraphStyle, to_the_right: bool) -> Flowable | list[Flowable]:
    if not isinstance(cell, str):
        return cell
    return text(cell, _TO_THE_RIGHT[style.name] if to_the_right else style)


class QrCode(Flowable):
    """A code to scan, as vectors: error correction level M, with its quiet zone of four modules (ISO/IEC 18004)."""

    def __init__(self, words: str, side_mm: float = 30) -> None:
        super().__init__()
        self.width = self.height = side_mm * mm
        code = QrCodeWidget(words, barLevel="M").qr
        code.make()
        self._modules = code.modules

    def draw(self) -> None:
        side = self.width / (len(self._modules) + 2 * QUIET_ZONE)
        self.canv.setFillColor(INK)
        for row, modules in enumerate(self._modules):
            bottom = self.height - (row + QUIET_ZONE + 1) * side
            column = 0
            for dark, run in groupby(map(bool, modules)):
                length = len(list(run))
                if dark:
                    self.canv.rect((column + QUIET_ZONE) * side, bottom, length * side, side, stroke=0, fill=1)
                column += length
