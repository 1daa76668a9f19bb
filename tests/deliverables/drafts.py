"""Synthetic drafts: published house geometries drawn as plans with known voids, each a function of its seed alone."""

import io
from dataclasses import dataclass
from random import Random

import numpy as np
from PIL import Image, ImageChops, ImageDraw, ImageFont

from tests.deliverables.draft_plan import PlanDrawing, largest_scale
from tests.deliverables.draft_style import House, Style, houses, style

__all__ = ["Draft", "House", "draft", "houses", "matched"]

PAGES = ((900, 700), (1200, 850), (1500, 1100), (1754, 1240))
LARGE_PAGE = (4200, 3000)

Box = tuple[int, int, int, int]
"""x, y, width, height in pixels."""


@dataclass(frozen=True)
class Draft:
    """A drawn page, the boxes of its voids and their shares of what all its outlines enclose."""

    seed: int
    name: str
    style: Style
    picture: Image.Image
    voids: tuple[Box, ...]
    shares: tuple[float, ...]


def draft(seed: int, stock: list[House], *, page: tuple[int, int] | None = None) -> Draft:
    """The draft of `seed`: one or two houses from `stock` in a random manner, each with none to three voids."""
    rng = Random(seed)
    how, size = style(rng), page or rng.choice(PAGES)
    chosen = [rng.choice(stock) for _ in range(rng.choice((1, 1, 1, 2)))]
    picture = Image.new("RGB", size, (how.paper,) * 3)
    rooms = [_room(size, number, len(chosen)) for number in range(len(chosen))]
    scale = how.fill_of_page * min(largest_scale(house, how, room) for house, room in zip(chosen, rooms, strict=True))
    largest = max(house.outline.area for house in chosen)
    plans = [
        PlanDrawing(picture, house, how, rng, room, scale, largest) for house, room in zip(chosen, rooms, strict=True)
    ]
    for plan in plans:
        plan.draw()
    _Surroundings(picture, how, rng, plans).draw()
    shapes = [(plan, shape) for plan in plans for shape in plan.dark_regions()]
    inside = sum(plan.house.outline.area * plan.scale**2 for plan in plans)
    return Draft(
        seed,
        "+".join(house.name for house in chosen),
        how,
        _worn(picture, how, seed),
        tuple(_turned(plan.bounds(shape), size, how.turns) for plan, shape in shapes),
        tuple(shape.area * plan.scale**2 / inside for plan, shape in shapes),
    )


def matched(found: list[Box], known: list[Box], *, least: float = 0.5) -> list[tuple[int, int]]:
    """Pairs (index found, index known) whose boxes share at least `least` of their union, best first, each once."""
    overlaps = sorted(((_shared(f, k), i, j) for i, f in enumerate(found) for j, k in enumerate(known)), reverse=True)
    pairs: list[tuple[int, int]] = []
    for share, i, j in overlaps:
        if share >= least and all(i != one and j != other for one, other in pairs):
            pairs.append((i, j))
    return pairs


def _shared(one: Box, other: Box) -> float:
    wide = min(one[0] + one[2], other[0] + other[2]) - max(one[0], other[0])
    high = min(one[1] + one[3], other[1] + other[3]) - max(one[1], other[1])
    both = max(0, wide) * max(0, high)
    return both / (one[2] * one[3] + other[2] * other[3] - both)


def _room(size, number, count):
    """Where on the page a plan may lie: below the arrow and logo, above the title, beside other plans."""
    wide, high = size[0] / count, size[1]
    return (number * wide + wide * 0.06, high * 0.16, (number + 1) * wide - wide * 0.06, high * 0.86)


@dataclass(frozen=True)
class _Surroundings:
    """What stands around the plans of a page."""

    picture: Image.Image
    how: Style
    rng: Random
    plans: list[PlanDrawing]

    def draw(self):
        unit, ink = min(self.picture.size), (self.how.ink,) * 3
        pen = ImageDraw.Draw(self.picture)
        if self.how.framed:
            inset = unit * 0.02
            around = (inset, inset, self.picture.width - inset, self.picture.height - inset)
            pen.rectangle(around, outline=ink, width=self.how.line + 1)
        if self.how.titled:
            self._title(pen, unit, ink)
        if self.how.tabled:
            self._table(pen, unit, ink)
        self._arrow(pen, unit, ink)
        if self.rng.random() < 0.4:
            x, y = self.picture.width - unit * 0.14, unit * 0.04
            pen.ellipse((x, y, x + unit * 0.1, y + unit * 0.1), fill=ink)

    def _title(self, pen, unit, ink):
        high, low = unit * self.rng.uniform(0.04, 0.07), self.picture.height - unit * 0.02
        left = unit * 0.02 if self.rng.random() < 0.7 else self.picture.width * 0.6
        pen.rectangle((left, low - high, self.picture.width - unit * 0.02, low), fill=ink)
        font = ImageFont.load_default(high * 0.5)
        paper = (self.how.paper,) * 3
        pen.text((left + high, low - high / 2), "GROUND FLOOR  1:100", fill=paper, font=font, anchor="lm")

    def _table(self, pen, unit, ink):
        """A table of rooms with a filled heading, at the head of the page."""
        left, top, wide, row = unit * 0.3, unit * 0.03, unit * 0.3, unit * 0.028
        for number in range(4):
            box = (left, top + number * row, left + wide, top + (number + 1) * row)
            pen.rectangle(box, outline=ink, fill=None if number else ink, width=self.how.line)
            font = ImageFont.load_default(row * 0.6)
            pen.text((left + row, box[1] + row / 2), "Bedroom 12.4", fill=ink, font=font, anchor="lm")

    def _arrow(self, pen, unit, ink):
        x, y, side = unit * 0.04, unit * 0.04, unit * 0.08
        pen.polygon([(x, y + side), (x + side / 2, y), (x + side, y + side)], fill=ink)
        pen.text((x + side / 2, y + side), "N", fill=ink, font=ImageFont.load_default(side / 3), anchor="ma")


def _turned(bounds, size, turns) -> Box:
    left, top, right, bottom = bounds
    wide, high = size
    for _ in range(turns):
        left, top, right, bottom = top, wide - right, bottom, wide - left
        wide, high = high, wide
    return (round(left), round(top), round(right - left), round(bottom - top))


def _worn(picture, how, seed):
    """`picture` in its final tones: light on dark, turned, with sensor noise, after lossy saving."""
    picture = ImageChops.invert(picture) if how.inverted else picture
    picture = picture.rotate(90 * how.turns, expand=True)
    if how.noise:
        grain = np.random.default_rng(seed).normal(0, how.noise, (picture.height, picture.width, 1))
        picture = Image.fromarray(np.clip(np.asarray(picture) + grain, 0, 255).astype(np.uint8))
    if how.jpeg is None:
        return picture
    stream = io.BytesIO()
    picture.save(stream, "JPEG", quality=how.jpeg)
    return Image.open(stream).convert("RGB")
