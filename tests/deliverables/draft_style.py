"""Houses from published geometries and the manners in which synthetic drafts of them are drawn."""

import json
from dataclasses import dataclass
from pathlib import Path
from random import Random

from shapely.geometry import Polygon
from shapely.ops import unary_union


@dataclass(frozen=True)
class House:
    """A storey: rooms in metres and the kind of each."""

    name: str
    rooms: tuple[Polygon, ...]
    kinds: tuple[str, ...]

    @property
    def outline(self):
        return unary_union(self.rooms).buffer(0.1, join_style="mitre").buffer(-0.1, join_style="mitre")

    @property
    def is_upright(self):
        """Whether its walls run along the page."""
        (x, y), (further, higher), *_ = self.rooms[0].exterior.coords
        return min(abs(further - x), abs(higher - y)) < 0.01


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
    tabled: bool
    dimensioned: bool
    inverted: bool
    turns: int
    noise: float
    jpeg: int | None
    fill_of_page: float


def houses(checks: Path) -> list[House]:
    """The published layouts: generated ones, a third of them turned, and the ground floor of a real house."""
    layouts = json.loads((checks / "plans" / "procthor_30.json").read_text())
    found = [
        House(
            plan["name"], tuple(Polygon(r["polygon"]) for r in plan["rooms"]), tuple(r["kind"] for r in plan["rooms"])
        )
        for plan in layouts
    ]
    spaces = json.loads((checks / "plans" / "fzk_haus_spaces.json").read_text())
    ground = [space for space in spaces if space["storey"] == "Erdgeschoss"]
    rooms = tuple(Polygon(space["polygon"]).buffer(0.12, join_style="mitre") for space in ground)
    return [*found, House("fzk-ground", rooms, tuple(space["kind"] for space in ground))]


def style(rng: Random) -> Style:
    """A manner of drawing."""
    ink = rng.choice((0, 0, 0, 20, 45, 80, 110))
    return Style(
        walls=rng.choice(("solid", "solid", "solid", "hollow", "line")),
        outer=rng.uniform(0.18, 0.42),
        inner=rng.uniform(0.07, 0.2),
        line=rng.choice((1, 2, 2, 3)),
        ink=ink,
        paper=rng.choice((255, 255, 248, 236)),
        fill=min(110, ink + rng.choice((0, 0, 0, 35, 45, 60))) if ink < 80 else ink,
        doors=rng.random() < 0.8,
        windows=rng.random() < 0.7,
        coloured=rng.choice((0, 0, 0.4, 1)),
        hatched=rng.choice((0, 0, 0.3)),
        furnished=rng.random() < 0.7,
        framed=rng.random() < 0.3,
        titled=rng.random() < 0.6,
        tabled=rng.random() < 0.25,
        dimensioned=rng.random() < 0.3,
        inverted=rng.random() < 0.06,
        turns=rng.randrange(4),
        noise=rng.choice((0, 0, 0, 3, 6)),
        jpeg=rng.choice((None, None, 95, 75, 50, 35)),
        fill_of_page=rng.uniform(0.6, 0.92),
    )
