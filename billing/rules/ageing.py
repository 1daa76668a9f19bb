"""Ageing: what is owed, by how long it has been due."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from .standing import ZERO, OpenInvoice, days_overdue


class Bucket(StrEnum):
    """The due day itself is not yet overdue; each bucket names its first and last day."""

    NOT_DUE = "not_due"
    DAYS_1_30 = "1-30"
    DAYS_31_60 = "31-60"
    DAYS_61_90 = "61-90"
    OVER_90 = "over_90"


LAST_DAY = (
    (0, Bucket.NOT_DUE),
    (30, Bucket.DAYS_1_30),
    (60, Bucket.DAYS_31_60),
    (90, Bucket.DAYS_61_90),
)
"""The last day of each bucket; anything later is over 90."""


@dataclass(frozen=True)
class Ageing:
    """What is open in each bucket, in one currency."""

    currency: str
    amounts: Mapping[Bucket, Decimal]

    @property
    def total(self) -> Decimal:
        return sum(self.amounts.values(), ZERO)

    @property
    def overdue(self) -> Decimal:
        return self.total - self.amounts[Bucket.NOT_DUE]


def bucket(due_on: date, as_of: date) -> Bucket:
    """The bucket of an invoice due on one day and looked at on another."""
    days = days_overdue(due_on, as_of)
    return next((name for last, name in LAST_DAY if days <= last), Bucket.OVER_90)


def age(invoices: Iterable[OpenInvoice], as_of: date) -> dict[str, Ageing]:
    """Ageing by currency; amounts of different currencies are never added."""
    amounts: dict[str, dict[Bucket, Decimal]] = {}
    for invoice in invoices:
        row = amounts.setdefault(invoice.currency, dict.fromkeys(Bucket, ZERO))
        row[bucket(invoice.due_on, as_of)] += invoice.open
    return {currency: Ageing(currency, row) for currency, row in amounts.items()}


def age_by_client(invoices: Iterable[OpenInvoice], as_of: date) -> dict[str, dict[str, Ageing]]:
    """Ageing by client, then by currency; clients by name."""
    by_client: defaultdict[str, list[OpenInvoice]] = defaultdict(list)
    for invoice in invoices:
        by_client[invoice.client].append(invoice)
    return {client: age(by_client[client], as_of) for client in sorted(by_client)}
