"""A plan to be measured, as PLAN writes it: levels, their parts, and the ceiling over each part.

Coordinates and heights are in the plan's unit, kept as exact fractions of the decimals written.
"""

from enum import StrEnum
from fractions import Fraction
from itertools import combinations
from typing import Annotated

from pydantic import AfterValidator, Field, PlainValidator, ValidationInfo
from pydantic.dataclasses import dataclass as read_dataclass

from deliverables.rules.area_polygon import Point, Ring, covered, outline_fault, overlapping
from office.rules.reading import STRICT, read_json

FARTHEST = 1_000_000
MOST_CORNERS = 500
MOST_PIECES = 500


class Unit(StrEnum):
    """Feet or metres."""

    FT = "ft"
    M = "m"


class Grade(StrEnum):
    """Where a level lies to the ground; below when any part of it is."""

    BELOW = "below"
    AT = "at"
    ABOVE = "above"


class Kind(StrEnum):
    """What a part of a level is."""

    LIVING = "living"
    STAIR = "stair"
    OPEN_BELOW = "open_below"
    GARAGE = "garage"
    PORCH = "porch"
    UNFINISHED = "unfinished"


def number(value: object) -> Fraction:
    """A JSON number as the decimal it was written as, exactly; raises `ValueError`."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"expected a number, found {repr(value)[:40]}")
    if not -FARTHEST <= value <= FARTHEST:
        raise ValueError(f"expected a number from -{FARTHEST} to {FARTHEST}")
    return Fraction(repr(value))  # the shortest text of a float is the decimal that was written


def point(value: object) -> Point:
    if not (isinstance(value, list | tuple) and len(value) == 2):
        raise ValueError("expected a point [x, y]")
    return number(value[0]), number(value[1])


def ring(points: Ring) -> Ring:
    """Corners in order; one written twice running, or again at the end, is one corner. Raises `ValueError`."""
    corners = tuple(here for here, before in zip(points, points[-1:] + points[:-1], strict=True) if here != before)
    fault = outline_fault(corners)
    if fault:
        raise ValueError(fault)
    return corners


def above_zero(height: Fraction) -> Fraction:
    if height <= 0:
        raise ValueError("expected a height above zero")
    return height


def _covering(ceiling: "list[Ceiling]", info: ValidationInfo) -> "list[Ceiling]":
    part = info.data.get("polygon")
    if part is not None and not covered(part, [piece.polygon for piece in ceiling]):
        raise ValueError("expected ceilings that cover their part, found some of it bare")
    return ceiling


def _apart(parts: "list[Part]") -> "list[Part]":
    for (first, one), (second, other) in combinations(enumerate(parts), 2):
        if overlapping(one.polygon, other.polygon):
            both = f"parts[{first}] ({one.kind}) and parts[{second}] ({other.kind})"
            raise ValueError(f"expected parts that do not overlap, found {both} one over the other")
    return parts


def _numbered_once(levels: "list[Level]") -> "list[Level]":
    numbers = [level.number for level in levels]
    for index, one in enumerate(numbers):
        if one in numbers[:index]:
            raise ValueError(f"expected each level number once, found {one} again at levels[{index}]")
    return levels


Outline = Annotated[
    tuple[Annotated[Point, PlainValidator(point)], ...],
    Field(min_length=3, max_length=MOST_CORNERS),
    AfterValidator(ring),
]
Height = Annotated[Fraction, PlainValidator(number), AfterValidator(above_zero)]


@read_dataclass(frozen=True, config=STRICT)
class Ceiling:
    """A piece of ceiling at one height; a slope is written as bands, each at its lowest."""

    polygon: Outline
    height: Height


@read_dataclass(frozen=True, config=STRICT)
class Part:
    """A piece of one level. Where ceilings overlap the lowest counts."""

    kind: Kind
    polygon: Outline
    ceiling: Annotated[list[Ceiling], Field(min_length=1, max_length=MOST_PIECES), AfterValidator(_covering)]
    sloped: bool
    connected: bool


@read_dataclass(frozen=True, config=STRICT)
class Level:
    """One storey; 1 is the lowest."""

    number: Annotated[int, Field(ge=1, le=1000)]
    name: str
    grade: Grade
    parts: Annotated[list[Part], Field(min_length=1, max_length=MOST_PIECES), AfterValidator(_apart)]


@read_dataclass(frozen=True, config=STRICT)
class Plan:
    """What is measured."""

    unit: Unit
    levels: Annotated[list[Level], Field(min_length=1, max_length=MOST_PIECES), AfterValidator(_numbered_once)]


def read_plan(source: str) -> Plan:
    """The plan in a PLAN file; raises `BadInput`."""
    return read_json(source, Plan)
