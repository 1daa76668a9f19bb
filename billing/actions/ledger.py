"""What the ledger says: how each invoice stands, what is owed by age, and whether the sums agree."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.db.models import QuerySet, Sum

from billing.models import Allocation, Invoice, InvoiceState, Payment
from billing.rules.ageing import Ageing, Bucket, age
from billing.rules.standing import Standing, standing

from .payments import open_invoice

ISSUED = (InvoiceState.ISSUED, InvoiceState.SETTLED)


@dataclass(frozen=True)
class Standee:
    """An invoice and how it stands; a draft or a void one does not stand."""

    invoice: Invoice
    standing: Standing | None


@dataclass(frozen=True)
class Books:
    """One currency. `ageing` is added up invoice by invoice; `billed` and `paid` are the database's own sums."""

    currency: str
    ageing: Ageing
    billed: Decimal
    paid: Decimal
    credit: Decimal
    invoiced_this_month: Decimal
    received_this_month: Decimal

    @property
    def agrees(self) -> bool:
        return self.billed - self.paid == self.ageing.total


def standings(invoices: Iterable[Invoice], today: date) -> list[Standee]:
    """The invoices, loaded `with_paid`, each with its standing today."""
    return [Standee(invoice, _standing(invoice, today)) for invoice in invoices]


def _standing(invoice: Invoice, today: date) -> Standing | None:
    if invoice.state not in ISSUED:
        return None
    return standing(invoice.total, [invoice.paid], invoice.due_on, today)


def books(today: date, office_currency: str) -> list[Books]:
    """The ledger by currency, the office's own first."""
    open_ones = Invoice.objects.filter(state=InvoiceState.ISSUED)
    ageing = age(map(open_invoice, open_ones.with_paid()), today)
    month = today.replace(day=1)
    sums = {
        "billed": _sums(open_ones, "total"),
        "paid": _sums(Allocation.objects.filter(invoice__in=open_ones), "amount", "payment__currency"),
        "credit": _sums(Payment.objects.with_credit(), "credit"),
        "invoiced_this_month": _sums(Invoice.objects.filter(issued_on__gte=month, state__in=ISSUED), "total"),
        "received_this_month": _sums(Payment.objects.filter(received_on__gte=month), "amount"),
    }
    found = {currency for by_currency in sums.values() for currency in by_currency} | {office_currency}
    ordered = sorted(found, key=lambda currency: (currency != office_currency, currency))
    zero = Decimal(0)
    return [
        Books(
            currency=currency,
            ageing=ageing.get(currency) or _nothing_owed(currency),
            **{name: by_currency.get(currency, zero) for name, by_currency in sums.items()},
        )
        for currency in ordered
    ]


def _nothing_owed(currency: str) -> Ageing:
    return Ageing(currency, dict.fromkeys(Bucket, Decimal(0)))


def _sums(rows: QuerySet[Any], field: str, currency: str = "currency") -> dict[str, Decimal]:
    grouped = rows.order_by().values_list(currency).annotate(Sum(field))
    return dict(grouped)
