"""PROPERTY: the levels, spaces and openings of a building, as the walk rules need them.

    {"levels": [{"number": 1, "name": "Ground floor", "grade": "at", "elevation_m": "0.00"}],
     "spaces": [{"code": "H", "name": "Hall", "kind": "hall", "level": 1, "private": false},
                {"code": "K", "name": "Kitchen", "kind": "kitchen", "level": 1, "private": false}],
     "openings": [{"code": "D1", "between": ["H", "K"], "kind": "door"}],
     "entrance": "H"}

A stair names its lower level. An opening may have the same space on both sides: a shower curtain in a bathroom.
"""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from functools import cached_property
from itertools import pairwise
from typing import Annotated, Literal, NamedTuple, get_args

from pydantic import AfterValidator, BeforeValidator, Field
from pydantic.dataclasses import dataclass as read_dataclass

from office.rules.reading import STRICT, BadInput, DecimalText, parse_json, read_text

PackageCode = Literal["tour", "plan", "both"]
Grade = Literal["below", "at", "above"]
SpaceKind = Literal[
    "room", "hall", "closet", "walk_in_closet", "bathroom", "kitchen",
    "garage", "stair", "utility", "porch", "exterior",
]  # fmt: skip
OpeningKind = Literal["door", "curtain", "screen", "garage_door", "open"]

HIGHEST_M = 10_000


def _as_decimal_text(value: object) -> object:
    """A height is written as a plain number as often as in a string; both are exact."""
    return value if isinstance(value, bool) or not isinstance(value, int | float) else str(value)


def _of_this_earth(value: Decimal) -> Decimal:
    if abs(value) > HIGHEST_M:
        raise ValueError(f"expected metres between -{HIGHEST_M} and {HIGHEST_M}")
    return value


def _on_one_line(text: str) -> str:
    return " ".join(text.split())


def _a_code(value: str) -> str:
    if not value or value != " ".join(value.split()) or len(value) > 100:
        raise ValueError("expected a code of 1 to 100 characters on one line, without spaces around it")
    return value


Elevation = Annotated[DecimalText, BeforeValidator(_as_decimal_text), AfterValidator(_of_this_earth)]
Code = Annotated[str, AfterValidator(_a_code)]
LevelNumber = Annotated[int, Field(ge=-9999, le=9999)]


@read_dataclass(frozen=True, config=STRICT)
class Level:
    """One storey; `elevation_m` is the height of its floor in metres."""

    number: LevelNumber
    name: str
    grade: Grade
    elevation_m: Elevation

    @property
    def label(self) -> str:
        """ "level 2 (First floor)"."""
        name = _on_one_line(self.name)
        return f"level {self.number} ({name})" if name else f"level {self.number}"


@read_dataclass(frozen=True, config=STRICT)
class Space:
    """A room, closet, stair, garage … on one level; a private one is not shown in the tour."""

    code: Code
    name: str
    kind: SpaceKind
    level: LevelNumber
    private: bool

    @property
    def label(self) -> str:
        return _on_one_line(self.name) or self.code


@read_dataclass(frozen=True, config=STRICT)
class Opening:
    """A door, curtain or screen between two spaces; one of kind `open` cannot be closed."""

    code: Code
    between: tuple[Code, Code]
    kind: OpeningKind

    def other_side(self, space: str) -> str:
        return self.between[1] if self.between[0] == space else self.between[0]


class Neighbour(NamedTuple):
    """The space beyond an opening."""

    opening: Opening
    space: Space


@read_dataclass(frozen=True, config=STRICT)
class PropertyShape:
    """A building. Codes are unique and every reference is met when it was read by `read_property`."""

    levels: tuple[Level, ...]
    spaces: tuple[Space, ...]
    openings: tuple[Opening, ...]
    entrance: str

    @cached_property
    def storeys(self) -> tuple[Level, ...]:
        """The levels from the lowest up, by elevation."""
        return tuple(sorted(self.levels, key=lambda level: (level.elevation_m, level.number)))

    @cached_property
    def level_by_number(self) -> Mapping[int, Level]:
        return {level.number: level for level in reversed(self.levels)}

    @cached_property
    def space_by_code(self) -> Mapping[str, Space]:
        return {space.code: space for space in self.spaces}

    @cached_property
    def opening_by_code(self) -> Mapping[str, Opening]:
        return {opening.code: opening for opening in self.openings}

    @cached_property
    def _above(self) -> Mapping[int, int]:
        return {lower.number: upper.number for lower, upper in pairwise(self.storeys)}

    @cached_property
    def _beside(self) -> Mapping[str, tuple[Neighbour, ...]]:
        beside: dict[str, list[Neighbour]] = {space.code: [] for space in self.spaces}
        for opening in self.openings:
            for code in dict.fromkeys(opening.between):
                beside[code].append(Neighbour(opening, self.space_by_code[opening.other_side(code)]))
        return {code: tuple(found) for code, found in beside.items()}

    def neighbours(self, space: str) -> tuple[Neighbour, ...]:
        """The spaces beyond the openings of `space`, in the order of the openings; itself for a curtain inside it."""
        return self._beside.get(space, ())

    def levels_of(self, space: Space) -> tuple[int, ...]:
        """The level numbers that a space touches: a stair joins its own level and the one above."""
        above = self._above.get(space.level) if space.kind == "stair" else None
        return (space.level,) if above is None else (space.level, above)

    def stairs_between(self, one: int, other: int) -> tuple[Space, ...]:
        joined = {one, other}
        return tuple(space for space in self.spaces if space.kind == "stair" and joined <= {*self.levels_of(space)})


def taken_package(text: str | None) -> PackageCode:
    """The package named on a command line; raises `BadInput`."""
    for code in get_args(PackageCode):
        if text == code:
            return code  # type: ignore[no-any-return]
    raise BadInput("--package", "", f"expected tour, plan or both, found {'nothing' if text is None else text[:60]!r}")


def read_property(source: str) -> PropertyShape:
    """The building in a PROPERTY file, `-` for standard input; raises `BadInput`."""
    return parse_property(read_text(source), source)


def parse_property(text: str, source: str) -> PropertyShape:
    """PROPERTY `text` as a building; raises `BadInput` naming `source`, also for a reference that is not met."""
    shape = parse_json(text, PropertyShape, source)
    _refuse_repeats("spaces", (space.code for space in shape.spaces), source)
    _refuse_repeats("openings", (opening.code for opening in shape.openings), source)
    _refuse_unmet(shape, source)
    return shape


def _refuse_repeats(key: str, codes: Iterable[str], source: str) -> None:
    seen: set[str] = set()
    for index, code in enumerate(codes):
        if code in seen:
            raise BadInput(source, f"{key}[{index}].code", f"expected each code once, found {code!r} again")
        seen.add(code)


def _refuse_unmet(shape: PropertyShape, source: str) -> None:
    for index, space in enumerate(shape.spaces):
        if space.level not in shape.level_by_number:
            raise BadInput(source, f"spaces[{index}].level", f"expected the number of a level, found {space.level}")
    for index, opening in enumerate(shape.openings):
        for side, code in enumerate(opening.between):
            _refuse_unknown_space(shape, code, source, f"openings[{index}].between[{side}]")
    _refuse_unknown_space(shape, shape.entrance, source, "entrance")


def _refuse_unknown_space(shape: PropertyShape, code: str, source: str, path: str) -> None:
    if code not in shape.space_by_code:
        raise BadInput(source, path, f"expected the code of a space, found {code[:60]!r}")
