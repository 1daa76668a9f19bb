"""How a payment is spread, against the order that the law sets when nobody says otherwise."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from billing.rules.allocation import (
    NotAllocatable,
    allocate_as_chosen,
    allocate_in_order,
    allocate_oldest_first,
)
from tests.billing.ledger_cast import an_open

D = Decimal
OLD = an_open("INV-1", "100.00", date(2027, 1, 10))
MIDDLE = an_open("INV-2", "250.00", date(2027, 2, 10))
NEW = an_open("INV-3", "80.00", date(2027, 3, 10))


def parts(allocated):
    return {part.number: part.amount for part in allocated.allocations}


def test_the_debt_due_first_is_paid_first():
    # from memory: BGB § 366(2), the debt that is due; among several the older one. Code civil art. 1342-10 the same
    spread = allocate_oldest_first(D("300.00"), "EUR", [NEW, OLD, MIDDLE])
    assert parts(spread) == {"INV-1": D("100.00"), "INV-2": D("200.00")}
    assert spread.credit == 0


def test_what_the_payer_says_comes_before_age():
    # from memory: BGB § 366(1), Code civil art. 1342-10: the debtor names the debt when paying
    chosen = {"INV-3": D("80.00"), "INV-2": D("20.00")}
    spread = allocate_as_chosen(D("100.00"), "EUR", [OLD, MIDDLE, NEW], chosen)
    assert parts(spread) == chosen


def test_an_overpayment_becomes_credit():
    # common practice, no source
    spread = allocate_oldest_first(D("500.00"), "EUR", [OLD, MIDDLE, NEW])
    assert (sum(parts(spread).values()), spread.credit) == (D("430.00"), D("70.00"))
    assert allocate_as_chosen(D("90.00"), "EUR", [OLD], {"INV-1": D("60.00")}).credit == D("30.00")


def test_due_on_one_day_the_one_issued_first_is_older():
    late_issue = an_open("INV-8", "50.00", date(2027, 2, 1), issued_on=date(2027, 1, 20))
    early_issue = an_open("INV-9", "50.00", date(2027, 2, 1), issued_on=date(2027, 1, 2))
    assert parts(allocate_oldest_first(D("50.00"), "EUR", [late_issue, early_issue])) == {"INV-9": D("50.00")}


def test_what_fell_due_first_is_older_than_what_was_issued_first():
    # from memory: BGB § 366(2) looks first at which debt is due
    long_terms = an_open("INV-8", "50.00", date(2027, 3, 1), issued_on=date(2027, 1, 2))
    short_terms = an_open("INV-9", "50.00", date(2027, 2, 1), issued_on=date(2027, 1, 20))
    assert parts(allocate_oldest_first(D("50.00"), "EUR", [long_terms, short_terms])) == {"INV-9": D("50.00")}


def test_without_open_invoices_all_is_credit():
    assert allocate_oldest_first(D("5.00"), "EUR", []).credit == D("5.00")


@pytest.mark.parametrize("payment", ["0", "-1.00", "NaN", "Infinity"])
def test_a_payment_of_nothing_is_refused(payment):
    with pytest.raises(NotAllocatable):
        allocate_oldest_first(D(payment), "EUR", [OLD])


@pytest.mark.parametrize(
    ("chosen", "words"),
    [
        ({"INV-1": D("100.01")}, "only 100.00 open"),
        ({"INV-7": D("1.00")}, "not open"),
        ({"INV-1": D("-1.00")}, "cannot be allocated"),
        ({"INV-1": D("NaN")}, "cannot be allocated"),
        ({"INV-1": D("100.00"), "INV-2": D("100.00")}, "50.00 more is chosen"),
    ],
)
def test_a_choice_that_does_not_fit_is_refused(chosen, words):
    with pytest.raises(NotAllocatable, match=words):
        allocate_as_chosen(D("150.00"), "EUR", [OLD, MIDDLE], chosen)


def test_currencies_are_never_mixed_and_no_invoice_counts_twice():
    with pytest.raises(NotAllocatable, match="in EUR, the payment in USD"):
        allocate_oldest_first(D("10.00"), "USD", [OLD])
    with pytest.raises(NotAllocatable, match="twice"):
        allocate_in_order(D("10.00"), "EUR", [OLD, OLD])
    with pytest.raises(NotAllocatable, match="open"):
        allocate_in_order(D("10.00"), "EUR", [an_open("INV-1", "-5.00")])


cents = st.decimals(D("0.00"), D("5000.00"), places=2)
days = st.dates(date(2026, 1, 1), date(2027, 12, 31))
opens = st.lists(st.tuples(cents, days), max_size=8).map(
    lambda rows: [an_open(f"INV-{at}", str(left), due) for at, (left, due) in enumerate(rows)]
)


@given(cents.filter(bool), opens)
def test_never_more_than_the_payment_nor_than_what_is_open_and_nothing_is_lost(payment, invoices):
    spread = allocate_oldest_first(payment, "EUR", invoices)
    left = {invoice.number: invoice.open for invoice in invoices}
    assert sum(parts(spread).values(), D(0)) + spread.credit == payment
    assert all(D(0) < amount <= left[number] for number, amount in parts(spread).items())
    if spread.credit:
        assert parts(spread) == {number: amount for number, amount in left.items() if amount}


@given(cents.filter(bool), opens)
def test_no_younger_invoice_is_touched_before_an_older_one_is_paid(payment, invoices):
    paid = parts(allocate_oldest_first(payment, "EUR", invoices))
    for older in invoices:
        for younger in invoices:
            if older.due_on < younger.due_on and paid.get(older.number, D(0)) < older.open:
                assert younger.number not in paid
