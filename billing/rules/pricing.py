"""A priced quote: line by line, each line with its reason.

The lines stand in this order: `package`, `area` (one for each band touched), `levels`, the add-ons (each under its own
code), `short_notice`, `weekend`, `minimum`, `volume`, `travel`, `rounding`. Each is rounded half up to the currency's
minor unit, and what follows is reckoned from the rounded lines. Then come the taxes on the net.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Context, Decimal, localcontext
from typing import Any

from billing.rules.card import (
    AddOnOrder,
    Card,
    Job,
    NotOnCard,
    Tax,
    card_from_json,
    card_to_json,
    job_from_json,
    job_to_json,
    read_card,
    read_job,
)
from billing.rules.lines import (
    ZERO,
    Line,
    add_on_lines,
    area_lines,
    level_lines,
    minimum_lines,
    package_line,
    part,
    rounding_lines,
    surcharge_lines,
    travel_lines,
    volume_lines,
)
from office.rules.money import rounded
from office.rules.money_format import plain, shortest

__all__ = [
    "AddOnOrder",
    "Card",
    "Job",
    "Line",
    "NotOnCard",
    "Priced",
    "TaxLine",
    "card_from_json",
    "card_to_json",
    "job_from_json",
    "job_to_json",
    "price",
    "priced_to_json",
    "read_card",
    "read_job",
]

EXACT = Context(prec=160)
"""Room for a product of several 18-digit figures, so that nothing is rounded on the way."""


@dataclass(frozen=True)
class TaxLine:
    """One tax; `base` is the net."""

    name: str
    percent: Decimal
    base: Decimal
    amount: Decimal


@dataclass(frozen=True)
class Priced:
    """A priced job: lines sum to `net`, net and taxes to `total`, exactly. `card` is the rate card's number."""

    card: int
    currency: str
    lines: tuple[Line, ...]
    net: Decimal
    taxes: tuple[TaxLine, ...]
    total: Decimal


def price(card: Card, job: Job) -> Priced:
    """The job under the card, in the card's currency; raises `NotOnCard`."""
    with localcontext(EXACT):
        house = [package_line(card, job), *area_lines(card, job), *level_lines(card, job)]
        ordered = [*house, *add_on_lines(card, job, total_of(house))]
        asked = [*ordered, *surcharge_lines(card, job, total_of(ordered))]
        visit = [*asked, *minimum_lines(card, total_of(asked))]
        trip = [*visit, *volume_lines(card, job, total_of(visit)), *travel_lines(card, job)]
        return _priced(card, [*trip, *rounding_lines(card, total_of(trip))])


def total_of(lines: Iterable[Line]) -> Decimal:
    """What the lines come to."""
    return sum((line.amount for line in lines), ZERO)


def _priced(card: Card, lines: list[Line]) -> Priced:
    """The lines that charge something, and the package always, with the taxes on them."""
    kept = [line for line in lines if line.amount or line is lines[0]]
    net = total_of(kept)
    taxes = tuple(_tax_line(card, tax, net, kept) for tax in card.tax)
    total = sum((tax.amount for tax in taxes), net)
    return Priced(card.number, card.currency, tuple(kept), net, taxes, total)


def _tax_line(card: Card, tax: Tax, net: Decimal, lines: list[Line]) -> TaxLine:
    bases = [net] if card.tax_rounding == "invoice" else [line.amount for line in lines]
    amount = sum((rounded(part(base, tax.percent), card.currency) for base in bases), ZERO)
    return TaxLine(tax.name, tax.percent, net, amount)


def priced_to_json(priced: Priced) -> dict[str, Any]:
    """The answer of the `price` command; figures are decimal text."""
    return {
        "card": priced.card,
        "currency": priced.currency,
        "lines": [_line_to_json(line) for line in priced.lines],
        "net": plain(priced.net),
        "taxes": [_tax_to_json(tax) for tax in priced.taxes],
        "total": plain(priced.total),
    }


def _line_to_json(line: Line) -> dict[str, str]:
    return {
        "code": line.code,
        "text": line.text,
        "quantity": shortest(line.quantity),
        "unit_price": plain(line.unit_price),
        "amount": plain(line.amount),
        "why": line.why,
    }


def _tax_to_json(tax: TaxLine) -> dict[str, str]:
    figures = {"percent": tax.percent, "base": tax.base, "amount": tax.amount}
    return {"name": tax.name} | {key: plain(figure) for key, figure in figures.items()}
