"""Files as drafters send them, made here, and some that nobody should send."""

import io
import struct
import zlib

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image, ImageDraw
from reportlab.pdfgen import canvas


def plan_picture(kind: str = "PNG", size: tuple[int, int] = (600, 400)) -> bytes:
    """A house of two rooms as PNG, JPEG, TIFF or anything else Pillow writes."""
    picture = Image.new("RGB", size, "white")
    pen = ImageDraw.Draw(picture)
    pen.rectangle((40, 40, size[0] - 40, size[1] - 40), outline="black", width=6)
    pen.line((size[0] // 2, 40, size[0] // 2, size[1] - 40), fill="black", width=6)
    written = io.BytesIO()
    picture.save(written, kind)
    return written.getvalue()


def plan_pdf(pages: int = 1, said: str = "") -> bytes:
    written = io.BytesIO()
    sheet = canvas.Canvas(written, pagesize=(842, 595))
    for number in range(1, pages + 1):
        sheet.rect(60, 60, 700, 450)
        sheet.line(400, 60, 400, 510)
        sheet.drawString(100, 100, f"Level {number}")
        sheet.drawString(100, 540, said)
        sheet.showPage()
    sheet.save()
    return written.getvalue()


def swollen_png(width: int = 40_000, height: int = 40_000) -> bytes:
    """A PNG of a few hundred kilobytes that unpacks to 200 MB of one-bit pixels."""
    packer = zlib.compressobj(9)
    row = b"\0" * (width // 8 + 1)
    pixels = b"".join(packer.compress(row) for _ in range(height)) + packer.flush()
    header = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + _chunk(b"IHDR", header) + _chunk(b"IDAT", pixels) + _chunk(b"IEND", b"")


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def sent(content: bytes | None = None, name: str = "plan.pdf", claims: str = "application/pdf") -> SimpleUploadedFile:
    """An upload with whatever name and type its sender claims."""
    return SimpleUploadedFile(name, plan_pdf() if content is None else content, claims)
