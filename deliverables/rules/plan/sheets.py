"""The pages of a plan file (PDF, PNG, JPEG, TIFF) as pictures with their words. Typed by content, never by name."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from .limits import PlanLimits, Unreadable
from .words import Word

if TYPE_CHECKING:
    from PIL import Image

STARTS = {
    b"\x89PNG\r\n\x1a\n": "PNG",
    b"\xff\xd8\xff": "JPEG",
    b"II*\x00": "TIFF",
    b"MM\x00*": "TIFF",
    b"II+\x00": "TIFF",
    b"MM\x00+": "TIFF",
}
PDF_START_WITHIN = 1024
"""A PDF may carry other bytes before its header (PDF 32000-1, annex H.3.4)."""


@dataclass(frozen=True)
class Sheet:
    """One page: its picture (L or RGB) as it is viewed, at `dpi`, and what is written on and behind it.

    `fault` says why there is no picture. `detail_px` is the long side in pixels that the page really has: fewer than
    the picture's when a small image was blown up to fill a page.
    """

    number: int
    picture: "Image.Image | None"
    dpi: int
    words: tuple[Word, ...] = ()
    behind: tuple[str, ...] = ()
    detail_px: int = 0
    fault: str = ""


@dataclass(frozen=True)
class PlanFile:
    """An opened file: how many pages it has, why it should not be passed on as it is, and its pages in turn."""

    page_count: int
    caution: str
    sheets: Iterator[Sheet]


def open_plan(source: Path | str | bytes, limits: PlanLimits) -> PlanFile:
    """The file's pages, at most `limits.most_pages`. Raises `Unreadable`, `OSError` for a path that does not open."""
    content = source if isinstance(source, bytes) else _read(Path(source), limits)
    if len(content) > limits.most_bytes:
        raise Unreadable(f"The file is larger than {limits.most_bytes // 1_000_000} MB.")
    if not content:
        raise Unreadable("The file is empty.")
    if b"%PDF-" in content[:PDF_START_WITHIN]:
        from .pdf_sheets import open_pdf

        return open_pdf(content, limits)
    kind = next((kind for start, kind in STARTS.items() if content.startswith(start)), None)
    if kind is None:
        raise Unreadable("The file is none of PDF, PNG, JPEG and TIFF.")
    from .image_sheets import open_image

    return open_image(content, kind, limits)


def _read(path: Path, limits: PlanLimits) -> bytes:
    with path.open("rb") as file:
        return file.read(limits.most_bytes + 1)
