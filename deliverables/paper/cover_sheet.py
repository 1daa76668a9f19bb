"""The cover sheet of a bundle, and the list of checksums in the form that `sha256sum --check` reads."""

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.platypus import Flowable

from office.paper.parts import CELL, HEADING, SMALL, gap, rows, text
from office.paper.sheet import Letterhead, TitleBlock, Words, draw_sheet

WIDTHS = (26, 60, 14)


@dataclass(frozen=True)
class CoverItem:
    """One file or link. `where` is the file's name or the address; a link has no size and no checksum."""

    title: str
    where: str
    size: str = ""
    sha256: str = ""


@dataclass(frozen=True)
class Labels:
    """The words of the sheet, in the paper's language."""

    contents: str
    item: str
    where: str
    size: str
    fingerprints: str
    """What a SHA-256 is good for."""
    questions: str
    cautions: str


@dataclass(frozen=True)
class CoverSheet:
    """Everything the sheet says; `facts` are a label and a value each, dates already written out."""

    letterhead: Letterhead
    block: TitleBlock
    words: Words
    labels: Labels
    items: tuple[CoverItem, ...]
    facts: tuple[tuple[str, str], ...]
    message: str = ""


def cover_sheet_pdf(cover: CoverSheet) -> bytes:
    """The sheet as PDF."""
    labels = cover.labels
    head = [labels.item, labels.where, labels.size]
    story = [
        *([text(cover.message), gap()] if cover.message else []),
        text(labels.contents, HEADING),
        rows(head, [_row(item) for item in cover.items], WIDTHS, figures=[2]),
        gap(),
        text(labels.fingerprints, SMALL),
        text(labels.questions, HEADING),
        rows(["", ""], cover.facts, [WIDTHS[0], 100 - WIDTHS[0]]),
        gap(),
        text(labels.cautions, SMALL),
    ]
    return draw_sheet(cover.letterhead, cover.block, story, cover.words)


def _row(item: CoverItem) -> list[str | list[Flowable]]:
    checksum = [text(f"SHA-256 {item.sha256}", SMALL)] if item.sha256 else []
    return [item.title, [text(item.where, CELL), *checksum], item.size]


def checksum_list(items: Sequence[CoverItem]) -> bytes:
    """One line a file: the digest, two blanks, the name."""
    return "".join(f"{item.sha256}  {item.where}\n" for item in items if item.sha256).encode()
