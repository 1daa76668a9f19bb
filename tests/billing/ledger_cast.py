"""Parties, rates and whole documents that the ledger's tests share."""

from datetime import date
from decimal import Decimal

from billing.rules.document import (
    Address,
    BankAccount,
    Corrected,
    InvoiceDocument,
    InvoiceLine,
    Kind,
    Party,
    invoice_line,
)
from billing.rules.standing import OpenInvoice
from billing.rules.tax import Adjustment, TaxRate, invoice_totals

D = Decimal
VAT_20 = TaxRate("VAT", D(20), "S")
VAT_5 = TaxRate("VAT", D(5), "S")
EXEMPT = TaxRate("VAT", D(0), "E", "Exempt, art. 132")
SALES_TAX = TaxRate("Sales tax", D("7.25"), None)
CITY_TAX = TaxRate("City tax", D("1.5"), None)

HOUSE = Address("IE", "2 Strand Street", town="Skerries", postcode="K34")
SELLER = Party(
    "Lantern Surveys Ltd",
    Address("IE", "1 Quay Road", "Unit 4", "Dublin", "Leinster", "D01"),
    contact="Ann Byrne",
    phone="+353 1 555 0100",
    email="office@lantern.example",
    vat_number="IE1234567T",
    registration_number="551234",
)
BUYER = Party("Harbour Homes", Address("IE", "9 Pier View", town="Howth"), vat_number="IE7654321W")
US_SELLER = Party(
    "Prairie Scans LLC", Address("US", "12 Elm St", town="Austin", region="TX"), registration_number="T-1"
)
US_BUYER = Party("Bluebonnet Realty", Address("US", town="Austin", region="TX"))
ACCOUNT = BankAccount("IE29AIBK93115212345678", "AIBKIE2D", "Lantern Surveys Ltd")


def a_line(net="100.00", *taxes, currency="EUR", text="Floor plan", code="package") -> InvoiceLine:
    return invoice_line(text, D(1), D(net), currency, taxes=taxes or (VAT_20,), code=code)


def an_invoice(*lines, currency="EUR", prepaid="0", payable_step=None, adjustments=(), **changes) -> InvoiceDocument:
    """An invoice of 31 January 2027, due on 14 February, one line of 100.00 at 20 % unless told otherwise."""
    lines = lines or (a_line(currency=currency),)
    totals = invoice_totals(lines, currency, adjustments=adjustments, prepaid=D(prepaid), payable_step=payable_step)
    values = {
        "kind": Kind.INVOICE,
        "number": "INV-2027-0001",
        "issued_on": date(2027, 1, 31),
        "due_on": date(2027, 2, 14),
        "supplied_on": date(2027, 1, 20),
        "supplied_at": HOUSE,
        "seller": SELLER,
        "buyer": BUYER,
        "account": ACCOUNT,
        "payment_reference": "RF64INV20270001",
    }
    return InvoiceDocument(currency=currency, lines=lines, totals=totals, adjustments=adjustments, **values | changes)


def a_us_invoice(*lines, **changes) -> InvoiceDocument:
    lines = lines or (a_line("240.00", SALES_TAX, CITY_TAX, currency="USD"),)
    us = {"seller": US_SELLER, "buyer": US_BUYER, "account": None, "supplied_at": None, "currency": "USD"}
    return an_invoice(*lines, **us | changes)


def an_open(number="INV-1", left="100.00", due=date(2027, 2, 14), **changes) -> OpenInvoice:
    values = {
        "client": "Harbour Homes",
        "issued_on": date(2027, 1, 31),
        "total": D(left),
        "currency": "EUR",
    }
    return OpenInvoice(number=number, due_on=due, open=D(left), **values | changes)


EARLIER = Corrected("INV-2026-0042", date(2026, 12, 1))
CHARGE = Adjustment(D("10.00"), "Parking", is_charge=True, taxes=(VAT_20,))
ALLOWANCE = Adjustment(D("5.00"), "Late arrival", taxes=(VAT_20,))
