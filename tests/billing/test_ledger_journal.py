"""The journal: what each event posts, and that it always balances."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from billing.rules.allocation import allocate_oldest_first
from billing.rules.document import credit_note
from billing.rules.journal import (
    Account,
    Entry,
    Posting,
    Unbalanced,
    balances,
    credit_used_entry,
    document_entry,
    entry,
    late_charge_entry,
    open_by_invoice,
    overpaid_entry,
    payment_entry,
    refund_entry,
    reversed_entry,
    written_off_entry,
)
from billing.rules.late_charge import LateCharge
from billing.rules.tax import TaxRounding, invoice_totals
from tests.billing.ledger_cast import (
    ALLOWANCE,
    CHARGE,
    CITY_TAX,
    EXEMPT,
    SALES_TAX,
    VAT_5,
    VAT_20,
    a_line,
    a_us_invoice,
    an_invoice,
    an_open,
)

D = Decimal
DAY = date(2027, 3, 1)
CLIENT = "Harbour Homes"


def posted(entry):
    return {(posting.account, posting.detail): posting.amount for posting in entry.postings}


def test_an_invoice_debits_the_client_and_credits_income_and_each_tax():
    assert posted(document_entry(a_us_invoice())) == {
        (Account.INCOME, "package"): D("-240.00"),
        (Account.TAX_OWED, "Sales tax 7.25 %"): D("-17.40"),
        (Account.TAX_OWED, "City tax 1.5 %"): D("-3.60"),
        (Account.RECEIVABLE, "Bluebonnet Realty"): D("261.00"),
    }


def test_prepayment_adjustments_and_rounding_are_posted_apart():
    invoice = an_invoice(a_line("99.98"), adjustments=(CHARGE, ALLOWANCE), prepaid="20.00", payable_step=D(1))
    assert posted(document_entry(invoice)) == {
        (Account.INCOME, "package"): D("-99.98"),
        (Account.INCOME, "adjustments"): D("-5.00"),
        (Account.TAX_OWED, "VAT 20 %"): D("-21.00"),  # 20 % of 104.98 is 20.996
        (Account.ROUNDING, ""): D("-0.02"),  # 105.98 is due, 106 is asked
        (Account.CLIENT_CREDIT, CLIENT): D("20.00"),
        (Account.RECEIVABLE, CLIENT): D("106.00"),
    }


def test_a_whole_credit_note_undoes_its_invoice_and_touches_its_number():
    invoice = an_invoice(a_line("99.98"), payable_step=D(1))
    note = credit_note(invoice, number="CN-1", issued_on=DAY)
    entries = [document_entry(invoice), document_entry(note)]
    assert not any(balances(entries).values())
    assert open_by_invoice(entries) == {invoice.number: 0}


def test_an_invoice_of_nothing_posts_nothing():
    assert document_entry(an_invoice(a_line("0.00"))).postings == ()


def test_a_payment_goes_to_invoices_and_the_rest_to_credit():
    spread = allocate_oldest_first(D("150.00"), "EUR", [an_open("INV-1", "100.00")])
    assert posted(payment_entry(DAY, CLIENT, "EUR", spread)) == {
        (Account.RECEIVABLE, CLIENT): D("-100.00"),
        (Account.CLIENT_CREDIT, CLIENT): D("-50.00"),
        (Account.BANK, ""): D("150.00"),
    }


def test_credit_is_used_only_as_far_as_invoices_take_it():
    spread = allocate_oldest_first(D("150.00"), "EUR", [an_open("INV-1", "100.00")])
    assert posted(credit_used_entry(DAY, CLIENT, "EUR", spread)) == {
        (Account.RECEIVABLE, CLIENT): D("-100.00"),
        (Account.CLIENT_CREDIT, CLIENT): D("100.00"),
    }


def test_the_smaller_events():
    amount = D("30.00")
    late = LateCharge(10, D("5.00"), D("25.00"))
    expected = {
        refund_entry(DAY, CLIENT, "EUR", amount): (Account.CLIENT_CREDIT, Account.BANK),
        written_off_entry(DAY, CLIENT, "EUR", "INV-1", amount): (Account.BAD_DEBTS, Account.RECEIVABLE),
        late_charge_entry(DAY, CLIENT, "EUR", "INV-1", late): (Account.RECEIVABLE, Account.LATE_CHARGES),
        overpaid_entry(DAY, CLIENT, "EUR", "INV-1", amount): (Account.RECEIVABLE, Account.CLIENT_CREDIT),
    }
    for event, (debit, credit) in expected.items():
        assert {posting.account: posting.amount for posting in event.postings} == {debit: amount, credit: -amount}


def test_a_reversal_leaves_nothing_behind():
    original = document_entry(an_invoice())
    entries = [original, reversed_entry(original, DAY, "Invoice INV-2027-0001 made void")]
    assert not any(balances(entries).values())


def test_an_entry_that_does_not_balance_cannot_be_made():
    legs = (Posting(Account.BANK, D("1.00")), Posting(Account.INCOME, D("-0.99")))
    with pytest.raises(Unbalanced, match=r"differ by 0\.01 EUR"):
        Entry(DAY, "Sale", CLIENT, "EUR", legs)


def test_legs_of_one_place_become_one():
    legs = [Posting(Account.INCOME, D("-1.00"), "area"), Posting(Account.INCOME, D("-2.00"), "area")]
    made = entry(DAY, "Sale", CLIENT, "EUR", legs, Posting(Account.BANK, D(0)))
    assert posted(made) == {(Account.INCOME, "area"): D("-3.00"), (Account.BANK, ""): D("3.00")}


nets = st.decimals(D("-300.00"), D("3000.00"), places=2)
rates = st.sampled_from([(VAT_20,), (VAT_5,), (EXEMPT,), (SALES_TAX, CITY_TAX), ()])
lines = st.lists(
    st.builds(
        lambda net, taxes, code: replace(a_line(str(net), code=code), taxes=taxes),
        nets, rates, st.sampled_from(["package", "area", "volume"]),
    ),
    min_size=1, max_size=6,
)  # fmt: skip


@st.composite
def histories(draw):
    """Invoices issued, some credited, then payments of any size spread over what is open."""
    invoices = []
    for at in range(draw(st.integers(1, 4))):
        rows = tuple(draw(lines))
        totals = invoice_totals(
            rows, "EUR", prepaid=draw(st.decimals(D(0), D(99), places=2)),
            payable_step=draw(st.sampled_from([None, D(1)])), tax_rounding=draw(st.sampled_from(TaxRounding)),
        )  # fmt: skip
        invoices.append(replace(an_invoice(), number=f"INV-{at}", lines=rows, totals=totals))
    notes = [
        credit_note(invoice, number=f"CN-{invoice.number}", issued_on=DAY)
        for invoice in invoices
        if draw(st.booleans())
    ]
    return [*invoices, *notes], draw(st.lists(st.decimals(D("0.01"), D("4000.00"), places=2), max_size=4))


@given(histories())
def test_debits_and_credits_are_always_equal(history):
    documents, payments = history
    entries = [document_entry(document) for document in documents]
    for payment in payments:
        invoices = [an_open(number, str(left)) for number, left in open_by_invoice(entries).items() if left > 0]
        entries.append(payment_entry(DAY, CLIENT, "EUR", allocate_oldest_first(payment, "EUR", invoices)))
    assert all(sum(posting.amount for posting in each.postings) == 0 for each in entries)
    totals = balances(entries)
    assert sum(totals.values()) == 0
    assert totals.get((Account.BANK, "", "EUR"), D(0)) == sum(payments, D(0))
    receivable = sum(amount for (account, _, _), amount in totals.items() if account is Account.RECEIVABLE)
    assert receivable == sum(open_by_invoice(entries).values())


@given(histories())
def test_a_payment_never_drives_an_invoice_below_nothing(history):
    documents, payments = history
    entries = [document_entry(document) for document in documents if document.corrects is None]
    before = open_by_invoice(entries)
    for payment in payments:
        invoices = [an_open(number, str(left)) for number, left in open_by_invoice(entries).items() if left > 0]
        entries.append(payment_entry(DAY, CLIENT, "EUR", allocate_oldest_first(payment, "EUR", invoices)))
    assert all(left >= min(before[number], D(0)) for number, left in open_by_invoice(entries).items())
