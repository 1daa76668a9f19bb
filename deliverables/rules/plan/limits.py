"""What a plan file may cost before it is refused."""

from dataclasses import dataclass


@dataclass(frozen=True)
class PlanLimits:
    """Caps on one file. Sizes are read from headers before anything is decoded.

    The pixels of an A1 sheet at 300 dpi fit; a PDF page that would have more is drawn at a lower resolution.
    """

    most_bytes: int = 100_000_000
    most_pages: int = 30
    most_pixels: int = 80_000_000
    longest_side_px: int = 30_000
    pdf_dpi: int = 150
    least_pdf_side_px: int = 1000
    seconds: int = 45
    memory_bytes: int = 2_000_000_000


class Unreadable(ValueError):
    """A file or page that cannot be looked at; `str()` says why, in one sentence for people.

    `file` counts from 0 where several were given.
    """

    def __init__(self, reason: str, file: int = 0) -> None:
        self.file = file
        super().__init__(reason)
