"""Pages of a plan as pictures, for the screen.

Plans come from outside, so this runs as a process of its own with little to break:
`python -m deliverables.paper.preview FOLDER` reads a plan from standard input and writes 1.png, 2.png … there.
"""

import io
import resource
import sys
from collections.abc import Iterator
from pathlib import Path

import pypdfium2
from PIL import Image, ImageOps, ImageSequence

LONG_SIDE = 1800
"""Pixels; a plan's figures can be read, and a page stays under a megabyte."""
MOST_PAGES = 24
PDF = b"%PDF-"
SCALABLE = frozenset({"L", "LA", "RGB", "RGBA"})


MOST_MEMORY = 2 * 1024**3
MOST_SECONDS = 20
MOST_WRITTEN = 64 * 1024**2


def write_pictures(content: bytes, folder: Path) -> int:
    """The first pages of a PDF, PNG, JPEG or TIFF; raises what the decoders raise on a file they cannot read."""
    pages = _pages_of_pdf(content) if content.startswith(PDF) else _pages_of_picture(content)
    number = 0
    for number, page in enumerate(pages, 1):
        half_written = folder / "page.part"
        page.convert("RGB").save(half_written, "PNG")
        half_written.rename(folder / f"{number}.png")
    return number


def _pages_of_pdf(content: bytes) -> Iterator[Image.Image]:
    document = pypdfium2.PdfDocument(content)
    for number in range(min(len(document), MOST_PAGES)):
        page = document[number]
        yield page.render(scale=LONG_SIDE / max(1.0, *page.get_size())).to_pil()
        page.close()
    document.close()


def _pages_of_picture(content: bytes) -> Iterator[Image.Image]:
    with Image.open(io.BytesIO(content), formats=("PNG", "JPEG", "TIFF")) as picture:
        for _number, frame in zip(range(MOST_PAGES), ImageSequence.Iterator(picture), strict=False):
            yield _on_white(frame)


def _on_white(frame: Image.Image) -> Image.Image:
    """Made small before anything else, so that the largest sheet fits into the memory there is."""
    frame.draft("RGB", (LONG_SIDE, LONG_SIDE))
    scale = min(1.0, LONG_SIDE / max(frame.size))
    plain = frame if frame.mode in SCALABLE else frame.convert("RGBA")
    small = plain.resize([max(1, round(side * scale)) for side in frame.size], reducing_gap=2.0)
    upright = ImageOps.exif_transpose(small).convert("RGBA")
    paper = Image.new("RGB", upright.size, "white")
    paper.paste(upright, mask=upright.getchannel("A"))
    return paper


def _keep_small() -> None:
    """A file made to burst takes this process with it and nothing else."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS))
    resource.setrlimit(resource.RLIMIT_FSIZE, (MOST_WRITTEN, MOST_WRITTEN))


if __name__ == "__main__":
    _keep_small()
    write_pictures(sys.stdin.buffer.read(), Path(sys.argv[1]))
