"""Reading a bank's CSV and finding the invoices its rows pay."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from billing.rules.bank_csv import BankLayout, BankRow, bank_rows, parsed_amount
from billing.rules.matching import SURE, Evidence, suggest, suggest_all
from billing.rules.references import payment_reference, printed_reference
from office.rules.reading import BadInput
from tests.billing.ledger_cast import an_open

D = Decimal
PLAIN = BankLayout(on="Date", amount="Amount", text=("Details",), payer="Name")
GERMAN = BankLayout(
    on="Buchungstag", amount="Betrag", text=("Zweck", "Info"), date_format="%d.%m.%Y", decimal_mark=",", delimiter=";"
)
TWO_COLUMNS = BankLayout(on="Date", amount="In", amount_out="Out", text=("Details",))


def a_row(text="", amount="100.00", payer="", on=date(2027, 2, 10), line=2) -> BankRow:
    return BankRow(line, on, D(amount), text, payer, f"{line}")


def numbered(at, left="100.00", **changes):
    number = f"INV-2027-{at:04}"
    return an_open(number, left, reference=payment_reference(number), **changes)


def test_rows_below_the_banks_own_heading_are_read():
    text = "Account;123\n\nBuchungstag;Zweck;Info;Betrag\n31.01.2027;RE 7;danke;1.234,50\n01.02.2027;Miete;;-800,00\n"
    first, second = bank_rows(text, GERMAN, "bank.csv")
    assert (first.line, first.on, first.amount, first.text) == (4, date(2027, 1, 31), D("1234.50"), "RE 7 danke")
    assert (second.amount, second.text) == (D("-800.00"), "Miete")


def test_money_out_may_have_a_column_of_its_own():
    text = "Date,In,Out,Details\n2027-02-01,50.00,,a\n2027-02-01,,20.00,b\n2027-02-01,0.00,-7.00,c\n"
    assert [row.amount for row in bank_rows(text, TWO_COLUMNS, "x")] == [D("50.00"), D("-20.00"), D("-7.00")]


def test_the_same_row_twice_is_two_payments_and_a_second_reading_knows_both():
    text = "Date,Name,Amount,Details\n2027-02-01,A,5.00,x\n2027-02-01,A,5.00,x\n"
    once, again = bank_rows(text, PLAIN, "x"), bank_rows(text, PLAIN, "y")
    assert len({row.fingerprint for row in once}) == 2
    assert [row.fingerprint for row in once] == [row.fingerprint for row in again]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "header"),
        ("Date,Amount\n2027-02-01,5\n", "header: expected the columns Date, Amount, Details, Name"),
        ("Date,Name,Amount,Details\n01/02/2027,A,5,x\n", "line 2, Date"),
        ("Date,Name,Amount,Details\n2027-02-01,A,five,x\n", "line 2, Amount"),
        ("Date,Name,Amount,Details\n2027-02-01,A,,x\n", "line 2, Amount"),
        ("Date,Name,Amount,Details\n2027-02-01,A\n", "line 2: expected 4 values, found 2"),
        (f"Date,Name,Amount,Details\n2027-02-01,A,5,{'x' * 200_000}\n", "expected CSV"),
    ],
)
def test_a_file_that_cannot_be_read_is_refused_with_its_line(text, words):
    with pytest.raises(BadInput, match=words) as refusal:
        bank_rows(text, PLAIN, "bank.csv")
    assert str(refusal.value).startswith("bank.csv: ")
    assert "\n" not in str(refusal.value)


@pytest.mark.parametrize(
    ("text", "mark", "amount"),
    [
        ("1234.5", ".", "1234.5"),
        ("1,234.50", ".", "1234.50"),
        ("1.234.567,89", ",", "1234567.89"),
        ("1 234,50", ",", "1234.50"),
        ("1'234.50", ".", "1234.50"),
        ("-12,00", ",", "-12.00"),
        ("\u221212.00", ".", "-12.00"),
        ("12.00-", ".", "-12.00"),
        ("(12.00)", ".", "-12.00"),
        ("+3", ".", "3"),
    ],
)
def test_amounts_as_banks_write_them(text, mark, amount):
    assert parsed_amount(text, mark) == D(amount)


@pytest.mark.parametrize(
    ("text", "mark"),
    [("1,5", "."), ("1.5", ","), ("12,34,567", "."), ("", "."), ("-", "."), ("1e5", "."), ("NaN", "."), ("(1", "."),
     ("1)", "."), ("--1", "."), ("-1-", "."), ("1.2.3", "."), ("٣", "."), ("9" * 19, "."), (".5", "."), ("$5", ".")],
)  # fmt: skip
def test_amounts_that_could_be_misread_are_refused(text, mark):
    with pytest.raises(ValueError, match="expected"):
        parsed_amount(text, mark)


@given(st.decimals(D("-9999999.99"), D("9999999.99"), places=2), st.sampled_from([".", ","]))
def test_an_amount_written_with_either_mark_reads_back(amount, mark):
    text = f"{amount:,.2f}"
    assert parsed_amount(text if mark == "." else text.translate(str.maketrans(",.", ".,")), mark) == amount


def test_reference_and_amount_together_are_sure():
    invoices = [numbered(1), numbered(2)]
    row = a_row(f"SEPA {printed_reference(invoices[1].reference)} thank you")
    best, other = suggest(row, invoices, "EUR")
    assert (best.invoices, best.evidence, best.is_sure) == (
        ("INV-2027-0002",), (Evidence.REFERENCE, Evidence.AMOUNT), True,
    )  # fmt: skip
    assert (other.invoices, other.is_sure) == (("INV-2027-0001",), False)


@pytest.mark.parametrize("text", ["INV-2027-0001", "invoice inv 2027/0001.", "pay:INV20270001", "Ré INV_2027_0001"])
def test_a_number_is_found_however_it_is_punctuated(text):
    best = suggest(a_row(text), [numbered(1)], "EUR")[0]
    assert (best.evidence, best.is_sure) == ((Evidence.NUMBER, Evidence.AMOUNT), True)


@pytest.mark.parametrize("text", ["INV-2027-00010", "XINV-2027-0001", "INV-20270-001"])
def test_a_longer_number_is_another_number(text):
    assert Evidence.NUMBER not in suggest(a_row(text), [numbered(1)], "EUR")[0].evidence


def test_the_exact_amount_alone_is_never_sure():
    (only,) = suggest(a_row("thanks"), [numbered(1)], "EUR")
    assert (only.evidence, only.is_sure) == ((Evidence.AMOUNT,), False)


def test_amount_client_and_running_number_are_still_for_a_person():
    best = suggest(a_row("invoice 1", payer="HARBOUR HOMES LTD"), [numbered(1)], "EUR")[0]
    assert best.evidence == (Evidence.RUNNING_NUMBER, Evidence.PAYER, Evidence.AMOUNT)
    assert not best.is_sure


def test_a_part_payment_is_suggested_and_an_overpayment_leaves_credit():
    (part,) = suggest(a_row("INV-2027-0001", "40.00"), [numbered(1)], "EUR")
    assert (part.allocated.allocations[0].amount, part.allocated.credit, part.is_sure) == (D("40.00"), 0, False)
    (over,) = suggest(a_row("INV-2027-0001", "140.00"), [numbered(1)], "EUR")
    assert over.allocated.credit == D("40.00")


def test_one_transfer_for_two_named_invoices_is_sure():
    invoices = [numbered(1, "100.00"), numbered(2, "60.00"), numbered(3, "160.00")]
    best = suggest(a_row("INV-2027-0001 + INV-2027-0002", "160.00"), invoices, "EUR")[0]
    assert (best.invoices, best.is_sure) == (("INV-2027-0001", "INV-2027-0002"), True)


def test_invoices_of_the_paying_client_that_add_up_are_suggested():
    invoices = [numbered(1, "100.00"), numbered(2, "60.00"), numbered(3, "25.00", client="Bay View")]
    best = suggest(a_row("monthly", "160.00", "Harbour Homes"), invoices, "EUR")[0]
    assert (best.invoices, best.is_sure) == (("INV-2027-0001", "INV-2027-0002"), False)


def test_two_equally_good_answers_are_both_left_to_a_person():
    row = a_row("INV-2027-0001 or INV-2027-0002")
    found = suggest(row, [numbered(1), numbered(2)], "EUR")
    assert [each.score >= SURE for each in found] == [True, True]
    assert not any(each.is_sure for each in found)


def test_money_that_came_before_the_invoice_counts_against_it():
    early = a_row("INV-2027-0001", on=date(2027, 1, 5))
    (found,) = suggest(early, [numbered(1)], "EUR")
    assert Evidence.BEFORE_ISSUE in found.evidence
    assert not found.is_sure


def test_money_out_and_other_currencies_match_nothing():
    assert suggest(a_row("INV-2027-0001", "-100.00"), [numbered(1)], "EUR") == ()
    assert suggest(a_row("INV-2027-0001"), [numbered(1)], "USD") == ()


def test_an_invoice_paid_by_a_sure_row_is_gone_for_the_next():
    rows = [a_row("INV-2027-0001", line=3, on=date(2027, 2, 11)), a_row("INV-2027-0001", line=2)]
    first, second = suggest_all(rows, [numbered(1)], "EUR")
    assert (first.row.line, first.suggestions[0].is_sure) == (2, True)
    assert second.suggestions == ()


texts = st.text("INV-2027 0123/.RF", max_size=30)


@given(st.lists(st.tuples(texts, st.decimals(D("0.01"), D("300.00"), places=2)), max_size=6))
def test_sure_rows_together_never_pay_more_than_is_open(rows):
    invoices = [numbered(1, "100.00"), numbered(2, "60.00"), numbered(23, "100.00")]
    answers = suggest_all(
        [a_row(text, str(amount), line=at) for at, (text, amount) in enumerate(rows)], invoices, "EUR"
    )
    paid = {}
    for answer in answers:
        for suggestion in answer.suggestions:
            spread = suggestion.allocated
            assert sum(part.amount for part in spread.allocations) + spread.credit == answer.row.amount
            assert 0 <= suggestion.score <= 100
        for part in (
            answer.suggestions[0].allocated.allocations
            if answer.suggestions[:1] and answer.suggestions[0].is_sure
            else ()
        ):
            paid[part.number] = paid.get(part.number, D(0)) + part.amount
    assert all(paid.get(invoice.number, D(0)) <= invoice.open for invoice in invoices)
