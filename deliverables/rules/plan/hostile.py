"""What a PDF carries beside its pages that a plan never needs: scripts, programs to start, files inside it."""

import re
import zlib
from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pypdfium2

ACTIVE = re.compile(rb"/(JavaScript|JS|Launch|EmbeddedFiles|RichMedia)(?=[\s/<(\[>])")
NAMES = {
    b"JavaScript": "a script",
    b"JS": "a script",
    b"Launch": "an order to start a program",
    b"EmbeddedFiles": "other files",
    b"RichMedia": "a player",
}
MOST_STREAMS = 100_000
MOST_INFLATED = 4_000_000
DICTIONARY = 400
"""How many bytes before a stream its dictionary is sought in."""


def caution_about(content: bytes, document: "pypdfium2.PdfDocument") -> str:
    """A sentence that names the active content of a PDF, or nothing. Nothing found is run or unpacked."""
    import pypdfium2.raw as pdfium

    found = {NAMES[name] for piece in _structure(content) for name in ACTIVE.findall(piece)}
    if pdfium.FPDFDoc_GetJavaScriptActionCount(document) > 0:
        found.add("a script")
    if document.count_attachments() > 0:
        found.add("other files")
    return f"The PDF carries {' and '.join(sorted(found))}, which no plan needs; ask for a plain copy." if found else ""


def _structure(content: bytes) -> Iterator[bytes]:
    """The PDF's own objects, also those in compressed object streams, without the streams of pictures and fonts."""
    position = 0
    for _ in range(MOST_STREAMS):
        start = content.find(b"stream", position)
        end = content.find(b"endstream", start + 6)
        if start < 0 or end < 0:
            break
        yield content[position:start]
        if b"/ObjStm" in content[max(position, start - DICTIONARY) : start]:
            yield _inflated(content[start + 6 : end].lstrip(b"\r\n"))
        position = end + 9
    yield content[position:]


def _inflated(packed: bytes) -> bytes:
    try:
        return zlib.decompressobj().decompress(packed, MOST_INFLATED)
    except zlib.error:
        return b""
