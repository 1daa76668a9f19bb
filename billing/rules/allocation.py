"""Which invoices a payment pays: as the payer says, else as the office says, else the oldest first.

The same for a credit note or a client's credit that is used up. What no invoice takes is the client's credit.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from .standing import ZERO, OpenInvoice


class NotAllocatable(ValueError):
    """The payment cannot be spread as asked; the text says why."""


@dataclass(frozen=True)
class Allocation:
    """So much of the payment to one invoice."""

    number: str
    amount: Decimal


@dataclass(frozen=True)
class Allocated:
    """A payment spread out: the allocations and `credit` add up to it."""

    allocations: tuple[Allocation, ...]
    credit: Decimal


def allocate_oldest_first(payment: Decimal, currency: str, invoices: Iterable[OpenInvoice]) -> Allocated:
    """The longest due first; of two due on one day the one issued first, then by number."""
    return allocate_in_order(payment, currency, sorted(invoices, key=_age))


def allocate_in_order(payment: Decimal, currency: str, invoices: Sequence[OpenInvoice]) -> Allocated:
    """Each invoice in the order given, in full as far as the money goes; raises `NotAllocatable`."""
    _check(payment, currency, invoices)
    left, allocations = payment, []
    for invoice in invoices:
        if part := min(left, invoice.open):
            allocations.append(Allocation(invoice.number, part))
            left -= part
    return Allocated(tuple(allocations), left)


def allocate_as_chosen(
    payment: Decimal, currency: str, invoices: Sequence[OpenInvoice], chosen: Mapping[str, Decimal]
) -> Allocated:
    """Exactly the amounts chosen, by invoice number; the rest is credit. Raises `NotAllocatable`."""
    _check(payment, currency, invoices)
    by_number = {invoice.number: invoice for invoice in invoices}
    for number, amount in chosen.items():
        _check_choice(number, amount, by_number.get(number))
    left = payment - sum(chosen.values(), ZERO)
    if left < 0:
        raise NotAllocatable(f"{-left} more is chosen than was paid")
    return Allocated(tuple(Allocation(number, amount) for number, amount in chosen.items() if amount), left)


def _age(invoice: OpenInvoice) -> tuple[date, date, str]:
    return invoice.due_on, invoice.issued_on, invoice.number


def _check(payment: Decimal, currency: str, invoices: Iterable[OpenInvoice]) -> None:
    if not payment.is_finite() or payment <= 0:
        raise NotAllocatable(f"a payment is more than zero, not {payment}")
    seen: Counter[str] = Counter()
    for invoice in invoices:
        seen[invoice.number] += 1
        if seen[invoice.number] > 1:
            raise NotAllocatable(f"invoice {invoice.number} stands twice in the list")
        if invoice.currency != currency:
            raise NotAllocatable(f"invoice {invoice.number} is in {invoice.currency}, the payment in {currency}")
        if invoice.open < 0:
            raise NotAllocatable(f"invoice {invoice.number} has {invoice.open} open")


def _check_choice(number: str, amount: Decimal, invoice: OpenInvoice | None) -> None:
    if invoice is None:
        raise NotAllocatable(f"invoice {number} is not open")
    if not amount.is_finite() or amount < 0:
        raise NotAllocatable(f"invoice {number}: {amount} cannot be allocated")
    if amount > invoice.open:
        raise NotAllocatable(f"invoice {number} has only {invoice.open} open, not {amount}")
