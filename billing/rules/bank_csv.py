"""Rows of a bank's CSV export, whatever its columns are called."""

import csv
import hashlib
import io
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from itertools import islice

from office.rules.reading import BadInput

MOST_LINES_ABOVE_HEADER = 40
MOST_DIGITS = 18


@dataclass(frozen=True)
class BankLayout:
    """Which column holds what. `text` may name several, joined by a blank; `amount_out` a column of its own for
    money that left; `date_format` is strptime's."""

    on: str
    amount: str
    text: tuple[str, ...]
    payer: str = ""
    amount_out: str = ""
    date_format: str = "%Y-%m-%d"
    decimal_mark: str = "."
    delimiter: str = ","

    @property
    def columns(self) -> tuple[str, ...]:
        return tuple(name for name in (self.on, self.amount, *self.text, self.payer, self.amount_out) if name)


@dataclass(frozen=True)
class BankRow:
    """One row; money in is positive. `fingerprint` is the same whenever the row is read again."""

    line: int
    on: date
    amount: Decimal
    text: str
    payer: str
    fingerprint: str


def bank_rows(text: str, layout: BankLayout, source: str) -> tuple[BankRow, ...]:
    """Every row below the header, which may stand below lines of another kind; raises `BadInput`."""
    reader = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), delimiter=layout.delimiter)
    numbered = ((reader.line_num, [cell.strip() for cell in values]) for values in reader)
    try:
        header = _header(numbered, layout, source)
        return tuple(_rows(numbered, header, layout, source))
    except csv.Error as error:
        raise BadInput(source, f"line {reader.line_num}", f"expected CSV ({error})") from None


def _header(numbered: Iterator[tuple[int, list[str]]], layout: BankLayout, source: str) -> list[str]:
    for _line, names in islice(numbered, MOST_LINES_ABOVE_HEADER):
        if all(name in names for name in layout.columns):
            return names
    raise BadInput(source, "header", f"expected the columns {', '.join(layout.columns)}")


def _rows(
    numbered: Iterator[tuple[int, list[str]]], header: list[str], layout: BankLayout, source: str
) -> Iterator[BankRow]:
    seen: Counter[tuple[str, ...]] = Counter()
    for line, values in numbered:
        if not any(values):
            continue
        if len(values) < len(header):
            raise BadInput(source, f"line {line}", f"expected {len(header)} values, found {len(values)}")
        yield _row(line, dict(zip(header, values, strict=False)), layout, source, seen)


def _row(line: int, cells: dict[str, str], layout: BankLayout, source: str, seen: Counter[tuple[str, ...]]) -> BankRow:
    try:
        on = datetime.strptime(cells[layout.on], layout.date_format).replace(tzinfo=UTC).date()
    except ValueError:
        raise BadInput(source, f"line {line}, {layout.on}", f"expected a date as {layout.date_format}") from None
    amount = _signed_amount(cells, layout, source, line)
    text = " ".join(cells[name] for name in layout.text if cells[name])
    payer = cells[layout.payer] if layout.payer else ""
    content = (on.isoformat(), str(amount.normalize()), text, payer)
    seen[content] += 1
    return BankRow(line, on, amount, text, payer, _fingerprint(content, seen[content]))


def _signed_amount(cells: dict[str, str], layout: BankLayout, source: str, line: int) -> Decimal:
    columns = [column for column in (layout.amount, layout.amount_out) if column]
    filled = [column for column in columns if cells[column]] or columns[:1]
    amounts = dict.fromkeys(columns, Decimal(0))
    for column in filled:
        try:
            amounts[column] = parsed_amount(cells[column], layout.decimal_mark)
        except ValueError as error:
            raise BadInput(source, f"line {line}, {column}", str(error)) from None
    return amounts[layout.amount] - abs(amounts.get(layout.amount_out, Decimal(0)))


def parsed_amount(text: str, decimal_mark: str) -> Decimal:
    """The number in "1,234.50", "1.234,50-" or "(12.00)", by the mark before the decimals; raises `ValueError`.

    Marks between thousands must stand every three digits, so that "1,5" is refused and not read as fifteen.
    """
    group_marks = "'’\\s" + ("," if decimal_mark == "." else ".")
    number = rf"([0-9]+|[0-9]{{1,3}}(?:[{group_marks}][0-9]{{3}})+)(?:{re.escape(decimal_mark)}([0-9]+))?"
    found = re.fullmatch(rf"(\(|[-+])?\s*{number}\s*(\)|-)?", text.strip().replace("\u2212", "-"))
    if not found or (found[1] == "(") != (found[4] == ")") or (found[1] and found[4] == "-"):
        raise ValueError(f"expected an amount such as 1234{decimal_mark}50")
    whole, decimals = re.sub(r"[^0-9]", "", found[2]), found[3] or "0"
    if len(whole) + len(decimals) > MOST_DIGITS:
        raise ValueError(f"expected at most {MOST_DIGITS} digits")
    amount = Decimal(f"{whole}.{decimals}")
    return -amount if found[1] in {"(", "-"} or found[4] == "-" else amount


def _fingerprint(content: Sequence[str], occurrence: int) -> str:
    # Two equal payments on one day are two rows, so the count belongs to it.
    return hashlib.sha256("\x1f".join((*content, str(occurrence))).encode()).hexdigest()
