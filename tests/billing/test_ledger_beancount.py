"""The plain-text ledger, read back by a reader of its own that knows the published grammar."""

import re
from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from billing.paper.beancount import account_name, ledger
from billing.rules.allocation import allocate_oldest_first
from billing.rules.journal import Account, balances, document_entry, payment_entry
from tests.billing.ledger_cast import SALES_TAX, a_line, a_us_invoice, an_invoice, an_open

D = Decimal

# Beancount Language Syntax (beancount.github.io/docs): accounts, currencies, links, strings, numbers
ACCOUNT = r"(?:Assets|Liabilities|Equity|Income|Expenses)(?::[A-Z0-9][A-Za-z0-9-]*)+"
CURRENCY = r"[A-Z][A-Z0-9'._-]{0,22}[A-Z0-9]"
STRING = r'"(?:[^"\\]|\\["\\])*"'
NUMBER = r"-?\d+(?:\.\d+)?"
DATE = r"\d{4}-\d\d-\d\d"
OPTION = re.compile(rf"option {STRING} {STRING}")
OPEN = re.compile(rf"({DATE}) open ({ACCOUNT})")
BALANCE = re.compile(rf"({DATE}) balance ({ACCOUNT}) +({NUMBER}) ({CURRENCY})")
HEAD = re.compile(rf"({DATE}) \* {STRING} {STRING}(?: \^[A-Za-z0-9_/.-]+)*")
POSTING = re.compile(rf"  ({ACCOUNT}) +({NUMBER}) ({CURRENCY})")


def read(text):
    """Every line must be one of the grammar's; transactions balance, accounts are open, assertions hold."""
    opened, totals, transactions, asserted = {}, {}, [], 0
    for line in text.splitlines():
        if not line or OPTION.fullmatch(line):
            continue
        if found := OPEN.fullmatch(line):
            opened[found[2]] = found[1]
        elif found := HEAD.fullmatch(line):
            transactions.append((found[1], []))
        elif found := POSTING.fullmatch(line):
            assert opened[found[1]] <= transactions[-1][0]
            transactions[-1][1].append(D(found[2]))
            totals[found[1], found[3]] = totals.get((found[1], found[3]), D(0)) + D(found[2])
        elif found := BALANCE.fullmatch(line):
            assert totals[found[2], found[4]] == D(found[3])
            assert found[1] > transactions[-1][0]
            asserted += 1
        else:
            pytest.fail(f"not of the grammar: {line!r}")
    assert all(sum(amounts) == 0 for _, amounts in transactions)
    assert asserted == len(totals)
    return totals, transactions


def test_a_small_ledger_reads_back():
    invoice = document_entry(a_us_invoice())
    paid = payment_entry(
        date(2027, 2, 20), "Bluebonnet Realty", "USD",
        allocate_oldest_first(D("300.00"), "USD", [an_open("INV-2027-0001", "261.00", currency="USD")]),
    )  # fmt: skip
    totals, transactions = read(ledger([paid, invoice], title="Prairie Scans"))
    assert totals == {
        ("Assets:Bank", "USD"): D("300.00"),
        ("Assets:Receivable", "USD"): D("0.00"),
        ("Liabilities:Client-credit", "USD"): D("-39.00"),
        ("Liabilities:Tax:Sales-tax-7-25", "USD"): D("-17.40"),
        ("Liabilities:Tax:City-tax-1-5", "USD"): D("-3.60"),
        ("Income:Services:Package", "USD"): D("-240.00"),
    }
    assert [day for day, _ in transactions] == ["2027-01-31", "2027-02-20"]


def test_each_entry_links_to_its_documents():
    assert " ^INV-2027-0001\n" in ledger([document_entry(an_invoice())], title="x")
    odd = document_entry(an_invoice(number="INV 2027#7"))
    assert " ^INV-2027-7\n" in ledger([odd], title="x")


@pytest.mark.parametrize(
    ("detail", "name"),
    [
        ("Sales tax 7.25 %", "Liabilities:Tax:Sales-tax-7-25"),
        ("mwst 19 %", "Liabilities:Tax:Mwst-19"),
        ("Übung", "Liabilities:Tax:Ubung"),
        ("消費税", "Liabilities:Tax:Other"),
        ("--", "Liabilities:Tax:Other"),
        ("", "Liabilities:Tax"),
    ],
)
def test_account_names_keep_to_the_grammar(detail, name):
    assert account_name(Account.TAX_OWED, detail) == name
    assert re.fullmatch(ACCOUNT, name)


def test_quotes_and_line_breaks_stay_inside_their_string():
    invoice = an_invoice()
    entry = replace(document_entry(invoice), client='The "Old\\Mill"\n2027-01-01 open Assets:Bank', text="a\tb")
    read(ledger([entry], title='Say "hi"\\'))


def test_an_empty_journal_is_a_valid_ledger():
    assert read(ledger([], title="Nothing yet")) == ({}, [])


entries = st.lists(
    st.builds(
        lambda net, day, client, currency: document_entry(
            a_us_invoice(
                a_line(str(net), SALES_TAX, currency=currency), currency=currency, issued_on=day,
                buyer=replace(a_us_invoice().buyer, name=client), number=f"N{client}",
            )
        ),
        st.decimals(D("-99.00"), D("999.99"), places=2), st.dates(date(2026, 1, 1), date(2028, 12, 31)),
        st.text(max_size=20), st.sampled_from(["USD", "EUR"]),
    ),
    max_size=6,
)  # fmt: skip


@given(entries, st.text(max_size=20))
def test_any_journal_reads_back_to_the_same_balances(entries, title):
    totals, transactions = read(ledger(entries, title=title))
    assert len(transactions) == len(entries)
    assert sum(totals.values()) == 0
    owed = sum((amount for (name, _), amount in totals.items() if name == "Assets:Receivable"), D(0))
    assert owed == sum(amount for (account, _, _), amount in balances(entries).items() if account is Account.RECEIVABLE)
