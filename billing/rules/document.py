"""An invoice or credit note as one plain value: what is printed, sent, posted and filed.

Everything on it is a copy, so that an issued document never changes when a client, a rate or the office does.
The tags BT-… are the business terms of EN 16931-1.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from enum import StrEnum

from office.rules.money import UnknownCurrency, minor_units

from .tax import ZERO, Adjustment, Inconsistent, InvoiceTotals, TaxRate, TaxRounding, invoice_totals, line_net


class Kind(StrEnum):
    INVOICE = "invoice"
    CREDIT_NOTE = "credit_note"


class Unit(StrEnum):
    """Units of a line's quantity, by their code in UN/ECE Recommendation 20."""

    EACH = "C62"
    SQUARE_FOOT = "FTK"
    SQUARE_METRE = "MTK"
    KILOMETRE = "KMT"
    MILE = "SMI"
    HOUR = "HUR"
    DAY = "DAY"


@dataclass(frozen=True)
class Address:
    """`country` is the two-letter code of ISO 3166-1."""

    country: str
    street: str = ""
    extra: str = ""
    town: str = ""
    region: str = ""
    postcode: str = ""


@dataclass(frozen=True)
class Party:
    """Seller or buyer. `vat_number` with its country prefix (BT-31, BT-48), `tax_number` a local one (BT-32),
    `registration_number` of the company register (BT-30, BT-47)."""

    name: str
    address: Address
    contact: str = ""
    phone: str = ""
    email: str = ""
    vat_number: str = ""
    tax_number: str = ""
    registration_number: str = ""


@dataclass(frozen=True)
class BankAccount:
    """Where to pay: `number` is an IBAN or a local account number (BT-84)."""

    number: str
    bic: str = ""
    holder: str = ""


@dataclass(frozen=True)
class Corrected:
    """The earlier document that this one refers to (BT-25, BT-26)."""

    number: str
    issued_on: date


@dataclass(frozen=True)
class InvoiceLine:
    """One line; `net` is after the line's own allowances and charges. See `invoice_line`."""

    text: str
    quantity: Decimal
    unit_price: Decimal
    net: Decimal
    taxes: tuple[TaxRate, ...] = ()
    unit: Unit = Unit.EACH
    price_base_quantity: Decimal = Decimal(1)
    adjustments: tuple[Adjustment, ...] = ()
    code: str = ""
    detail: str = ""


def invoice_line(
    text: str,
    quantity: Decimal,
    unit_price: Decimal,
    currency: str,
    *,
    taxes: tuple[TaxRate, ...] = (),
    unit: Unit = Unit.EACH,
    price_base_quantity: Decimal = Decimal(1),
    adjustments: tuple[Adjustment, ...] = (),
    code: str = "",
    detail: str = "",
) -> InvoiceLine:
    """A line with its net amount worked out. `code` is the rate card's ("area"), `detail` more text beneath."""
    net = line_net(
        quantity, unit_price, currency, price_base_quantity=price_base_quantity, adjustments=adjustments
    )  # fmt: skip
    return InvoiceLine(text, quantity, unit_price, net, taxes, unit, price_base_quantity, adjustments, code, detail)


@dataclass(frozen=True)
class InvoiceDocument:
    """The document. Raises `Inconsistent` when totals do not match lines, or a credit note corrects nothing.

    `supplied_on` is the day of the work (BT-72) and `supplied_at` the property (BG-15); `order_reference` the
    buyer's order number (BT-13), `buyer_reference` what the buyer asked to see on it (BT-10);
    `payment_reference` goes into the transfer (BT-83).
    """

    kind: Kind
    number: str
    issued_on: date
    currency: str
    seller: Party
    buyer: Party
    lines: tuple[InvoiceLine, ...]
    totals: InvoiceTotals
    due_on: date | None = None
    supplied_on: date | None = None
    supplied_at: Address | None = None
    adjustments: tuple[Adjustment, ...] = ()
    account: BankAccount | None = None
    payment_reference: str = ""
    order_reference: str = ""
    buyer_reference: str = ""
    terms: str = ""
    note: str = ""
    corrects: Corrected | None = None

    def __post_init__(self) -> None:
        _check_currency(self.currency)
        if self.kind is Kind.CREDIT_NOTE and self.corrects is None:
            raise Inconsistent("a credit note names the invoice it corrects")  # Directive 2006/112/EC art. 219
        stated = (self.totals.lines, self.totals.charges - self.totals.allowances)
        found = (sum((line.net for line in self.lines), ZERO), sum((each.net for each in self.adjustments), ZERO))
        if stated != found:  # BR-CO-10 to BR-CO-12
            raise Inconsistent(f"lines and adjustments come to {found[0]} and {found[1]}, totals say {stated}")


def _check_currency(currency: str) -> None:
    try:
        minor_units(currency)
    except UnknownCurrency as unknown:
        raise Inconsistent(str(unknown)) from None


def credit_note(
    invoice: InvoiceDocument,
    *,
    number: str,
    issued_on: date,
    lines: Sequence[InvoiceLine] | None = None,
    tax_rounding: TaxRounding = TaxRounding.INVOICE,
    note: str = "",
) -> InvoiceDocument:
    """The credit note that takes back the whole invoice, or only `lines`; its amounts are positive.

    What was prepaid stays out of it: it credits what was invoiced, not what was still due.
    """
    if invoice.kind is not Kind.INVOICE:
        raise Inconsistent("only an invoice can be credited")
    whole = lines is None
    kept = invoice.lines if lines is None else tuple(lines)
    if not kept:
        raise Inconsistent("a credit note has at least one line")
    totals = (
        replace(invoice.totals, prepaid=ZERO, due=invoice.totals.gross + invoice.totals.rounding)
        if whole
        else invoice_totals(kept, invoice.currency, tax_rounding=tax_rounding)
    )
    return replace(
        invoice, kind=Kind.CREDIT_NOTE, number=number, issued_on=issued_on, lines=kept, totals=totals, due_on=None,
        adjustments=invoice.adjustments if whole else (), account=None, payment_reference="", terms="", note=note,
        corrects=Corrected(invoice.number, invoice.issued_on),
    )  # fmt: skip
