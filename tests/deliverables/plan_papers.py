"""Small plan files made for one test each: PDFs with words, pictures in every colour space."""

import io

from PIL import Image, ImageDraw
from reportlab.pdfgen import canvas

ROOMS = (("Kitchen", 100, 300), ("Living room", 300, 300), ("Bedroom 1", 100, 150), ("Bathroom", 300, 150))
"""Name, left and bottom in points; each 200 by 150."""


def plan_pdf(pages=(None,), *, names=None, void=None, lines=(), author="", link="", size=(612, 792)) -> bytes:
    """A PDF of a house of four rooms on each page: its level's title, its rooms' `names` (None: all), a filled box."""
    stream = io.BytesIO()
    paper = canvas.Canvas(stream, pagesize=size)
    paper.setAuthor(author)
    for title in pages:
        _storey(paper, title, names)
        if void:
            paper.rect(*void, fill=1)
        for number, line in enumerate(lines):
            paper.drawString(100, 100 - 14 * number, line)
        if link:
            paper.linkURL(link, (0, 0, 50, 50))
        paper.showPage()
    paper.save()
    return stream.getvalue()


def _storey(paper, title, names):
    paper.setLineWidth(5)
    for name, left, bottom in ROOMS:
        paper.rect(left, bottom, 200, 150)
        if names is None or name in names:
            paper.drawCentredString(left + 100, bottom + 80, name)
    if title:
        paper.drawString(100, 480, title)


def plan_picture(void=(620, 420, 200, 130), *, mode="RGB", size=(1000, 700)) -> Image.Image:
    """Four rooms with thick walls; `void` is a filled box (x, y, width, height), None for none."""
    picture = Image.new("RGB", size, "white")
    pen = ImageDraw.Draw(picture)
    for left, top in ((100, 100), (500, 100), (100, 350), (500, 350)):
        pen.rectangle((left, top, left + 400, top + 250), outline="black", width=10)
    if void:
        x, y, width, height = void
        pen.rectangle((x, y, x + width - 1, y + height - 1), fill="black")
    return picture.convert(mode)


def saved(picture: Image.Image, kind: str, **options) -> bytes:
    stream = io.BytesIO()
    picture.save(stream, kind, **options)
    return stream.getvalue()
