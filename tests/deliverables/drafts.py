"""Synthetic drafts: house geometries drawn as plans with known voids, each a function of its seed alone."""

import io
import json
import math
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

import numpy as np
from PIL import Image, ImageDraw, ImageFont
from shapely import affinity
from shapely.geometry import LineString, MultiPolygon, Point, Polygon, box
from shapely.ops import unary_union

PAGES = ((900, 700), (1200, 850), (1500, 1100), (1754, 1240))
LARGE_PAGE = (4200, 3000)
PASTELS = ((255, 236, 214), (214, 236, 255), (226, 250, 226), (250, 226, 250), (210, 210, 210), (165, 165, 165))
STRONG = ((40, 70, 220), (215, 40, 40), (30, 160, 60), (240, 180, 0))


@dataclass(frozen=True)
class House:
    """A storey: rooms in metres and the kind of each."""

    name: str
    rooms: tuple[Polygon, ...]
    kinds: tuple[str, ...]

    @property
    def outline(self):
        return unary_union(self.rooms).buffer(0.1, join_style="mitre").buffer(-0.1, join_style="mitre")


@dataclass(frozen=True)
class Style:
    """How a draft is drawn; lengths in metres, levels 0 to 255."""

    walls: str
    outer: float
    inner: float
    line: int
    ink: int
    paper: int
    fill: int
    doors: bool
    windows: bool
    coloured: float
    hatched: float
    furnished: bool
    framed: bool
    titled: bool
    dimensioned: bool
    inverted: bool
    turns: int
    noise: float
    jpeg: int | None
    fill_of_page: float


@dataclass(frozen=True)
class Draft:
    """A drawn page, the boxes of its voids (x, y, width, height) and their shares of the outline."""

    seed: int
    name: str
    style: Style
    picture: Image.Image
    voids: tuple[tuple[int, int, int, int], ...]
    shares: tuple[float, ...]


def houses(checks: Path) -> list[House]:
    """The published layouts, largest variety first: generated ones and the ground floor of a real house."""
    layouts = json.loads((checks / "plans" / "procthor_30.json").read_text())
    found = [
        House(plan["name"], tuple(Polygon(r["polygon"]) for r in plan["rooms"]), tuple(r["kind"] for r in plan["rooms"]))
        for plan in layouts
    ]
    spaces = json.loads((checks / "plans" / "fzk_haus_spaces.json").read_text())
    ground = [space for space in spaces if space["storey"] == "Erdgeschoss"]
    rooms = tuple(Polygon(space["polygon"]).buffer(0.12, join_style="mitre") for space in ground)
    return [*found, House("fzk-ground", rooms, tuple(space["kind"] for space in ground))]


def style(rng: Random) -> Style:
    """A way of drawing."""
    walls = rng.choice(("solid", "solid", "solid", "hollow", "line"))
    ink = rng.choice((0, 0, 0, 20, 45, 80, 110))
    return Style(
        walls=walls,
        outer=rng.uniform(0.18, 0.42),
        inner=rng.uniform(0.07, 0.2),
        line=rng.choice((1, 2, 2, 3)),
        ink=ink,
        paper=rng.choice((255, 255, 248, 236)),
        fill=min(110, ink + rng.choice((0, 0, 0, 20, 40, 60))) if ink < 80 else ink,
        doors=rng.random() < 0.8,
        windows=rng.random() < 0.7,
        coloured=rng.choice((0, 0, 0.4, 1)),
        hatched=rng.choice((0, 0, 0.3)),
        furnished=rng.random() < 0.7,
        framed=rng.random() < 0.3,
        titled=rng.random() < 0.6,
        dimensioned=rng.random() < 0.3,
        inverted=rng.random() < 0.06,
        turns=rng.randrange(4),
        noise=rng.choice((0, 0, 0, 3, 6)),
        jpeg=rng.choice((None, None, 95, 75, 50, 35)),
        fill_of_page=rng.uniform(0.5, 0.8),
    )


def draft(seed: int, stock: list[House], *, large: bool = False) -> Draft:
    """The draft of `seed`: a house from `stock` in a random manner with none to three voids."""
    rng = Random(seed)
    house, how = rng.choice(stock), style(rng)
    size = LARGE_PAGE if large else rng.choice(PAGES)
    sheet = _Sheet(size, house, how, rng)
    sheet.draw()
    return sheet.finished(seed)


@dataclass
class _Sheet:
    """One page being drawn."""

    size: tuple[int, int]
    house: House
    how: Style
    rng: Random
    voids: list = field(default_factory=list)

    def __post_init__(self):
        self.picture = Image.new("RGB", self.size, (self.how.paper,) * 3)
        self.pen = ImageDraw.Draw(self.picture)
        west, south, east, north = self.house.outline.bounds
        self.scale = self.how.fill_of_page * min(self.size[0] / (east - west), self.size[1] * 0.85 / (north - south))
        self.west, self.north = west, north
        self.left = self.rng.uniform(0.35, 0.65) * (self.size[0] - (east - west) * self.scale)
        self.top = self.rng.uniform(0.35, 0.5) * (self.size[1] - (north - south) * self.scale)

    @property
    def ink(self):
        return (self.how.ink,) * 3

    @property
    def paper(self):
        return (self.how.paper,) * 3

    def at(self, x, y):
        return (self.left + (x - self.west) * self.scale, self.top + (self.north - y) * self.scale)

    def pixels(self, metres, least=1):
        return max(least, round(metres * self.scale))

    def area(self, shape, fill):
        mask = Image.new("1", self.size)
        pen = ImageDraw.Draw(mask)
        for part in shape.geoms if isinstance(shape, MultiPolygon) else [shape]:
            if not part.is_empty:
                pen.polygon([self.at(*point) for point in part.exterior.coords], fill=1)
                for hole in part.interiors:
                    pen.polygon([self.at(*point) for point in hole.coords], fill=0)
        self.picture.paste(fill, mask=mask)

    def strip(self, line, metres, fill, least=1):
        wide = max(metres, least / self.scale)
        self.area(line.buffer(wide / 2, cap_style="square", join_style="mitre"), fill)

    def line(self, points, width=None, fill=None):
        self.pen.line([self.at(*point) for point in points], fill=fill or self.ink, width=width or self.how.line)

    def draw(self):
        filled = self._choose_voids()
        hatched = {n for n in range(len(self.house.rooms)) if n not in filled and self.rng.random() < self.how.hatched}
        for number, room in enumerate(self.house.rooms):
            self._room(room, number in hatched)
        for shape in self.voids:
            self.area(shape, (self.how.fill,) * 3)
        self._walls()
        self._openings(filled)
        if self.how.furnished:
            for number, room in enumerate(self.house.rooms):
                if number not in filled:
                    self._furniture(room, number in hatched)
        for number, (room, kind) in enumerate(zip(self.house.rooms, self.house.kinds, strict=True)):
            self._label(room, kind, white=number in filled)
        self._surroundings()

    def _choose_voids(self):
        """Rooms filled whole, in part, with a gap to the walls, or a closet in a corner; returns their numbers."""
        count = self.rng.choice((0, 1, 1, 2, 3))
        chosen = self.rng.sample(range(len(self.house.rooms)), min(count, len(self.house.rooms) - 1))
        for number in chosen:
            shape = self._void_shape(self.house.rooms[number])
            if not self._is_wide(shape):
                continue
            if self._may_meet or not any(shape.distance(other) < 0.3 for other in self.voids):
                self.voids.append(shape)
        return set(chosen)

    def _is_wide(self, shape):
        """Whether `shape` is everywhere wider than two and a half of the thickest walls."""
        half = 1.3 * self.how.outer
        return shape.buffer(-half).buffer(half * 1.5).area > 0 and shape.buffer(-half).geom_type == "Polygon"

    @property
    def _may_meet(self):
        """Whether two voids that touch are one dark region: nothing light or darker runs between them."""
        return self.how.fill == self.how.ink and self.how.walls == "solid"

    def _void_shape(self, room):
        """A void in `room`, cut along the room's own walls."""
        (x, y), (further, higher), *_ = room.exterior.coords
        slope = math.degrees(math.atan2(higher - y, further - x))
        level = affinity.rotate(room, -slope, origin=(0, 0))
        return affinity.rotate(self._level_void(level), slope, origin=(0, 0))

    def _level_void(self, room):
        west, south, east, north = room.bounds
        manner = self.rng.choice(("whole", "whole", "part", "notched", "gap", "closet"))
        if manner == "whole":
            return room
        if manner == "gap":
            return room.buffer(-self.how.outer / 2 - self.rng.uniform(0.08, 0.2), join_style="mitre")
        if manner == "closet":
            corner = Point(self.rng.choice(list(room.exterior.coords)))
            reach = self.how.outer / 2 + max(self.rng.uniform(0.6, 0.9), 0.07 * math.sqrt(self.house.outline.area))
            return room.intersection(corner.buffer(reach, cap_style="square"))
        cut = box(west, south, west + (east - west) * self.rng.uniform(0.4, 0.6), north)
        if manner == "notched":
            cut = unary_union([cut, box(west, south, east, south + (north - south) * 0.45)])
        part = room.intersection(cut)
        return max(part.geoms, key=lambda piece: piece.area) if isinstance(part, MultiPolygon) else part

    def _room(self, room, hatched):
        if self.rng.random() < self.how.coloured:
            palette = PASTELS if self.rng.random() < 0.8 else STRONG
            if self.how.paper > 240 and self.how.ink < 50:
                self.area(room, self.rng.choice(palette))
        if hatched:
            self._hatch(room)

    def _hatch(self, room):
        west, south, east, north = room.bounds
        pitch = max(self.rng.uniform(0.12, 0.35), (3 * self.how.line + 2) / self.scale)
        slope = self.rng.choice((0, 1, 1))
        steps = np.arange(west - (north - south), east + (north - south), pitch)
        for step in steps:
            stroke = room.intersection(LineString([(step, south), (step + slope * (north - south), north)]))
            for piece in getattr(stroke, "geoms", [stroke]):
                if isinstance(piece, LineString) and not piece.is_empty:
                    self.line(piece.coords)

    def _walls(self):
        outer, inner = (self.how.outer, self.how.inner) if self.how.walls != "line" else (0, 0)
        edges = [room.exterior for room in self.house.rooms]
        for edge in edges:
            self.strip(edge, inner, self.ink, self.how.line)
        self.strip(self.house.outline.exterior, outer, self.ink, self.how.line + 1)
        if self.how.walls == "hollow":
            self._hollow(edges, outer, inner)

    def _hollow(self, edges, outer, inner):
        slim = 2 * self.how.line / self.scale
        for edge in edges:
            if inner > 2 * slim:
                self.strip(edge, inner - slim, self.paper)
        if outer > 2 * slim:
            self.strip(self.house.outline.exterior, outer - slim, self.paper)

    def _openings(self, filled):
        rooms = self.house.rooms
        for one in range(len(rooms)):
            for other in range(one):
                if self.how.doors and not {one, other} & filled:
                    self._opening(rooms[one].intersection(rooms[other]), self.how.inner, 0.8, door=True)
        outline = self.house.outline.exterior
        for number, room in enumerate(rooms):
            if self.how.windows and number not in filled:
                wide = self.rng.uniform(0.9, 1.8)
                edge = room.exterior.intersection(outline.buffer(0.02))
                self._opening(edge, self.how.outer, wide, door=self.rng.random() < 0.15)

    def _opening(self, shared, thick, wide, *, door):
        pieces = [piece for piece in getattr(shared, "geoms", [shared]) if isinstance(piece, LineString)]
        straight = [LineString(pair) for piece in pieces for pair in zip(piece.coords, piece.coords[1:], strict=False)]
        long_enough = [piece for piece in straight if piece.length > wide + 0.5]
        if not long_enough:
            return
        piece = max(long_enough, key=lambda piece: piece.length)
        start = piece.interpolate((piece.length - wide) / 2)
        end = piece.interpolate((piece.length + wide) / 2)
        gap = LineString([start, end])
        if any(gap.distance(shape) < 0.5 for shape in self.voids):
            return
        self.area(gap.buffer(thick / 2 + 3 * self.how.line / self.scale, cap_style="flat"), self.paper)
        if door:
            self._leaf(gap, wide)
        else:
            for shift in (-thick / 2, 0, thick / 2):
                self.line(affinity.translate(gap, 0, 0).offset_curve(shift).coords, 1)

    def _leaf(self, gap, wide):
        (x, y), _ = gap.coords
        leaf = affinity.rotate(gap, 90, origin=(x, y))
        self.line(leaf.coords)
        across, down = self.at(x, y)
        reach = wide * self.scale
        self.pen.arc((across - reach, down - reach, across + reach, down + reach), 0, 90, fill=self.ink)

    def _furniture(self, room, hatched):
        spot = room.representative_point()
        free = room.buffer(-self.how.outer)
        kinds = ("table", "bed", "stairs", "hob", "column", "sofa")
        kind = self.rng.choice(("table", "hob") if hatched else (*kinds, "piano"))
        x, y = spot.x, spot.y
        if kind == "table":
            self._ellipse(x, y, 0.5, None)
        elif kind == "bed":
            self._outlined(box(x - 0.7, y - 1, x + 0.7, y + 1), free, None)
            self._outlined(box(x - 0.6, y + 0.5, x + 0.6, y + 0.9), free, None)
        elif kind == "stairs":
            for step in range(9):
                self._outlined(box(x - 0.45, y - 1.2 + step * 0.26, x + 0.45, y - 0.94 + step * 0.26), free, None)
        elif kind == "hob":
            for across, down in ((0, 0), (0.3, 0), (0, 0.3), (0.3, 0.3)):
                self._ellipse(x + across, y + down, 0.12, self.ink)
        elif kind == "column":
            self._outlined(box(x - 0.2, y - 0.2, x + 0.2, y + 0.2), free, self.ink)
        elif kind == "piano":
            self._outlined(Point(x, y).buffer(0.5).union(box(x - 0.6, y - 0.5, x + 0.2, y + 0.3)), free, self.ink)
        else:
            self._outlined(box(x - 0.9, y - 0.4, x + 0.9, y + 0.4), free, (200, 200, 200))

    def _outlined(self, shape, free, fill):
        if free.contains(shape):
            points = [self.at(*point) for point in shape.exterior.coords]
            self.pen.polygon(points, fill=fill, outline=self.ink, width=self.how.line)

    def _ellipse(self, x, y, radius, fill):
        across, down = self.at(x, y)
        reach = radius * self.scale
        around = (across - reach, down - reach, across + reach, down + reach)
        self.pen.ellipse(around, outline=self.ink, fill=fill, width=self.how.line)

    def _label(self, room, kind, *, white):
        spot = room.representative_point()
        font = ImageFont.load_default(max(9, 0.3 * self.scale * self.rng.uniform(0.6, 1.2)))
        text = f"{kind}\n{self.rng.randrange(7, 18)}'-{self.rng.randrange(12)}\""
        if not white:
            self.pen.text(self.at(spot.x, spot.y), text, fill=self.ink, font=font, anchor="mm", align="center")
        elif self.rng.random() < 0.4:
            self.pen.text(self.at(spot.x, spot.y), "not seen", fill=self.paper, font=font, anchor="mm")

    def _surroundings(self):
        wide, high = self.size
        unit = min(wide, high)
        if self.how.framed:
            self._frame(unit)
        if self.how.titled:
            self._title(unit)
        if self.how.dimensioned:
            self._dimensions()
        self._arrow(unit)
        if self.rng.random() < 0.4:
            x, y = self._free_corner(unit)
            self.pen.ellipse((x, y, x + unit * 0.1, y + unit * 0.1), fill=self.ink)

    def _frame(self, unit):
        inset = unit * 0.02
        self.pen.rectangle(
            (inset, inset, self.size[0] - inset, self.size[1] - inset), outline=self.ink, width=self.how.line + 1
        )

    def _title(self, unit):
        high, low = unit * self.rng.uniform(0.04, 0.07), self.size[1] - unit * 0.02
        left = unit * 0.02 if self.rng.random() < 0.7 else self.size[0] * 0.6
        self.pen.rectangle((left, low - high, self.size[0] - unit * 0.02, low), fill=self.ink)
        font = ImageFont.load_default(high * 0.5)
        self.pen.text((left + high, low - high / 2), "GROUND FLOOR  1:100", fill=self.paper, font=font, anchor="lm")

    def _dimensions(self):
        west, south, east, north = self.house.outline.bounds
        off, tick = 0.6 + self.how.outer, 0.15
        self.line([(west, south - off), (east, south - off)], 1)
        self.line([(west - off, south), (west - off, north)], 1)
        for x in (west, east):
            self.line([(x, south - off - tick), (x, south - off / 3)], 1)
        for y in (south, north):
            self.line([(west - off - tick, y), (west - off / 3, y)], 1)

    def _free_corner(self, unit):
        corners = [(0.04 * unit, 0.04 * unit), (self.size[0] - 0.16 * unit, 0.04 * unit)]
        spots = [corner for corner in corners if self._clear(*corner, 0.13 * unit)]
        return self.rng.choice(spots) if spots else (-unit, -unit)

    def _clear(self, x, y, side):
        west, south, east, north = self.house.outline.buffer(1.5).bounds
        (left, top), (right, bottom) = self.at(west, north), self.at(east, south)
        return x + side < left or x > right or y + side < top or y > bottom

    def _arrow(self, unit):
        x, y = self._free_corner(unit)
        side = unit * 0.08
        self.pen.polygon([(x, y + side), (x + side / 2, y), (x + side, y + side)], fill=self.ink)
        self.pen.text((x + side / 2, y + side), "N", fill=self.ink, font=ImageFont.load_default(side / 2), anchor="ma")

    def finished(self, seed):
        """The page in its final tones, turned, with its voids' boxes; voids that touch are one."""
        merged = unary_union([shape.buffer(0.02, join_style="mitre") for shape in self.voids])
        shapes = [part for part in getattr(merged, "geoms", [merged]) if not part.is_empty]
        picture = ImageChopsInvert(self.picture) if self.how.inverted else self.picture
        picture = _worn(picture.rotate(90 * self.how.turns, expand=True), self.how, seed)
        boxes = tuple(self._turned(shape) for shape in shapes)
        shares = tuple(shape.area / self.house.outline.area for shape in shapes)
        return Draft(seed, self.house.name, self.how, picture, boxes, shares)

    def _turned(self, shape):
        west, south, east, north = shape.bounds
        (left, top), (right, bottom) = self.at(west, north), self.at(east, south)
        wide, high = self.size
        for _ in range(self.how.turns):
            left, top, right, bottom = top, wide - right, bottom, wide - left
            wide, high = high, wide
        return (round(left), round(top), round(right - left), round(bottom - top))


def ImageChopsInvert(picture):  # noqa: N802
    from PIL import ImageChops

    return ImageChops.invert(picture)


def _worn(picture, how, seed):
    """`picture` after sensor noise and lossy saving."""
    if how.noise:
        grain = np.random.default_rng(seed).normal(0, how.noise, (picture.height, picture.width, 1))
        picture = Image.fromarray(np.clip(np.asarray(picture) + grain, 0, 255).astype(np.uint8))
    if how.jpeg is None:
        return picture
    stream = io.BytesIO()
    picture.save(stream, "JPEG", quality=how.jpeg)
    return Image.open(stream).convert("RGB")
