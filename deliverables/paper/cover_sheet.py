"""The cover sheet of a bundle, and the list of checksums in the form that `sha256sum --check` reads."""

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.platypus import Flowable

from office.paper.parts import CELL, HEADING, SMALL, gap, rows, text
from office.paper.sheet import Letterhead, TitleBlock, draw_sheet


@dataclass(frozen=True)
class CoverItem:
    """One file or link. `where` is the file's name or the address; a link has no size and no checksum."""

    title: str
    where: str
    size: str = ""
    sha256: str = ""


@dataclass(frozen=True)
class CoverSheet:
    """Everything the sheet says; dates are already written out."""

    letterhead: Letterhead
    job: str
    bundle: str
    property_lines: tuple[str, ...]
    client: str
    handed_over: str
    open_until: str
    ask: str
    items: tuple[CoverItem, ...]
    message: str = ""


CAUTIONS = (
    "Areas and dimensions are approximate and for marketing. This is not a boundary survey, appraisal, inspection or "
    "legal area; for those rely on a licensed surveyor or appraiser. Local rules differ."
)
CHECKING = (
    "SHA-256 is a fingerprint of a file: whoever holds the file can compute it again and see that nothing has changed."
)


def cover_sheet_pdf(cover: CoverSheet) -> bytes:
    """The sheet as PDF."""
    block = TitleBlock("Handover", ", ".join(cover.property_lines), (("Job", cover.job), ("Bundle", cover.bundle)))
    story = [
        *([text(cover.message), gap()] if cover.message else []),
        text("What is in this bundle", HEADING),
        rows(["What", "File or link", "Size"], [_row(item) for item in cover.items], [26, 60, 14], figures=[2]),
        gap(),
        text(CHECKING, SMALL),
        text("How long, and whom to ask", HEADING),
        rows(["", ""], _facts(cover), [26, 74]),
        gap(),
        text(CAUTIONS, SMALL),
    ]
    return draw_sheet(cover.letterhead, block, story)


def _row(item: CoverItem) -> list[str | list[Flowable]]:
    checksum = [text(f"SHA-256 {item.sha256}", SMALL)] if item.sha256 else []
    return [item.title, [text(item.where, CELL), *checksum], item.size]


def _facts(cover: CoverSheet) -> list[list[str]]:
    return [
        ["For", cover.client],
        ["Handed over", cover.handed_over],
        ["The link is open until", cover.open_until],
        ["Questions", cover.ask],
    ]


def checksum_list(items: Sequence[CoverItem]) -> bytes:
    """One line a file: the digest, two blanks, the name."""
    return "".join(f"{item.sha256}  {item.where}\n" for item in items if item.sha256).encode()
