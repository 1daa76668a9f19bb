"""One storey drawn on a page: walls, openings, furniture, names, and the voids among its rooms."""

import math
from dataclasses import dataclass, field
from random import Random

import numpy as np
from PIL import Image, ImageDraw, ImageFont
from shapely import affinity
from shapely.geometry import LineString, MultiPolygon, Point, Polygon, box
from shapely.ops import unary_union

from tests.deliverables.draft_style import House, Style

PASTELS = ((255, 236, 214), (214, 236, 255), (226, 250, 226), (250, 226, 250), (210, 210, 210), (165, 165, 165))
STRONG = ((40, 70, 220), (215, 40, 40), (30, 160, 60), (240, 180, 0))


def largest_scale(house: House, how: Style, room: tuple[float, float, float, float]) -> float:
    """Pixels a metre at which `house` just fits into `room`."""
    west, south, east, north = house.outline.buffer(how.outer).bounds
    return min((room[2] - room[0]) / (east - west), (room[3] - room[1]) / (north - south))


@dataclass
class PlanDrawing:
    """A house being drawn at `scale` pixels a metre into `room` (left, top, right, bottom) of `picture`.

    `largest` is the area of the largest house on the page: voids are large enough beside that.
    """

    picture: Image.Image
    house: House
    how: Style
    rng: Random
    room: tuple[float, float, float, float]
    scale: float
    largest: float
    voids: list[Polygon] = field(default_factory=list)
    closets: list[Polygon] = field(default_factory=list)

    def __post_init__(self):
        self.pen = ImageDraw.Draw(self.picture)
        self.west, south, east, self.north = self.house.outline.buffer(self.how.outer).bounds
        left, top, right, bottom = self.room
        wide, high = east - self.west, self.north - south
        self.left = left + self.rng.uniform(0.3, 0.7) * (right - left - wide * self.scale)
        self.top = top + self.rng.uniform(0.3, 0.7) * (bottom - top - high * self.scale)
        self.ink, self.paper = (self.how.ink,) * 3, (self.how.paper,) * 3

    def at(self, x, y):
        return (self.left + (x - self.west) * self.scale, self.top + (self.north - y) * self.scale)

    def bounds(self, shape):
        """The shape's box in pixels: left, top, right, bottom."""
        west, south, east, north = shape.bounds
        return (*self.at(west, north), *self.at(east, south))

    def draw(self):
        rooms = self.house.rooms
        filled = self._choose_voids()
        hatched = {n for n in range(len(rooms)) if n not in filled and self.rng.random() < self.how.hatched}
        for number, room in enumerate(rooms):
            self._ground(room, number in hatched)
        for shape in self.voids:
            self._area(shape, (self.how.fill,) * 3)
        self._walls()
        for shape in self.closets:
            self._strip(shape.exterior, self.how.inner if self.how.walls == "solid" else 0, self.ink, self.how.line)
        self._openings(filled)
        for number, (room, kind) in enumerate(zip(rooms, self.house.kinds, strict=True)):
            if self.how.furnished and number not in filled:
                self._furniture(room, number in hatched)
            if number not in filled:
                self._label(room, kind)
        for void in self.voids:
            if self.rng.random() < 0.5:
                self._remark(void)
        if self.how.dimensioned and self.house.is_upright:
            self._dimensions()

    def dark_regions(self):
        """The voids as they are seen: those that touch as one; without the walls, where these are of another tone."""
        merged = unary_union([shape.buffer(0.02, join_style="mitre") for shape in self.voids])
        shapes = [part for part in getattr(merged, "geoms", [merged]) if not part.is_empty]
        if self.how.walls == "line" or self._may_meet:
            return shapes
        inner = unary_union([shape.exterior for shape in (*self.house.rooms, *self.closets)])
        walls = [self.house.outline.exterior.buffer(self.how.outer / 2), inner.buffer(self.how.inner / 2)]
        return [shape.difference(unary_union(walls)) for shape in shapes]

    def _area(self, shape, fill):
        if shape.is_empty:
            return
        left, top, right, bottom = (round(edge) for edge in self.bounds(shape))
        mask = Image.new("1", (right - left + 3, bottom - top + 3))
        pen = ImageDraw.Draw(mask)
        for part in shape.geoms if isinstance(shape, MultiPolygon) else [shape]:
            for ring, ink in ((part.exterior, 1), *((hole, 0) for hole in part.interiors)):
                pen.polygon(
                    [(x - left + 1, y - top + 1) for x, y in (self.at(*point) for point in ring.coords)], fill=ink
                )
        self.picture.paste(fill, (left - 1, top - 1), mask)

    def _strip(self, line, metres, fill, least=1):
        wide = max(metres, least / self.scale)
        self._area(line.buffer(wide / 2, cap_style="square", join_style="mitre"), fill)

    def _line(self, points, width=None):
        self.pen.line([self.at(*point) for point in points], fill=self.ink, width=width or self.how.line)

    def _choose_voids(self):
        """Rooms filled whole, in part, with a gap to the walls, or a closet in a corner; returns their numbers."""
        count = self.rng.choice((0, 1, 1, 2, 3))
        chosen = self.rng.sample(range(len(self.house.rooms)), min(count, len(self.house.rooms) - 1))
        for number in chosen:
            manner = self.rng.choice(("whole", "whole", "part", "notched", "gap", "closet"))
            shape = self._void_shape(self.house.rooms[number], manner)
            apart = self._may_meet or not any(shape.distance(other) < 0.3 for other in self.voids)
            if self._is_wide(shape) and apart:
                self.voids.append(shape)
                self.closets += [shape] if manner == "closet" else []
        return set(chosen)

    def _is_wide(self, shape):
        """Whether `shape` is nowhere narrower than two and a half of the thickest walls."""
        return shape.buffer(-1.3 * self.how.outer).geom_type == "Polygon" and shape.area > 2.6 * self.how.outer

    @property
    def _may_meet(self):
        """Whether two voids that touch are one dark region: nothing light or darker runs between them."""
        return self.how.fill == self.how.ink and self.how.walls == "solid"

    def _void_shape(self, room, manner):
        """A void in `room`, cut along the room's own walls."""
        (x, y), (further, higher), *_ = room.exterior.coords
        slope = math.degrees(math.atan2(higher - y, further - x))
        level = affinity.rotate(room, -slope, origin=(0, 0))
        return affinity.rotate(self._level_void(level, manner), slope, origin=(0, 0))

    def _level_void(self, room, manner):
        west, south, east, north = room.bounds
        if manner == "whole":
            return room
        if manner == "gap":
            return room.buffer(-self.how.outer / 2 - self.rng.uniform(0.08, 0.2), join_style="mitre")
        if manner == "closet":
            corner = Point(self.rng.choice(list(room.exterior.coords)))
            reach = self.how.outer / 2 + max(self.rng.uniform(0.6, 0.9), 0.075 * math.sqrt(self.largest))
            return room.intersection(corner.buffer(reach, cap_style="square"))
        cut = box(west, south, west + (east - west) * self.rng.uniform(0.4, 0.6), north)
        if manner == "notched":
            cut = unary_union([cut, box(west, south, east, south + (north - south) * 0.45)])
        part = room.intersection(cut)
        return max(part.geoms, key=lambda piece: piece.area) if isinstance(part, MultiPolygon) else part

    def _ground(self, room, hatched):
        if self.rng.random() < self.how.coloured and self.how.paper > 240 and self.how.ink < 50:
            self._area(room, self.rng.choice(PASTELS if self.rng.random() < 0.8 else STRONG))
        if hatched:
            self._hatch(room)

    def _hatch(self, room):
        west, south, east, north = room.bounds
        pitch = max(self.rng.uniform(0.12, 0.35), (3 * self.how.line + 2) / self.scale)
        slope = self.rng.choice((0, 1, 1))
        for step in np.arange(west - (north - south), east + (north - south), pitch):
            stroke = room.intersection(LineString([(step, south), (step + slope * (north - south), north)]))
            for piece in getattr(stroke, "geoms", [stroke]):
                if isinstance(piece, LineString) and not piece.is_empty:
                    self._line(piece.coords)

    def _walls(self):
        outer, inner = (self.how.outer, self.how.inner) if self.how.walls != "line" else (0, 0)
        for room in self.house.rooms:
            self._strip(room.exterior, inner, self.ink, self.how.line)
        self._strip(self.house.outline.exterior, outer, self.ink, self.how.line + 1)
        slim = 2 * max(2, self.how.line) / self.scale
        if self.how.walls == "hollow" and inner > 2 * slim:
            for room in self.house.rooms:
                self._strip(room.exterior, inner - slim, self.paper)
        if self.how.walls == "hollow" and outer > 2 * slim:
            self._strip(self.house.outline.exterior, outer - slim, self.paper)

    def _openings(self, filled):
        rooms = self.house.rooms
        for one in range(len(rooms)):
            for other in range(one):
                if self.how.doors and not {one, other} & filled:
                    self._opening(rooms[one].intersection(rooms[other]), self.how.inner, 0.8, door=True)
        outline = self.house.outline.exterior
        for number, room in enumerate(rooms):
            if self.how.windows and number not in filled:
                door = self.rng.random() < 0.15
                edge = room.exterior.intersection(outline.buffer(0.02))
                self._opening(edge, self.how.outer, 0.9 if door else self.rng.uniform(0.9, 1.8), door=door)

    def _opening(self, shared, thick, wide, *, door):
        pieces = [piece for piece in getattr(shared, "geoms", [shared]) if isinstance(piece, LineString)]
        straight = [LineString(pair) for piece in pieces for pair in zip(piece.coords, piece.coords[1:], strict=False)]
        piece = max(straight, key=lambda piece: piece.length, default=None)
        if piece is None or piece.length < wide + 0.5:
            return
        gap = LineString([piece.interpolate((piece.length + side * wide) / 2) for side in (-1, 1)])
        if any(gap.distance(shape) < 0.5 for shape in self.voids):
            return
        self._area(gap.buffer(thick / 2 + 3 * self.how.line / self.scale, cap_style="flat"), self.paper)
        if door:
            self._leaf(gap, wide)
        else:
            for shift in (-thick / 2, 0, thick / 2):
                self._line(gap.offset_curve(shift).coords, 1)

    def _leaf(self, gap, wide):
        (x, y), _ = gap.coords
        self._line(affinity.rotate(gap, 90, origin=(x, y)).coords)
        across, down = self.at(x, y)
        reach = wide * self.scale
        self.pen.arc((across - reach, down - reach, across + reach, down + reach), 0, 90, fill=self.ink)

    def _furniture(self, room, hatched):
        """One piece in the middle of the room, if it fits; in hatching only what stands clear of it."""
        spot, free = room.representative_point(), room.buffer(-self.how.outer)
        x, y = spot.x, spot.y
        kinds = ("table", "hob") if hatched else ("table", "hob", "bed", "stairs", "column", "sofa", "piano")
        kind = self.rng.choice(kinds)
        if kind == "table":
            self._disc(x, y, 0.5, None)
        elif kind == "hob":
            for across, down in ((0, 0), (0.3, 0), (0, 0.3), (0.3, 0.3)):
                self._disc(x + across, y + down, 0.12, self.ink)
        elif kind == "bed":
            self._outlined(box(x - 0.7, y - 1, x + 0.7, y + 1), free, None)
            self._outlined(box(x - 0.6, y + 0.5, x + 0.6, y + 0.9), free, None)
        elif kind == "stairs":
            tread = max(0.26, (3 * self.how.line + 2) / self.scale)
            for step in range(9):
                self._outlined(box(x - 0.45, y + (step - 4) * tread, x + 0.45, y + (step - 3) * tread), free, None)
        elif kind == "column":
            self._outlined(box(x - 0.2, y - 0.2, x + 0.2, y + 0.2), free, self.ink)
        elif kind == "piano":
            clear = room.buffer(-1.1)
            self._outlined(Point(x, y).buffer(0.5).union(box(x - 0.6, y - 0.5, x + 0.2, y + 0.3)), clear, self.ink)
        else:
            self._outlined(box(x - 0.9, y - 0.4, x + 0.9, y + 0.4), free, (200, 200, 200))

    def _outlined(self, shape, free, fill):
        if free.contains(shape):
            points = [self.at(*point) for point in shape.exterior.coords]
            self.pen.polygon(points, fill=fill, outline=self.ink, width=self.how.line)

    def _disc(self, x, y, radius, fill):
        across, down = self.at(x, y)
        reach = radius * self.scale
        around = (across - reach, down - reach, across + reach, down + reach)
        self.pen.ellipse(around, outline=self.ink, fill=fill, width=self.how.line)

    def _label(self, room, kind):
        spot = self.at(*room.representative_point().coords[0])
        font = ImageFont.load_default(max(9, 0.3 * self.scale * self.rng.uniform(0.6, 1.2)))
        text = f"{kind}\n{self.rng.randrange(7, 18)}'-{self.rng.randrange(12)}\""
        self.pen.text(spot, text, fill=self.ink, font=font, anchor="mm", align="center")

    def _remark(self, void):
        """A white word on a void that has room for it."""
        spot, font = void.representative_point(), ImageFont.load_default(max(9, 0.25 * self.scale))
        reach = font.getlength("not seen") / self.scale / 2 + 0.3
        if void.contains(spot.buffer(reach)):
            self.pen.text(self.at(spot.x, spot.y), "not seen", fill=self.paper, font=font, anchor="mm")

    def _dimensions(self):
        west, south, east, north = self.house.outline.bounds
        off, tick = 0.6 + self.how.outer, 0.15
        self._line([(west, south - off), (east, south - off)], 1)
        self._line([(west - off, south), (west - off, north)], 1)
        for x in (west, east):
            self._line([(x, south - off - tick), (x, south - off / 3)], 1)
        for y in (south, north):
            self._line([(west - off - tick, y), (west - off / 3, y)], 1)
