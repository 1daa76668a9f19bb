"""Pages from PDF files, drawn by pdfium, which runs no script here: its words, links and document texts beside them."""

import ctypes
import math
from collections.abc import Iterator
from itertools import islice
from typing import TYPE_CHECKING, Any

from .hostile import caution_about
from .limits import PlanLimits, Unreadable
from .sheets import PlanFile, Sheet
from .words import Word

if TYPE_CHECKING:
    import pypdfium2

POINTS_PER_INCH = 72
MOST_WORDS = 2000
MOST_STEPS = 10_000_000
"""Finding a word takes steps in proportion to the letters of the page: a page of a book is read in part."""
MOST_IMAGES = 200
MOST_LINKS = 500
LONGEST_LINK = 2048
WHOLE_PAGE = 0.5
"""An image that covers this much of a page is what the page shows."""
LOCKED = "The PDF is locked with a password."


def open_pdf(content: bytes, limits: PlanLimits) -> PlanFile:
    """The pages of a PDF; raises `Unreadable` for one that is locked, damaged or without pages."""
    import pypdfium2

    try:
        document = pypdfium2.PdfDocument(content)
    except pypdfium2.PdfiumError as error:
        raise Unreadable(LOCKED if "password" in str(error).lower() else "The PDF is damaged.") from None
    count = len(document)
    if not count:
        raise Unreadable("The PDF has no pages.")
    return PlanFile(count, caution_about(content, document), _sheets(document, limits))


def _sheets(document: "pypdfium2.PdfDocument", limits: PlanLimits) -> Iterator[Sheet]:
    import pypdfium2

    behind = _document_texts(document)
    for index in range(min(len(document), limits.most_pages)):
        try:
            page = document[index]
            sheet = _sheet(page, index + 1, limits, behind)
            page.close()
        except (pypdfium2.PdfiumError, Unreadable) as error:
            reason = str(error) if isinstance(error, Unreadable) else "The page is damaged."
            sheet = Sheet(index + 1, None, limits.pdf_dpi, fault=reason)
        yield sheet


def _sheet(page: "pypdfium2.PdfPage", number: int, limits: PlanLimits, behind: tuple[str, ...]) -> Sheet:
    width, height = page.get_size()
    if not (0 < width < math.inf and 0 < height < math.inf):
        raise Unreadable("The page has no size.")
    dpi = _fitting_dpi(width, height, limits)
    bitmap = page.render(scale=dpi / POINTS_PER_INCH, rev_byteorder=True, prefer_bgrx=False)
    picture = bitmap.to_pil().convert("RGB")
    texts = (*behind, *_links(page.pdf, page))
    return Sheet(number, picture, dpi, _words(page), texts, _detail(page, width, height, max(picture.size)))


def _fitting_dpi(width: float, height: float, limits: PlanLimits) -> int:
    """Whole dots an inch: as usual, more for a tiny page, fewer for one that would not fit."""
    usual = max(limits.pdf_dpi, math.ceil(limits.least_pdf_side_px * POINTS_PER_INCH / max(width, height)))
    by_side = limits.longest_side_px / max(width, height)
    by_area = math.sqrt(limits.most_pixels / (width * height))
    fitting = math.floor(POINTS_PER_INCH * min(by_side, by_area))
    if fitting < 1:
        inches = f"{width / POINTS_PER_INCH:.0f} × {height / POINTS_PER_INCH:.0f} inches"
        raise Unreadable(f"The page is {inches}, too large to draw.")
    return min(usual, fitting)


def _words(page: "pypdfium2.PdfPage") -> tuple[Word, ...]:
    textpage = page.get_textpage()
    try:
        most = min(MOST_WORDS, MOST_STEPS // max(1, textpage.count_chars()))
        boxes = [textpage.get_rect(index) for index in range(min(textpage.count_rects(), most))]
        words = [Word(" ".join(textpage.get_text_bounded(*box).split()), *box) for box in boxes]
    finally:
        textpage.close()
    return tuple(word for word in words if word.text)


def _detail(page: "pypdfium2.PdfPage", width: float, height: float, drawn_px: int) -> int:
    """The long side in pixels that the page really has: of its image, where one image is the page."""
    import pypdfium2.raw as pdfium

    detail = drawn_px
    for image in islice(page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_IMAGE], max_depth=3), MOST_IMAGES):
        left, bottom, right, top = image.get_bounds()
        wide, high = right - left, top - bottom
        if wide * high >= WHOLE_PAGE * width * height:
            detail = min(detail, round(max(image.get_px_size()) / max(wide, high) * max(width, height)))
    return detail


def _document_texts(document: "pypdfium2.PdfDocument") -> tuple[str, ...]:
    return tuple(text for text in document.get_metadata_dict(skip_empty=True).values() if text)


def _links(document: "pypdfium2.PdfDocument", page: "pypdfium2.PdfPage") -> tuple[str, ...]:
    """Where the page's links lead."""
    import pypdfium2.raw as pdfium

    links: list[str] = []
    position, link = ctypes.c_int(0), pdfium.FPDF_LINK()
    while len(links) < MOST_LINKS and pdfium.FPDFLink_Enumerate(page, position, link):
        action = pdfium.FPDFLink_GetAction(link)
        buffer = ctypes.create_string_buffer(LONGEST_LINK)
        length: Any = pdfium.FPDFAction_GetURIPath(document, action, buffer, LONGEST_LINK) if action else 0
        links.append(buffer.raw[: min(length, LONGEST_LINK)].rstrip(b"\0").decode("utf-8", "replace"))
    return tuple(link for link in links if link)
