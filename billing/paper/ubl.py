"""An invoice or credit note as UBL 2.1 XML after EN 16931-1 (CEN/TS 16931-3-2)."""

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from typing import TypeAlias

from lxml import etree

from billing.rules.document import Address, InvoiceDocument, InvoiceLine, Kind, Party
from billing.rules.einvoice import Gap, as_en16931, gaps
from billing.rules.tax import Adjustment, InvoiceTotals, TaxRate, TaxSubtotal
from office.rules.money import rounded

CUSTOMIZATION = "urn:cen.eu:en16931:2017"
OASIS = "urn:oasis:names:specification:ubl:schema:xsd"
BASIC = f"{OASIS}:CommonBasicComponents-2"
AGGREGATE = f"{OASIS}:CommonAggregateComponents-2"

# UN/ECE code lists 1001, 4461 and the electronic address scheme list of the Connecting Europe Facility.
INVOICE_TYPE, CREDIT_NOTE_TYPE = "380", "381"
CREDIT_TRANSFER, NOT_DEFINED = "30", "1"
EMAIL_ADDRESS = "EM"

Node: TypeAlias = etree._Element | None


class NotSendable(ValueError):
    """The document is not an electronic invoice yet; `gaps` says what is missing."""

    def __init__(self, found: tuple[Gap, ...]) -> None:
        self.gaps = found
        super().__init__("; ".join(f"{gap.text} ({gap.rule})" for gap in found))


def invoice_xml(document: InvoiceDocument) -> bytes:
    """The XML, UTF-8; raises `NotSendable`."""
    if found := gaps(document):
        raise NotSendable(found)
    sendable = as_en16931(document)
    root = "Invoice" if document.kind is Kind.INVOICE else "CreditNote"
    namespaces = {None: f"{OASIS}:{root}-2", "cac": AGGREGATE, "cbc": BASIC}
    tree = etree.Element(f"{{{namespaces[None]}}}{root}", nsmap=namespaces)
    tree.extend([part for part in _parts(sendable) if part is not None])
    return bytes(etree.tostring(tree, xml_declaration=True, encoding="UTF-8", pretty_print=True))


def _cbc(name: str, value: object, **attributes: str) -> Node:
    """A basic component; None for an empty value."""
    text = _printable(str(value)) if value is not None else ""
    if not text:
        return None
    node = etree.Element(f"{{{BASIC}}}{name}", attributes)
    node.text = text
    return node


def _cac(name: str, *children: Node) -> Node:
    """An aggregate; None when it would be empty."""
    present = [child for child in children if child is not None]
    if not present:
        return None
    node = etree.Element(f"{{{AGGREGATE}}}{name}")
    node.extend(present)
    return node


def _printable(text: str) -> str:
    """Without the characters that XML 1.0 §2.2 forbids."""
    kept = (character for character in text if character in "\t\n" or _is_xml(ord(character)))
    return "".join(kept).strip()


def _is_xml(code: int) -> bool:
    return 0x20 <= code <= 0xD7FF or 0xE000 <= code <= 0xFFFD or code >= 0x10000


def _money(name: str, amount: Decimal, currency: str) -> Node:
    return _cbc(name, f"{rounded(amount, currency):f}", currencyID=currency)


def _number(value: Decimal) -> str:
    """Without exponent or trailing zeros."""
    return f"{value.normalize() + 0:f}"


def _parts(document: InvoiceDocument) -> Iterator[Node]:
    yield from _head(document)
    yield _cac("AccountingSupplierParty", _party(document.seller))
    yield _cac("AccountingCustomerParty", _party(document.buyer))
    yield _delivery(document)
    yield _payment_means(document)
    yield _cac("PaymentTerms", _cbc("Note", document.terms))
    for adjustment in document.adjustments:
        yield _adjustment(adjustment, document.currency)
    yield _tax_total(document.totals, document.currency)
    yield _monetary_total(document)
    for number, line in enumerate(document.lines, start=1):
        yield _line(number, line, document)


def _head(document: InvoiceDocument) -> Iterator[Node]:
    yield _cbc("CustomizationID", CUSTOMIZATION)
    yield _cbc("ID", document.number)
    yield _cbc("IssueDate", document.issued_on)
    if document.kind is Kind.INVOICE:
        yield _cbc("DueDate", document.due_on)
        yield _cbc("InvoiceTypeCode", INVOICE_TYPE)
    else:
        yield _cbc("CreditNoteTypeCode", CREDIT_NOTE_TYPE)
    yield _cbc("Note", document.note)
    yield _cbc("DocumentCurrencyCode", document.currency)
    yield _cbc("BuyerReference", document.buyer_reference)
    yield _cac("OrderReference", _cbc("ID", document.order_reference))
    yield _corrected(document)


def _corrected(document: InvoiceDocument) -> Node:
    if document.corrects is None:
        return None
    earlier = document.corrects
    reference = _cac("InvoiceDocumentReference", _cbc("ID", earlier.number), _cbc("IssueDate", earlier.issued_on))
    return _cac("BillingReference", reference)


def _party(party: Party) -> Node:
    return _cac(
        "Party",
        _cbc("EndpointID", party.email, schemeID=EMAIL_ADDRESS),
        _address("PostalAddress", party.address),
        _tax_scheme("VAT", party.vat_number),
        _tax_scheme("TAX", party.tax_number),
        _cac(
            "PartyLegalEntity",
            _cbc("RegistrationName", party.name),
            _cbc("CompanyID", party.registration_number),
        ),
        _cac(
            "Contact",
            _cbc("Name", party.contact),
            _cbc("Telephone", party.phone),
            _cbc("ElectronicMail", party.email),
        ),
    )


def _tax_scheme(scheme: str, number: str) -> Node:
    company = _cbc("CompanyID", number)
    return None if company is None else _cac("PartyTaxScheme", company, _cac("TaxScheme", _cbc("ID", scheme)))


def _address(name: str, address: Address) -> Node:
    return _cac(
        name,
        _cbc("StreetName", address.street),
        _cbc("AdditionalStreetName", address.extra),
        _cbc("CityName", address.town),
        _cbc("PostalZone", address.postcode),
        _cbc("CountrySubentity", address.region),
        _cac("Country", _cbc("IdentificationCode", address.country)),
    )


def _delivery(document: InvoiceDocument) -> Node:
    place = _address("Address", document.supplied_at) if document.supplied_at else None
    return _cac("Delivery", _cbc("ActualDeliveryDate", document.supplied_on), _cac("DeliveryLocation", place))


def _payment_means(document: InvoiceDocument) -> Node:
    account, reference = document.account, _cbc("PaymentID", document.payment_reference)
    if account is None:
        return None if reference is None else _cac("PaymentMeans", _cbc("PaymentMeansCode", NOT_DEFINED), reference)
    branch = _cac("FinancialInstitutionBranch", _cbc("ID", account.bic))
    payee = _cac("PayeeFinancialAccount", _cbc("ID", account.number), _cbc("Name", account.holder), branch)
    return _cac("PaymentMeans", _cbc("PaymentMeansCode", CREDIT_TRANSFER), reference, payee)


def _adjustment(adjustment: Adjustment, currency: str) -> Node:
    return _cac(
        "AllowanceCharge",
        _cbc("ChargeIndicator", "true" if adjustment.is_charge else "false"),
        _cbc("AllowanceChargeReason", adjustment.text),
        _money("Amount", adjustment.amount, currency),
        *(_tax_category("TaxCategory", rate) for rate in adjustment.taxes),
    )


def _tax_category(name: str, rate: TaxRate, *, with_reason: bool = False) -> Node:
    # Category O carries no percentage (BR-O-05 to BR-O-07).
    percent = None if rate.category == "O" else _cbc("Percent", _number(rate.percent))
    reason = _cbc("TaxExemptionReason", rate.exemption_reason) if with_reason else None
    return _cac(name, _cbc("ID", rate.category), percent, reason, _cac("TaxScheme", _cbc("ID", "VAT")))


def _tax_total(totals: InvoiceTotals, currency: str) -> Node:
    rows = (_subtotal(row, currency) for row in totals.breakdown)
    return _cac("TaxTotal", _money("TaxAmount", totals.tax, currency), *rows)


def _subtotal(row: TaxSubtotal, currency: str) -> Node:
    return _cac(
        "TaxSubtotal",
        _money("TaxableAmount", row.taxable, currency),
        _money("TaxAmount", row.tax, currency),
        _tax_category("TaxCategory", row.rate, with_reason=True),
    )


def _monetary_total(document: InvoiceDocument) -> Node:
    totals = document.totals
    has_charges = any(each.is_charge for each in document.adjustments)
    has_allowances = any(not each.is_charge for each in document.adjustments)
    stated = (
        ("LineExtensionAmount", totals.lines, True),
        ("TaxExclusiveAmount", totals.net, True),
        ("TaxInclusiveAmount", totals.gross, True),
        ("AllowanceTotalAmount", totals.allowances, has_allowances),
        ("ChargeTotalAmount", totals.charges, has_charges),
        ("PrepaidAmount", totals.prepaid, bool(totals.prepaid)),
        ("PayableRoundingAmount", totals.rounding, bool(totals.rounding)),
        ("PayableAmount", totals.due, True),
    )
    shown = (_money(name, amount, document.currency) for name, amount, is_shown in stated if is_shown)
    return _cac("LegalMonetaryTotal", *shown)


def _line(number: int, line: InvoiceLine, document: InvoiceDocument) -> Node:
    is_invoice, currency = document.kind is Kind.INVOICE, document.currency
    # A price is never negative (BR-27): a discount line is minus one of its price.
    sign = -1 if line.unit_price < 0 else 1
    quantity = _number(sign * line.quantity)
    return _cac(
        "InvoiceLine" if is_invoice else "CreditNoteLine",
        _cbc("ID", number),
        _cbc("InvoicedQuantity" if is_invoice else "CreditedQuantity", quantity, unitCode=line.unit),
        _money("LineExtensionAmount", line.net, currency),
        *(_adjustment(replace(each, taxes=()), currency) for each in line.adjustments),
        _item(line),
        _price(sign * line.unit_price, line, currency),
    )


def _item(line: InvoiceLine) -> Node:
    return _cac(
        "Item",
        _cbc("Description", line.detail),
        _cbc("Name", line.text),
        _cac("SellersItemIdentification", _cbc("ID", line.code)),
        *(_tax_category("ClassifiedTaxCategory", rate) for rate in line.taxes),
    )


def _price(unit_price: Decimal, line: InvoiceLine, currency: str) -> Node:
    base = None if line.price_base_quantity == 1 else line.price_base_quantity
    return _cac(
        "Price",
        _cbc("PriceAmount", f"{unit_price:f}", currencyID=currency),
        _cbc("BaseQuantity", _number(base), unitCode=line.unit) if base else None,
    )
