"""Which open invoices a bank row pays: scored suggestions, each with its evidence.

Nothing is booked here; a person confirms, or the office lets through what is sure.
"""

import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum
from functools import lru_cache
from itertools import combinations

from .allocation import Allocated, allocate_in_order
from .bank_csv import BankRow
from .standing import ZERO, OpenInvoice

SURE = 80
LEAST_SCORE = 20
MOST_TOGETHER = 3
MOST_TO_COMBINE = 12
SHORT_NUMBER = 4
SHORT_WORD = 3
MOST_PATTERNS = 8192


class Evidence(StrEnum):
    REFERENCE = "reference"
    NUMBER = "number"
    RUNNING_NUMBER = "running_number"
    AMOUNT = "amount"
    PAYER = "payer"
    BEFORE_ISSUE = "before_issue"


POINTS = {
    Evidence.REFERENCE: 60,
    Evidence.NUMBER: 50,
    Evidence.RUNNING_NUMBER: 15,
    Evidence.AMOUNT: 30,
    Evidence.PAYER: 10,
    Evidence.BEFORE_ISSUE: -40,
}
"""So chosen that only a reference or a full number together with the exact amount reaches `SURE`."""


@dataclass(frozen=True)
class Suggestion:
    """Invoices that a row may pay, from 0 to 100; `allocated` is the row's amount spread over them."""

    invoices: tuple[str, ...]
    score: int
    evidence: tuple[Evidence, ...]
    allocated: Allocated
    is_sure: bool = False


@dataclass(frozen=True)
class Suggested:
    """A row with its suggestions, best first; none for money that left."""

    row: BankRow
    suggestions: tuple[Suggestion, ...]


def suggest_all(rows: Iterable[BankRow], invoices: Iterable[OpenInvoice], currency: str) -> list[Suggested]:
    """Suggestions for each row by date; what a sure row takes is no longer open for the rows after it."""
    left = {invoice.number: invoice for invoice in invoices}
    answers = []
    for row in sorted(rows, key=lambda row: (row.on, row.line)):
        suggestions = suggest(row, [invoice for invoice in left.values() if invoice.open > 0], currency)
        answers.append(Suggested(row, suggestions))
        if suggestions and suggestions[0].is_sure:
            for part in suggestions[0].allocated.allocations:
                left[part.number] = replace(left[part.number], open=left[part.number].open - part.amount)
    return answers


def suggest(row: BankRow, invoices: Sequence[OpenInvoice], currency: str) -> tuple[Suggestion, ...]:
    """Suggestions for one row, best first. Sure is the best one when no other reaches `SURE`."""
    if row.amount <= 0:
        return ()
    named = [(invoice, _naming(row, invoice)) for invoice in invoices if invoice.currency == currency]
    singles = [
        _suggestion(row, [invoice], naming, currency)
        for invoice, naming in named
        if naming or invoice.open == row.amount
    ]
    together = [_suggestion(row, group, naming, currency) for group, naming in _groups(row, named)]
    found = sorted(
        (each for each in (*singles, *together) if each.score >= LEAST_SCORE),
        key=lambda each: (-each.score, len(each.invoices), each.invoices),
    )
    if found and found[0].score >= SURE and (len(found) == 1 or found[1].score < SURE):
        found[0] = replace(found[0], is_sure=True)
    return tuple(found)


def _suggestion(
    row: BankRow, invoices: Sequence[OpenInvoice], naming: tuple[Evidence, ...], currency: str
) -> Suggestion:
    evidence = [*naming]
    if sum((invoice.open for invoice in invoices), ZERO) == row.amount:
        evidence.append(Evidence.AMOUNT)
    if any(row.on < invoice.issued_on for invoice in invoices):
        evidence.append(Evidence.BEFORE_ISSUE)
    score = max(0, sum(POINTS[each] for each in evidence))
    numbers = tuple(invoice.number for invoice in invoices)
    return Suggestion(numbers, score, tuple(evidence), allocate_in_order(row.amount, currency, invoices))


def _groups(
    row: BankRow, named: Sequence[tuple[OpenInvoice, tuple[Evidence, ...]]]
) -> Iterator[tuple[list[OpenInvoice], tuple[Evidence, ...]]]:
    """Invoices that add up to the row: all that it names, or a few of one client who seems to be the payer."""
    by_name = [
        (invoice, naming) for invoice, naming in named if naming and POINTS[naming[0]] >= POINTS[Evidence.NUMBER]
    ]
    if len(by_name) > 1 and _total(invoice for invoice, _ in by_name) == row.amount:
        weakest = min((naming for _, naming in by_name), key=lambda naming: sum(POINTS[each] for each in naming))
        yield [invoice for invoice, _ in by_name], weakest
        return
    by_client: defaultdict[str, list[OpenInvoice]] = defaultdict(list)
    for invoice, naming in named:
        if Evidence.PAYER in naming:
            by_client[invoice.client].append(invoice)
    for mine in by_client.values():
        for group in _adding_up(sorted(mine, key=lambda each: each.due_on), row.amount):
            yield group, (Evidence.PAYER,)


def _adding_up(invoices: list[OpenInvoice], amount: Decimal) -> Iterator[list[OpenInvoice]]:
    if len(invoices) > MOST_TOGETHER and _total(invoices) == amount:
        yield invoices
    for size in range(2, MOST_TOGETHER + 1):
        for group in combinations(invoices[:MOST_TO_COMBINE], size):
            if _total(group) == amount:
                yield list(group)


def _total(invoices: Iterable[OpenInvoice]) -> Decimal:
    return sum((invoice.open for invoice in invoices), ZERO)


def _naming(row: BankRow, invoice: OpenInvoice) -> tuple[Evidence, ...]:
    """How the row names the invoice (the strongest way only) and its client."""
    text = _plain(f"{row.text} {row.payer}")
    ways = _ways_to_name(invoice.number, invoice.reference)
    strongest = next(((evidence,) for evidence, pattern in ways if pattern.search(text)), ())
    return (*strongest, Evidence.PAYER) if _names_client(text, invoice.client) else strongest


@lru_cache(maxsize=4096)
def _plain(text: str) -> str:
    return unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().upper()


@lru_cache(maxsize=MOST_PATTERNS)
def _ways_to_name(number: str, reference: str) -> tuple[tuple[Evidence, re.Pattern[str]], ...]:
    """What to look for, strongest first."""
    letters = re.sub(r"[^A-Z0-9]", "", _plain(number))
    running = re.search(r"(\d+)[^0-9]*$", _plain(number))
    return tuple(
        (evidence, re.compile(rf"(?<![A-Z0-9]){pattern}(?![A-Z0-9])"))
        for evidence, pattern in (
            (Evidence.REFERENCE, _loosely(reference)),
            (Evidence.NUMBER, _by_chunks(number) if len(letters) > SHORT_NUMBER else ""),
            (Evidence.RUNNING_NUMBER, f"0*{int(running[1])}" if running else ""),
        )
        if pattern
    )


def _loosely(reference: str) -> str:
    """A reference may be broken anywhere, as banks print it in groups."""
    return r"[\W_]*".join(re.sub(r"[^A-Z0-9]", "", _plain(reference)))


def _by_chunks(number: str) -> str:
    """A number may be broken only where letters, digits and marks meet."""
    return r"[\W_]*".join(re.findall(r"[A-Z]+|\d+", _plain(number)))


def _names_client(text: str, client: str) -> bool:
    """At least half of the client's own words stand in the text."""
    words = [word for word in _words(client) if len(word) >= SHORT_WORD]
    return bool(words) and 2 * sum(word in _words(text) for word in words) >= len(words)


@lru_cache(maxsize=4096)
def _words(text: str) -> frozenset[str]:
    return frozenset(re.findall(r"[A-Z0-9]+", _plain(text)))
