"""How an invoice stands: what is still open, and what follows from that.

The stored states are draft, issued, settled and void; part-paid and overdue are computed here and never stored.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

ZERO = Decimal(0)


@dataclass(frozen=True)
class OpenInvoice:
    """An issued invoice with money still to come; amounts in `currency`. `total` is what was due at issue."""

    number: str
    client: str
    issued_on: date
    due_on: date
    total: Decimal
    open: Decimal
    currency: str
    reference: str = ""


@dataclass(frozen=True)
class Standing:
    """`open` is never negative; what came in beyond the total is the client's credit, not the invoice's."""

    open: Decimal
    is_settled: bool
    is_part_paid: bool
    is_overdue: bool
    days_overdue: int


def standing(total: Decimal, received: Iterable[Decimal], due_on: date, as_of: date) -> Standing:
    """An issued invoice's standing on a day, from what payments and credit notes were allocated to it."""
    paid = sum(received, ZERO)
    left = max(total - paid, ZERO)
    days = days_overdue(due_on, as_of)
    return Standing(left, not left, ZERO < paid < total, bool(left) and days > 0, max(days, 0) if left else 0)


def days_overdue(due_on: date, as_of: date) -> int:
    """Days past due: 0 on the due day itself, negative before it."""
    return (as_of - due_on).days


def due_date(issued_on: date, net_days: int) -> date:
    """The day by which an invoice is to be paid, `net_days` calendar days after issue."""
    return issued_on + timedelta(days=net_days)
