"""Solid dark regions of a plan: too thick for a wall, large enough for a space."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from .ground import Ground, ground_of, inside_at
from .hold import Hold, hold_of
from .masks import Box, depth_in, opened, parts_of, parts_sized, shifted, widened
from .outline import Outline, drawn_in
from .strokes import HEAVY, USUAL, Habit, Strokes, strokes_of
from .working import Working

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Mask = NDArray[np.bool_]
    Depth = NDArray[np.float64]

WALLS_ACROSS = 1.7
CROSSING = 1.42
"""A void is at least this many wall thicknesses across; where two walls cross, a disc of the root of 2 fits."""
LEAST_ACROSS = 0.025
"""And at least this share of the side of a square as large as the plan: 0.3 m in a house of 150 m²."""
LEAST_SHARE = 0.0045
"""The smallest void as a share of the largest piece of the plan: 0.7 m² in 150 m²."""
LEAST_LINE = 3
"""Walls can be told from lines when what is thinner than this many pixels, or more, can be left out."""
MARK_SHARE = 0.001
MARK_WINDOW = 1.5
MARK_DENSITY = 0.45
MARK_REACH = 0.1
"""A light mark on a void (a word, a speck) is filled when it is at most this share of the plan, lies between solid
parts within this share of the plan's side, and a window of so many times `across` around it is this dark."""
APART_LEVELS = 30
"""Levels by which a void's fill must differ from the walls' ink for the walls to be told from it."""
MOST_WALLED = 0.25
"""And how much of a region its parts between such walls must make up."""
FAR = 15
ROOMS = 0.6
ACROSS_PLAN = 0.8
"""A region may be walls when it is so many times as long as wide, encloses so many times its own area, or reaches
across so much of the plan both ways; the walls are then measured again as massive ones."""


@dataclass(frozen=True)
class Region:
    """A void in working pixels: its bounding box, its mask in that box, and the levels its fill lies between."""

    box: Box
    mask: "Mask"
    darkest: int
    lightest: int


def find_voids(working: Working, outline: Outline) -> tuple[list[Region], Outline]:
    """The voids inside `outline` from the top down, and the outline drawn in to the walls where these are thick."""
    search = _search(working, outline, USUAL)
    regions = search.solids()
    if any(search.is_network(region) for region in regions):
        search = _search(working, outline, HEAVY)
        regions = search.solids()
    return [search.on_page(part) for region in regions for part in search.spaces_of(region)], search.outline


@dataclass(frozen=True)
class _Search:
    """The search for one plan's voids; lengths in working pixels, boxes on its ground."""

    ground: Ground
    outline: Outline
    depth: "Depth"
    hold: Hold
    thickness: int
    across: int
    least: float

    def solids(self) -> list[Region]:
        """The solid regions into which a disc of `across` fits, without the walls that run from them."""
        whole = (slice(0, self.depth.shape[0]), slice(0, self.depth.shape[1]))
        wide = _wide_parts(self.depth, Region(whole, self.depth > 0, 0, self.ground.tones.solid), self.across)
        return [part for region in wide for part in self._without_stubs(region)]

    def is_network(self, region: Region) -> bool:
        """Whether a region seems to be walls: far longer than wide, around rooms, or across the whole plan."""
        from scipy import ndimage

        area, wide = int(region.mask.sum()), 2 * float(depth_in(region.mask).max())
        spans = min(mine / whole for mine, whole in zip(region.mask.shape, self.depth.shape, strict=True))
        rooms = int(ndimage.binary_fill_holes(region.mask).sum()) - area
        return area >= FAR * wide**2 or rooms >= ROOMS * area or spans >= ACROSS_PLAN

    def spaces_of(self, region: Region) -> list[Region]:
        """The voids in a solid region: none in furniture or wall, several where walls of another tone cross it."""
        if not self.hold.is_space(region.box, region.mask):
            return []
        return self._within_walls(region) or [region]

    def on_page(self, region: Region) -> Region:
        """`region` with its box on the page."""
        return replace(region, box=shifted(region.box, self.ground.at[0].start, self.ground.at[1].start))

    def _without_stubs(self, region: Region) -> Iterator[Region]:
        """What of `region` a disc fits into that fits no wall or crossing of walls, where it is still wide."""
        from scipy import ndimage

        radius = CROSSING * self.thickness / 2 + 1
        depth = depth_in(region.mask)
        stout = (ndimage.distance_transform_edt(depth <= radius) <= radius) & region.mask
        for box, mask in parts_of(stout):
            if mask.sum() >= self.least and (depth[box][mask] > self.across / 2).any():
                yield replace(region, box=shifted(box, region.box[0].start, region.box[1].start), mask=mask)

    def _within_walls(self, region: Region) -> list[Region]:
        """The parts of `region` between walls of another level than its fill; none when all is of one level."""
        import numpy as np

        levels, depth = self.ground.lightest[region.box], depth_in(region.mask)
        fill, ink = int(np.median(levels[depth > depth.max() / 2])), self.ground.tones.ink
        if abs(fill - ink) < APART_LEVELS:
            return []
        middle = (fill + ink) // 2
        darker = ink < fill
        walls = levels < middle if darker else (levels > middle) & (levels <= region.lightest)
        mask = region.mask & ~opened(walls, LEAST_LINE)
        whole = Region(region.box, mask, middle, region.lightest) if darker else Region(region.box, mask, 0, middle)
        least = MOST_WALLED * self.least
        across = _least_across(self.ground.side)
        parts = [part for part in _wide_parts(depth_in(mask), whole, across) if part.mask.sum() >= least]
        return parts if sum(part.mask.sum() for part in parts) >= region.mask.sum() * MOST_WALLED else []


def _search(working: Working, outline: Outline, habit: Habit) -> _Search:
    ground = ground_of(working, outline)
    depth = depth_in(ground.solid)
    strokes = strokes_of(depth, ground.side, habit)
    walls = _walls(depth, strokes)
    if walls is not None:
        outline = drawn_in(outline, walls, ground.at)
        ground = replace(ground, inside=inside_at(outline, ground.at))
    across = max(round(WALLS_ACROSS * strokes.wall) + 2, _least_across(ground.side))
    least = LEAST_SHARE * ground.area
    depth = _without_marks(depth * ground.inside, ground.side, across, least)
    hold = hold_of(walls, ground.lines, strokes.thin, ground.side, across)
    return _Search(ground, outline, depth, hold, strokes.wall, across, least)


def _least_across(side: float) -> int:
    return max(round(LEAST_ACROSS * side), 4)


def _wide_parts(depth: "Depth", whole: Region, across: int) -> Iterator[Region]:
    """The parts of `whole`, whose pixels' `depth` is given, around the places where a disc of `across` fits."""
    seeds = depth > across / 2
    if seeds.any():
        for box, mask in parts_of(widened(seeds, across) & whole.mask):
            yield replace(whole, box=shifted(box, whole.box[0].start, whole.box[1].start), mask=mask)


def _walls(depth: "Depth", strokes: Strokes) -> "Mask | None":
    return opened(depth > 0, strokes.line) if strokes.line >= LEAST_LINE else None


def _without_marks(depth: "Depth", side: float, across: int, least: float) -> "Depth":
    """The depth once words, specks and cracks in large solids are filled; elsewhere a gap is a gap, as in hatching."""
    import numpy as np
    from scipy import ndimage

    solid = depth > 0
    large = parts_sized(widened(depth > across / 2, across // 2) & solid, least=least)
    if not large.any():
        return depth
    reach = round(MARK_REACH * side)
    between = ~widened(~widened(large, reach), reach)
    dense = ndimage.uniform_filter(solid.astype(np.float32), round(MARK_WINDOW * across)) >= MARK_DENSITY
    marks = parts_sized(~solid, most=MARK_SHARE * side**2) & dense & between
    return depth_in(solid | marks) if marks.any() else depth
