"""Many jobs as columns, for repricing in bulk; from `Job`s or from the JOBS file of the terminal contract."""

import csv
import io
import json
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from decimal import Decimal
from typing import Any, Generic, TypeVar, get_type_hints

import numpy as np
import numpy.typing as npt
from pydantic import TypeAdapter, ValidationError

from billing.rules.card import AddOnOrder, Job, on_weekend
from billing.rules.whole import Scaled, Whole, scaled, whole
from office.rules.reading import BadInput, expectation, key_path, parse_csv, read_text
from office.rules.units import AreaUnit

T = TypeVar("T")
V = TypeVar("V")

Rows = npt.NDArray[np.intp]
"""Positions of jobs among all."""
Flags = npt.NDArray[np.bool_]

COLUMNS = tuple(field.name for field in fields(Job))
COUNTS = frozenset({"levels", "shoots_last_90_days"})
_INTEGER = re.compile(r"-?\d{1,18}", re.ASCII)
_CELLS = {name: TypeAdapter[Any](kind) for name, kind in get_type_hints(Job, include_extras=True).items()}


@dataclass(frozen=True)
class Coded(Generic[T]):
    """A column by its distinct values: `values`, and for each job the position of its own among them."""

    values: tuple[T, ...]
    codes: Rows

    def rows(self, value: T) -> Rows:
        """The jobs that have this value."""
        return np.flatnonzero(self.codes == self.values.index(value))

    def groups(self) -> list[Rows]:
        """The jobs that have each of the values."""
        counts = np.bincount(self.codes, minlength=len(self.values))
        return np.split(np.argsort(self.codes, kind="stable"), np.cumsum(counts)[:-1])

    def read(self, reader: Callable[[T], V]) -> "Coded[V]":
        """The column with each value turned into another."""
        return Coded(tuple(map(reader, self.values)), self.codes)


def coded(column: Iterable[T]) -> Coded[T]:
    """The column by its distinct values, in order of first appearance."""
    positions: dict[T, int] = {}
    codes = [positions.setdefault(value, len(positions)) for value in column]
    return Coded(tuple(positions), np.array(codes, dtype=np.intp))


@dataclass(frozen=True)
class Ordered:
    """The jobs that order one add-on, and how many each orders."""

    rows: Rows
    quantity: Whole


@dataclass(frozen=True)
class JobColumns:
    """Jobs by column, one element a job: the keys of `Job`, with decimals as scaled integers.

    `add_ons` has one entry for each add-on that anyone orders; `weekend` is that of the place.
    """

    package: Coded[str]
    area: Scaled
    area_unit: Coded[AreaUnit]
    levels: Whole
    add_ons: Mapping[str, Ordered]
    distance_km: Scaled
    hours_notice: Scaled
    weekend: Flags
    shoots_last_90_days: Whole

    def __len__(self) -> int:
        return len(self.levels)


def columns_of(jobs: Sequence[Job]) -> JobColumns:
    """The jobs as columns, in their order."""
    columns = {name: coded(getattr(job, name) for job in jobs) for name in COLUMNS if name != "starts_at"}
    # Times that are equal as instants may fall on different days of the week, so they must not be coded as one.
    return _columns(columns, coded(on_weekend(job.starts_at) for job in jobs))


def _columns(columns: Mapping[str, Coded[Any]], weekend: Coded[bool]) -> JobColumns:
    return JobColumns(
        package=columns["package"],
        area=_scaled(columns["area"]),
        area_unit=columns["area_unit"],
        levels=_whole(columns["levels"]),
        add_ons=_by_add_on(columns["add_ons"]),
        distance_km=_scaled(columns["distance_km"]),
        hours_notice=_scaled(columns["hours_notice"]),
        weekend=np.array(weekend.values, dtype=bool)[weekend.codes],
        shoots_last_90_days=_whole(columns["shoots_last_90_days"]),
    )


def _scaled(column: Coded[Decimal]) -> Scaled:
    distinct = scaled(column.values)
    return Scaled(distinct.digits[column.codes], distinct.places)


def _whole(column: Coded[int]) -> Whole:
    return whole(column.values)[column.codes]


def _by_add_on(column: Coded[tuple[AddOnOrder, ...]]) -> dict[str, Ordered]:
    found: dict[str, list[tuple[Rows, int]]] = {}
    for rows, orders in zip(column.groups(), column.values, strict=False):
        for order in orders:
            found.setdefault(order.code, []).append((rows, order.quantity))
    return {code: _ordered(baskets) for code, baskets in found.items()}


def _ordered(baskets: list[tuple[Rows, int]]) -> Ordered:
    sizes = [len(rows) for rows, _quantity in baskets]
    return Ordered(
        np.concatenate([rows for rows, _quantity in baskets]),
        whole([quantity for _rows, quantity in baskets]).repeat(sizes),
    )


class JobsFile:
    """A JOBS file: `jobs` as columns, and the line that each came from for whoever refuses one.

    The columns are the keys of `Job`, in any order; `add_ons` is `code:quantity` joined by `;`. Raises `BadInput`.
    """

    def __init__(self, source: str) -> None:
        self._source, self._text = source, read_text(source)
        rows = parse_csv(self._text, COLUMNS, source)
        columns = {name: self._column(name, [row[name] for row in rows]) for name in COLUMNS}
        self.jobs = _columns(columns, columns["starts_at"].read(on_weekend))

    def refusal(self, row: int, path: str, expected: str) -> BadInput:
        """What is wrong with a job, by file, line and column."""
        return BadInput(self._source, f"line {self._line(row)}: {path}", expected)

    def _column(self, name: str, texts: list[str]) -> Coded[Any]:
        """A column, each distinct text read once, by the type that the key has in `Job`."""

        def read(text: str) -> Any:
            try:
                return _CELLS[name].validate_json(json.dumps(_json_of(name, text)), strict=True)
            except ValidationError as error:
                first = error.errors(include_url=False)[0]
                path, expected = key_path((name, *first["loc"])), expectation(first)
            except ValueError as error:
                path, expected = name, str(error)
            raise self.refusal(texts.index(text), path, expected)

        return coded(texts).read(read)

    def _line(self, row: int) -> int:
        reader = csv.reader(io.StringIO(self._text, newline=""))
        header_and_rows = [reader.line_num for record in reader if record]
        return header_and_rows[row + 1]


def _json_of(name: str, text: str) -> Any:
    if name == "add_ons":
        return [_order(part) for part in text.split(";")] if text else []
    return _count(text) if name in COUNTS else text


def _order(text: str) -> dict[str, Any]:
    code, colon, quantity = (part.strip() for part in text.rpartition(":"))
    if not (colon and code and quantity):
        raise ValueError(f"expected code:quantity joined by a semicolon, found {text!r}")
    return {"code": code, "quantity": _count(quantity)}


def _count(text: str) -> int | str:
    return int(text) if _INTEGER.fullmatch(text) else text
