"""Tax rates, totals and the document: what is refused, and what always adds up."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from billing.rules.document import Kind, credit_note, invoice_line
from billing.rules.tax import BadTax, Inconsistent, TaxRate, TaxRounding, invoice_totals, line_net
from tests.billing.ledger_cast import ALLOWANCE, CHARGE, CITY_TAX, SALES_TAX, VAT_5, VAT_20, a_line, an_invoice

D = Decimal


@pytest.mark.parametrize(
    ("percent", "category", "reason"),
    [
        ("0", "S", ""),
        ("20", "Z", ""),
        ("5", "E", "Exempt"),
        ("0", "E", " "),
        ("20", "S", "because"),
        ("20", "B", ""),
        ("-1", "S", ""),
        ("-1", None, ""),
        ("NaN", None, ""),
        ("Infinity", "S", ""),
    ],
)
def test_a_rate_that_its_category_does_not_allow_is_refused(percent, category, reason):
    with pytest.raises(BadTax):
        TaxRate("Tax", D(percent), category, reason)


def test_a_rate_says_its_name_and_percent():
    assert TaxRate("Sales tax", D("10.00"), None).label == "Sales tax 10 %"
    assert SALES_TAX.label == "Sales tax 7.25 %"


def test_one_percent_written_two_ways_is_one_rate():
    twice = [a_line("10.00", TaxRate("VAT", D("20.0"), "S")), a_line("10.00", VAT_20)]
    (row,) = invoice_totals(twice, "EUR").breakdown
    assert (row.taxable, row.tax) == (D("20.00"), D("4.00"))


def test_two_taxes_on_one_line_each_see_the_whole_base():
    totals = invoice_totals([a_line("240.00", SALES_TAX, CITY_TAX)], "USD")
    assert [(row.taxable, row.tax) for row in totals.breakdown] == [(D("240.00"), D("17.40")), (D("240.00"), D("3.60"))]
    assert (totals.net, totals.tax, totals.gross) == (D("240.00"), D("21.00"), D("261.00"))


def test_a_currency_without_cents_rounds_to_whole_units():
    totals = invoice_totals([a_line("1005", TaxRate("Tax", D(10), "S"), currency="JPY")], "JPY")
    assert (totals.tax, totals.due) == (D(101), D(1106))


def test_what_is_due_can_be_rounded_to_a_coin():
    totals = invoice_totals([a_line("99.98", VAT_5)], "CHF", payable_step=D("0.05"))
    assert (totals.gross, totals.rounding, totals.due) == (D("104.98"), D("0.02"), D("105.00"))


def test_an_amount_finer_than_the_currency_is_refused():
    with pytest.raises(Inconsistent, match="minor unit"):
        invoice_totals([replace(a_line(), net=D("1.005"))], "EUR")


@pytest.mark.parametrize("base", ["0", "-1"])
def test_a_price_for_no_units_is_refused(base):
    with pytest.raises(Inconsistent):
        line_net(D(1), D(1), "EUR", price_base_quantity=D(base))


@pytest.mark.parametrize("name", ["net", "tax", "gross", "due"])
def test_totals_that_do_not_add_up_cannot_be_made(name):
    totals = an_invoice().totals
    with pytest.raises(Inconsistent, match=name):
        replace(totals, **{name: getattr(totals, name) + D("0.01")})


def test_a_document_whose_lines_differ_from_its_totals_cannot_be_made():
    invoice = an_invoice()
    with pytest.raises(Inconsistent, match="lines and adjustments"):
        replace(invoice, lines=(a_line("99.00"),))
    with pytest.raises(Inconsistent, match="lines and adjustments"):
        replace(invoice, adjustments=(CHARGE,))
    with pytest.raises(Inconsistent, match="ISO 4217"):
        replace(invoice, currency="ZZZ")


def test_a_credit_note_takes_back_the_whole_invoice():
    invoice = an_invoice(a_line("200.00"), adjustments=(CHARGE, ALLOWANCE), prepaid="50.00")
    note = credit_note(invoice, number="CN-1", issued_on=date(2027, 3, 1), note="Cancelled")
    assert (note.totals.gross, note.totals.due) == (invoice.totals.gross, invoice.totals.due + D("50.00"))
    assert (note.corrects.number, note.corrects.issued_on) == (invoice.number, invoice.issued_on)
    assert (note.due_on, note.account, note.payment_reference) == (None, None, "")


def test_a_credit_note_can_take_back_a_part():
    invoice = an_invoice(a_line("200.00"), a_line("50.00", VAT_5))
    part = invoice_line("Fewer levels", D(2), D("25.00"), "EUR", taxes=(VAT_20,))
    note = credit_note(invoice, number="CN-1", issued_on=date(2027, 3, 1), lines=[part])
    assert (note.totals.net, note.totals.tax, note.totals.due) == (D("50.00"), D("10.00"), D("60.00"))


def test_what_cannot_be_a_credit_note_is_refused():
    invoice = an_invoice()
    note = credit_note(invoice, number="CN-1", issued_on=date(2027, 3, 1))
    with pytest.raises(Inconsistent, match="only an invoice"):
        credit_note(note, number="CN-2", issued_on=date(2027, 3, 1))
    with pytest.raises(Inconsistent, match="at least one line"):
        credit_note(invoice, number="CN-2", issued_on=date(2027, 3, 1), lines=[])
    with pytest.raises(Inconsistent, match="names the invoice"):
        replace(invoice, kind=Kind.CREDIT_NOTE)


nets = st.decimals(D("-500.00"), D("5000.00"), places=2)
rate_sets = st.sampled_from([(), (VAT_20,), (VAT_5,), (SALES_TAX,), (SALES_TAX, CITY_TAX)])
lines = st.lists(
    st.builds(lambda net, taxes: replace(a_line(str(net)), taxes=taxes), nets, rate_sets), min_size=1, max_size=8
)


@given(lines, st.sampled_from(TaxRounding), nets, st.sampled_from([None, D("0.05"), D(1)]))
def test_every_total_adds_up_and_is_a_whole_number_of_cents(lines, tax_rounding, prepaid, step):
    totals = invoice_totals(lines, "EUR", prepaid=prepaid, payable_step=step, tax_rounding=tax_rounding)
    assert totals.due == sum(line.net for line in lines) + totals.tax - prepaid + totals.rounding
    assert all(amount == round(amount, 2) for amount in (totals.net, totals.tax, totals.gross, totals.due))
    if step:
        assert totals.due % step == 0
        assert abs(totals.rounding) <= step / 2


@given(lines)
def test_rounding_by_line_never_strays_half_a_cent_a_line_from_rounding_once(lines):
    by_line = invoice_totals(lines, "EUR", tax_rounding=TaxRounding.LINE).breakdown
    once = invoice_totals(lines, "EUR", tax_rounding=TaxRounding.INVOICE).breakdown
    for one, other in zip(by_line, once, strict=True):
        assert abs(one.tax - other.tax) <= D("0.005") * (len(lines) + 1)
