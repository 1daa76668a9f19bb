"""Pictures of a draft's pages, drawn by a process of their own."""

import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from django.conf import settings
from PIL import Image

PATIENCE = 25
"""Seconds."""


@dataclass(frozen=True)
class PagePicture:
    """One page as PNG, `width` by `height` pixels; the first page is 1."""

    number: int
    width: int
    height: int
    png: bytes


def pictures_of(content: bytes) -> list[PagePicture]:
    """As many pages as could be drawn; none of a file that cannot be read or takes too much."""
    with TemporaryDirectory(prefix="preview-") as folder:
        try:
            subprocess.run(  # noqa: S603 - our own module, with no word of the sender's on the command line
                [sys.executable, "-m", "deliverables.paper.preview", folder],
                input=content, cwd=settings.BASE_DIR, env={}, timeout=PATIENCE, capture_output=True, check=False,
            )  # fmt: skip
        except subprocess.TimeoutExpired:
            return []
        return [_picture(path) for path in sorted(Path(folder).glob("*.png"), key=lambda path: int(path.stem))]


def _picture(path: Path) -> PagePicture:
    with Image.open(path, formats=("PNG",)) as picture:
        return PagePicture(int(path.stem), picture.width, picture.height, path.read_bytes())
