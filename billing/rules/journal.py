"""The double-entry journal: what each event of the ledger posts.

An entry is made from its legs and one account against which they are balanced, so it cannot fail to balance.
A positive amount is a debit, a negative one a credit.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from enum import StrEnum

from .allocation import Allocated
from .document import InvoiceDocument, Kind
from .late_charge import LateCharge

ZERO = Decimal(0)


class Account(StrEnum):
    BANK = "bank"
    RECEIVABLE = "receivable"
    CLIENT_CREDIT = "client_credit"
    TAX_OWED = "tax_owed"
    INCOME = "income"
    LATE_CHARGES = "late_charges"
    ROUNDING = "rounding"
    BAD_DEBTS = "bad_debts"


class Unbalanced(ValueError):
    """Debits and credits differ."""


@dataclass(frozen=True)
class Posting:
    """One leg. `detail` divides the account (client, tax, kind of income); `invoice` is the number it touches."""

    account: Account
    amount: Decimal
    detail: str = ""
    invoice: str = ""


@dataclass(frozen=True)
class Entry:
    """One event in one currency; its postings come to zero or `Unbalanced` is raised. Make it with `entry`."""

    on: date
    text: str
    client: str
    currency: str
    postings: tuple[Posting, ...]
    document: str = ""

    def __post_init__(self) -> None:
        if left := sum((posting.amount for posting in self.postings), ZERO):
            raise Unbalanced(f"{self.text}: debits and credits differ by {left} {self.currency}")


def entry(
    on: date, text: str, client: str, currency: str, legs: Iterable[Posting], against: Posting, *, document: str = ""
) -> Entry:
    """An entry of `legs`, balanced by `against`, whose amount is worked out. Legs of one place become one."""
    amounts: defaultdict[Posting, Decimal] = defaultdict(lambda: ZERO)
    for leg in legs:
        amounts[replace(leg, amount=ZERO)] += leg.amount
    amounts[replace(against, amount=ZERO)] -= sum(amounts.values(), ZERO)
    postings = tuple(replace(place, amount=amount) for place, amount in amounts.items() if amount)
    return Entry(on, text, client, currency, postings, document)


def document_entry(document: InvoiceDocument) -> Entry:
    """An issued invoice: what is due and what was prepaid against income and tax; a credit note the other way."""
    is_credit = document.kind is Kind.CREDIT_NOTE
    sign, client, totals = (-1 if is_credit else 1), document.buyer.name, document.totals
    touched = document.corrects.number if is_credit and document.corrects else document.number
    legs = [
        *(Posting(Account.INCOME, -line.net, line.code) for line in document.lines),
        *(Posting(Account.INCOME, -adjustment.net, "adjustments") for adjustment in document.adjustments),
        *(Posting(Account.TAX_OWED, -row.tax, row.rate.label) for row in totals.breakdown),
        Posting(Account.ROUNDING, -totals.rounding),
        Posting(Account.CLIENT_CREDIT, totals.prepaid, client),
    ]
    return entry(
        document.issued_on, f"{'Credit note' if is_credit else 'Invoice'} {document.number}", client,
        document.currency, (replace(leg, amount=sign * leg.amount) for leg in legs),
        Posting(Account.RECEIVABLE, ZERO, client, touched), document=document.number,
    )  # fmt: skip


def payment_entry(on: date, client: str, currency: str, allocated: Allocated, *, document: str = "") -> Entry:
    """Money in: into the bank, off the invoices it pays, the rest to the client's credit."""
    return _spread(on, "Payment", client, currency, allocated, Posting(Account.BANK, ZERO), document)


def credit_used_entry(on: date, client: str, currency: str, allocated: Allocated, *, document: str = "") -> Entry:
    """A client's credit taken for open invoices; what no invoice takes stays credit."""
    return _spread(
        on, "Credit used", client, currency, allocated, Posting(Account.CLIENT_CREDIT, ZERO, client), document
    )


def _spread(
    on: date, text: str, client: str, currency: str, allocated: Allocated, source: Posting, document: str
) -> Entry:
    legs = [Posting(Account.RECEIVABLE, -part.amount, client, part.number) for part in allocated.allocations]
    rest = Posting(Account.CLIENT_CREDIT, -allocated.credit, client)
    return entry(on, text, client, currency, [*legs, rest], source, document=document)


def refund_entry(on: date, client: str, currency: str, amount: Decimal) -> Entry:
    """A client's credit paid back."""
    leg = Posting(Account.CLIENT_CREDIT, amount, client)
    return entry(on, "Refund", client, currency, [leg], Posting(Account.BANK, ZERO))


def overpaid_entry(on: date, client: str, currency: str, invoice: str, amount: Decimal) -> Entry:
    """An invoice paid and then credited: what it no longer needs becomes the client's credit."""
    leg = Posting(Account.CLIENT_CREDIT, -amount, client)
    return _on_invoice(on, "Credit from invoice", client, currency, invoice, leg)


def late_charge_entry(on: date, client: str, currency: str, invoice: str, charge: LateCharge) -> Entry:
    """A late charge that the office decided to claim."""
    leg = Posting(Account.LATE_CHARGES, -charge.total)
    return _on_invoice(on, "Late charge on invoice", client, currency, invoice, leg)


def written_off_entry(on: date, client: str, currency: str, invoice: str, amount: Decimal) -> Entry:
    """A debt given up. Whether its tax may be reclaimed is for the accountant, so tax is not touched."""
    return _on_invoice(on, "Written off, invoice", client, currency, invoice, Posting(Account.BAD_DEBTS, amount))


def _on_invoice(on: date, text: str, client: str, currency: str, invoice: str, leg: Posting) -> Entry:
    receivable = Posting(Account.RECEIVABLE, ZERO, client, invoice)
    return entry(on, f"{text} {invoice}", client, currency, [leg], receivable, document=invoice)


def reversed_entry(original: Entry, on: date, text: str) -> Entry:
    """The same entry the other way round, for an invoice made void or a payment that bounced."""
    postings = tuple(replace(posting, amount=-posting.amount) for posting in original.postings)
    return replace(original, on=on, text=text, postings=postings)


def balances(entries: Iterable[Entry]) -> dict[tuple[Account, str, str], Decimal]:
    """Balance by account, detail and currency; over all of them it is zero in each currency."""
    totals: defaultdict[tuple[Account, str, str], Decimal] = defaultdict(lambda: ZERO)
    for each in entries:
        for posting in each.postings:
            totals[posting.account, posting.detail, each.currency] += posting.amount
    return dict(totals)


def open_by_invoice(entries: Sequence[Entry]) -> dict[str, Decimal]:
    """What is still to come on each invoice, by number, as the receivable postings say."""
    totals: defaultdict[str, Decimal] = defaultdict(lambda: ZERO)
    for each in entries:
        for posting in each.postings:
            if posting.account is Account.RECEIVABLE:
                totals[posting.invoice] += posting.amount
    return dict(totals)
