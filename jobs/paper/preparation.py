"""The preparation sheet as a PDF. Importing this loads reportlab."""

from dataclasses import dataclass

from office.paper.parts import HEADING, STRONG, gap, text
from office.paper.sheet import Letterhead, TitleBlock, draw_sheet


@dataclass(frozen=True)
class PreparationSheet:
    """When the crew comes, and under each heading what is to be ready."""

    letterhead: Letterhead
    what: str
    title: str
    cells: tuple[tuple[str, str], ...]
    when: str
    parts: tuple[tuple[str, tuple[str, ...]], ...]
    closing: str


def draw_preparation(sheet: PreparationSheet) -> bytes:
    story = [text(sheet.when, STRONG)]
    for heading, lines in sheet.parts:
        story += [text(heading, HEADING), *(text(f"–  {line}") for line in lines)]
    story += [gap(4), text(sheet.closing)]
    return draw_sheet(sheet.letterhead, TitleBlock(sheet.what, sheet.title, sheet.cells), story)
