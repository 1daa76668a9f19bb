"""Reading the JSON and CSV files of the terminal contracts, strictly.

Every refusal is one line: the file, the key path in it, and what was expected there.
"""

import csv
import io
import json
import sys
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import Annotated, TypeVar

from pydantic import AfterValidator, BeforeValidator, ConfigDict, TypeAdapter, ValidationError
from pydantic_core import ErrorDetails

T = TypeVar("T")

STRICT = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False, validate_by_name=True)
"""The configuration of every dataclass that is read from a file. Code builds it by field name, a file by key."""

MOST_DIGITS = 18
LARGEST_FILE = 64 * 1024 * 1024


class BadInput(ValueError):
    """A file that cannot be taken as it is. `str()` is one line: file, key path, what was expected."""

    def __init__(self, source: str, path: str, expected: str) -> None:
        self.source, self.path, self.expected = source, path, expected
        super().__init__(": ".join(part for part in (source, path, expected) if part))


def _decimal_from_text(value: object) -> Decimal:
    if isinstance(value, Decimal):
        return value
    if not isinstance(value, str):
        raise ValueError(f"expected a decimal in a string, found {_kind(value)}")
    digits = value.removeprefix("-").replace(".", "", 1)
    if not (digits.isascii() and digits.isdigit()) or value.endswith(".") or value.lstrip("-").startswith("."):
        raise ValueError(f'expected a decimal such as "12.50", found {_shown(value)}')
    if len(digits) > MOST_DIGITS:
        raise ValueError(f"expected at most {MOST_DIGITS} digits")
    return Decimal(value)


def _not_negative(value: Decimal) -> Decimal:
    if value < 0:
        raise ValueError(f"expected zero or more, found {value}")
    return value


def _positive(value: Decimal) -> Decimal:
    if value <= 0:
        raise ValueError(f"expected more than zero, found {value}")
    return value


DecimalText = Annotated[Decimal, BeforeValidator(_decimal_from_text)]
"""A decimal written as a JSON string: no exponent, no NaN, no bare number."""
NotNegative = Annotated[Decimal, BeforeValidator(_decimal_from_text), AfterValidator(_not_negative)]
Positive = Annotated[Decimal, BeforeValidator(_decimal_from_text), AfterValidator(_positive)]


def read_text(source: str) -> str:
    """The UTF-8 text of a file, or of standard input for `-`; raises `BadInput`."""
    try:
        if source == "-":
            return sys.stdin.buffer.read(LARGEST_FILE).decode("utf-8-sig")
        path = Path(source)
        if path.stat().st_size > LARGEST_FILE:
            raise BadInput(source, "", "expected a file under 64 MB")
        return path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise BadInput(source, "", f"expected a readable file ({error.strerror})") from None
    except UnicodeDecodeError:
        raise BadInput(source, "", "expected UTF-8 text") from None


def read_json(source: str, shape: type[T]) -> T:
    """The file as `shape`, a frozen pydantic dataclass; raises `BadInput` at the first thing that does not fit."""
    return parse_json(read_text(source), shape, source)


def parse_json(text: str, shape: type[T], source: str) -> T:
    """JSON `text` as `shape`; `source` names it in the refusal."""
    _refuse_repeated_keys(text, source)
    try:
        return TypeAdapter(shape).validate_json(text, by_alias=True, by_name=False)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        raise BadInput(source, key_path(first["loc"]), expectation(first)) from None


def _refuse_repeated_keys(text: str, source: str) -> None:
    """JSON leaves open what a key written twice means (RFC 8259 §4); we take no such file."""

    def once(pairs: list[tuple[str, object]]) -> dict[str, object]:
        found: dict[str, object] = {}
        for key, value in pairs:
            if key in found:
                raise BadInput(source, key, "expected this key once")
            found[key] = value
        return found

    try:
        json.loads(text, object_pairs_hook=once)
    except BadInput:
        raise
    except (ValueError, RecursionError):
        return  # what is no JSON at all, the next reader names with its line and column


def read_csv(source: str, columns: Sequence[str]) -> list[dict[str, str]]:
    """The rows of a CSV file whose header is exactly `columns` (any order); raises `BadInput`."""
    return parse_csv(read_text(source), columns, source)


def parse_csv(text: str, columns: Sequence[str], source: str) -> list[dict[str, str]]:
    """Rows as dicts of stripped text; a short or long row, a missing or unknown column is refused by name."""
    reader = csv.reader(io.StringIO(text, newline=""))
    try:
        header = [name.strip() for name in next(reader, [])]
        _check_header(header, columns, source)
        return [_csv_row(row, header, source, reader.line_num) for row in reader if row]
    except csv.Error as error:
        raise BadInput(source, f"line {reader.line_num}", f"expected CSV ({error})") from None


def _check_header(header: list[str], columns: Sequence[str], source: str) -> None:
    missing = [name for name in columns if name not in header]
    unknown = [name for name in header if name not in columns]
    if missing:
        raise BadInput(source, missing[0], f"expected this column; the columns are {','.join(columns)}")
    if unknown:
        raise BadInput(source, unknown[0] or "(no name)", f"unknown column; the columns are {','.join(columns)}")
    if len(set(header)) != len(header):
        raise BadInput(source, "line 1", "expected each column once")


def _csv_row(row: list[str], header: list[str], source: str, line: int) -> dict[str, str]:
    if len(row) != len(header):
        raise BadInput(source, f"line {line}", f"expected {len(header)} values, found {len(row)}")
    return {name: value.strip() for name, value in zip(header, row, strict=True)}


def key_path(loc: tuple[str | int, ...]) -> str:
    """("packages", "both", "area_bands", 0) as packages.both.area_bands[0]."""
    path = ""
    for part in loc:
        path += f"[{part}]" if isinstance(part, int) else f".{part}" if path else str(part)
    return path


def expectation(error: ErrorDetails) -> str:
    """pydantic's finding in our words, one line."""
    kind = error["type"]
    if kind == "json_invalid":
        return f"expected JSON ({error['ctx']['error']})"
    if kind in {"extra_forbidden", "unexpected_keyword_argument"}:
        return "unknown key"
    if kind == "missing":
        return "expected this key"
    if kind == "value_error":
        return str(error["ctx"]["error"])
    said = error["msg"].replace("Input should be", "expected").replace("\n", " ")
    return f"{said}, found {_shown(error['input'])}" if not isinstance(error["input"], dict | list) else said


def _kind(value: object) -> str:
    names = {bool: "true or false", int: "a number", float: "a number", list: "a list", dict: "an object"}
    return "null" if value is None else names.get(type(value), type(value).__name__)


def _shown(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "…"
