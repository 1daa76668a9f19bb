"""The drafter's two drafts of the invented house, drawn with reportlab: the first leaves the bedroom closet blank."""

from dataclasses import dataclass
from io import BytesIO

PAGE = (842.0, 595.0)
CELL_M = 0.8
CELL_POINTS = 34.0
"""The rooms lie on a grid of cells of 0.8 m, drawn 34 points wide."""
ORIGIN = (70.0, 120.0)


@dataclass(frozen=True)
class Room:
    """A rectangle of cells, with what is written in it."""

    name: str
    x: float
    y: float
    width: float
    depth: float


LEVELS = {
    "Basement": (
        Room("Family room", 0, 0, 9, 6), Room("Utility room", 9, 0, 5, 6), Room("Storage closet", 0, 6, 6, 3),
        Room("Basement stair", 6, 6, 3, 3),
    ),
    "Ground floor": (
        Room("Living room", 0, 0, 7, 5), Room("Dining room", 7, 0, 4, 5), Room("Kitchen", 11, 0, 5, 5),
        Room("Entry hall", 0, 5, 5, 4), Room("Powder room", 5, 5, 2, 2), Room("Coat closet", 5, 7, 2, 2),
        Room("Main stair", 7, 5, 3, 4), Room("Garage", 10, 5, 6, 6),
    ),
    "Upper floor": (
        Room("Main bedroom", 0, 0, 6, 5), Room("Dressing room", 6, 0, 3, 3), Room("Main bathroom", 6, 3, 3, 2),
        Room("Second bedroom", 9, 0, 5, 5), Room("Bedroom closet", 9, 5, 3, 2), Room("Landing", 0, 5, 9, 3),
        Room("Study", 12, 5, 2, 3),
    ),
}  # fmt: skip
BLOCKED = "Bedroom closet"


def draw_draft(*, with_void: bool) -> bytes:
    """A three-page PDF, one level a page; with the blocked closet filled solid, or drawn."""
    from reportlab.pdfgen.canvas import Canvas

    file = BytesIO()
    canvas = Canvas(file, pagesize=PAGE, invariant=1)
    canvas.setTitle("27 Alder Rise, floor plan")
    for level, rooms in LEVELS.items():
        _draw_level(canvas, level, rooms, BLOCKED if with_void else "")
        canvas.showPage()
    canvas.save()
    return file.getvalue()


def _draw_level(canvas, level: str, rooms: tuple[Room, ...], filled: str) -> None:  # noqa: ANN001
    canvas.setFont("Helvetica-Bold", 16)
    canvas.drawString(ORIGIN[0], 60, level)
    canvas.setLineWidth(4)
    for room in rooms:
        _draw_room(canvas, room, solid=room.name == filled)


def _draw_room(canvas, room: Room, *, solid: bool) -> None:  # noqa: ANN001
    left, bottom = ORIGIN[0] + room.x * CELL_POINTS, ORIGIN[1] + room.y * CELL_POINTS
    width, depth = room.width * CELL_POINTS, room.depth * CELL_POINTS
    canvas.rect(left, bottom, width, depth, fill=int(solid))
    if solid:
        return
    canvas.setFont("Helvetica", 9)
    canvas.drawCentredString(left + width / 2, bottom + depth / 2 + 4, room.name)
    canvas.setFont("Helvetica", 8)
    canvas.drawCentredString(
        left + width / 2, bottom + depth / 2 - 7, f"{room.width * CELL_M:.2f} x {room.depth * CELL_M:.2f} m"
    )
