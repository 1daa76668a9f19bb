"""WALK: the stations of a logged walk, and how they are written as CSV.

    station,level,space,pass,pair_of,opening,ties_to,x,y
    1,1,H,both,,,,0.00,0.00
    2,1,H,plan,,D1,,1.80,0.00
    3,1,H,tour,2,D1,,1.80,0.00

x and y are metres in one frame, both or neither. Stations are walked in the order of their numbers.
"""

import csv
import io
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, NamedTuple, TypeVar, get_args

from pydantic import TypeAdapter, ValidationError

from jobs.rules.property_shape import PropertyShape
from office.rules.reading import BadInput, DecimalText, expectation, parse_csv, read_text

T = TypeVar("T")

Pass = Literal["plan", "tour", "both"]
COLUMNS = ("station", "level", "space", "pass", "pair_of", "opening", "ties_to", "x", "y")
HIGHEST_NUMBER = 999_999
MOST_STATIONS = 5_000
_WHOLE = re.compile(r"-?\d{1,9}", re.ASCII)
_DECIMAL: TypeAdapter[Decimal] = TypeAdapter(DecimalText)


class Spot(NamedTuple):
    """Metres in the frame of the walk."""

    x: Decimal
    y: Decimal


@dataclass(frozen=True)
class Station:
    """One numbered capture position. `opening` on a pair names what was open on the first and closed on the second."""

    number: int
    level: int
    space: str
    captured_for: Pass
    pair_of: int | None = None
    opening: str | None = None
    ties_to: int | None = None
    x: Decimal | None = None
    y: Decimal | None = None

    @property
    def for_plan(self) -> bool:
        return self.captured_for != "tour"

    @property
    def for_tour(self) -> bool:
        return self.captured_for != "plan"

    @property
    def spot(self) -> Spot | None:
        return None if self.x is None or self.y is None else Spot(self.x, self.y)


def in_walk_order(stations: Iterable[Station]) -> tuple[Station, ...]:
    """By number; two of one number stay as logged."""
    return tuple(sorted(stations, key=lambda station: station.number))


def distance(one: Spot, other: Spot) -> Decimal:
    """Metres between two spots."""
    return ((one.x - other.x) ** 2 + (one.y - other.y) ** 2).sqrt()


def distance_between(one: Station, other: Station) -> Decimal | None:
    """Metres between two stations; None when either has no coordinates."""
    here, there = one.spot, other.spot
    return None if here is None or there is None else distance(here, there)


def read_walk(source: str, shape: PropertyShape) -> tuple[Station, ...]:
    """The stations of a WALK file, `-` for standard input, as logged; raises `BadInput`."""
    return parse_walk(read_text(source), shape, source)


def parse_walk(text: str, shape: PropertyShape, source: str) -> tuple[Station, ...]:
    """WALK `text` as stations; raises `BadInput` naming `source`, row (the first below the header is 1) and column.

    An opening must be one of `shape`. Other things that do not fit the property are for the walk check to find.
    """
    rows = parse_csv(text, COLUMNS, source)
    if len(rows) > MOST_STATIONS:
        raise BadInput(source, f"row {MOST_STATIONS + 1}", f"expected at most {MOST_STATIONS} stations")
    return tuple(_Row(source, number, row).station(shape) for number, row in enumerate(rows, start=1))


def walk_csv(stations: Sequence[Station]) -> str:
    """The stations as WALK text, CRLF as RFC 4180 has it; `parse_walk` gives them back."""
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(COLUMNS)
    writer.writerows(_written(station) for station in stations)
    return text.getvalue()


def _written(station: Station) -> tuple[object, ...]:
    ends = (format(value, "f") if value is not None else "" for value in (station.x, station.y))
    return (
        station.number, station.level, station.space, station.captured_for,
        station.pair_of, station.opening, station.ties_to, *ends,
    )  # fmt: skip


@dataclass(frozen=True)
class _Row:
    source: str
    number: int
    cells: dict[str, str]

    def station(self, shape: PropertyShape) -> Station:
        return Station(
            number=self._taken("station", _station_number),
            level=self._taken("level", _whole),
            space=self._taken("space", _named),
            captured_for=self._taken("pass", _pass),
            pair_of=self._taken_if_any("pair_of", _station_number),
            opening=self._taken_if_any("opening", lambda text: _opening(text, shape)),
            ties_to=self._taken_if_any("ties_to", _station_number),
            x=self._coordinate("x", "y"),
            y=self._coordinate("y", "x"),
        )

    def _coordinate(self, column: str, other: str) -> Decimal | None:
        if self.cells[other] and not self.cells[column]:
            raise self._refusal(column, "expected both x and y, or neither")
        return self._taken_if_any(column, _metres)

    def _taken_if_any(self, column: str, take: Callable[[str], T]) -> T | None:
        return self._taken(column, take) if self.cells[column] else None

    def _taken(self, column: str, take: Callable[[str], T]) -> T:
        try:
            return take(self.cells[column])
        except ValueError as error:
            raise self._refusal(column, str(error)) from None

    def _refusal(self, column: str, expected: str) -> BadInput:
        return BadInput(self.source, f"row {self.number}: {column}", expected)


def _whole(text: str) -> int:
    if not _WHOLE.fullmatch(text):
        raise ValueError(f"expected a whole number, found {text[:60]!r}")
    return int(text)


def _station_number(text: str) -> int:
    if not _WHOLE.fullmatch(text) or not 1 <= int(text) <= HIGHEST_NUMBER:
        raise ValueError(f"expected a whole number from 1 to {HIGHEST_NUMBER}, found {text[:60]!r}")
    return int(text)


def _named(text: str) -> str:
    if not text:
        raise ValueError("expected the code of a space")
    return text


def _pass(text: str) -> Pass:
    for name in get_args(Pass):
        if text == name:
            return name  # type: ignore[no-any-return]
    raise ValueError(f"expected plan, tour or both, found {text[:60]!r}")


def _opening(text: str, shape: PropertyShape) -> str:
    if text not in shape.opening_by_code:
        raise ValueError(f"expected the code of an opening of this property, found {text[:60]!r}")
    return text


def _metres(text: str) -> Decimal:
    try:
        return _DECIMAL.validate_python(text)
    except ValidationError as error:
        raise ValueError(expectation(error.errors(include_url=False)[0])) from None
