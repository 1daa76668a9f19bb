"""Standing, ageing and statement of what is open."""

from datetime import date, timedelta
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from billing.rules.ageing import Bucket, age, age_by_client, bucket
from billing.rules.standing import standing
from billing.rules.statement import Movement, statement
from tests.billing.ledger_cast import an_open

D = Decimal
DUE = date(2027, 2, 14)


def test_an_unpaid_invoice_becomes_overdue_the_day_after_it_is_due():
    on_the_day = standing(D("120.00"), [], DUE, DUE)
    assert (on_the_day.open, on_the_day.is_overdue, on_the_day.days_overdue) == (D("120.00"), False, 0)
    assert standing(D("120.00"), [], DUE, DUE + timedelta(days=1)).days_overdue == 1
    assert standing(D("120.00"), [], DUE, DUE + timedelta(days=1)).is_overdue


def test_a_part_payment_leaves_the_rest_open_and_overdue():
    state = standing(D("120.00"), [D("50.00"), D("20.00")], DUE, DUE + timedelta(days=9))
    assert (state.open, state.is_part_paid, state.is_settled, state.is_overdue) == (D("50.00"), True, False, True)


def test_a_settled_invoice_is_neither_overdue_nor_part_paid():
    state = standing(D("120.00"), [D("120.00")], DUE, DUE + timedelta(days=400))
    assert (state.is_settled, state.is_part_paid, state.is_overdue, state.days_overdue) == (True, False, False, 0)
    assert standing(D("120.00"), [D("130.00")], DUE, DUE).open == 0


def test_ageing_keeps_currencies_and_clients_apart():
    invoices = [
        an_open("1", "10.00", DUE),
        an_open("2", "20.00", DUE - timedelta(days=31), client="Bay View"),
        an_open("3", "40.00", DUE - timedelta(days=91), currency="USD"),
    ]
    by_currency = age(invoices, DUE)
    assert by_currency["EUR"].amounts[Bucket.NOT_DUE] == D("10.00")
    assert (by_currency["EUR"].overdue, by_currency["EUR"].total) == (D("20.00"), D("30.00"))
    assert by_currency["USD"].amounts[Bucket.OVER_90] == D("40.00")
    by_client = age_by_client(invoices, DUE)
    assert list(by_client) == ["Bay View", "Harbour Homes"]
    assert by_client["Bay View"]["EUR"].amounts[Bucket.DAYS_31_60] == D("20.00")


opens = st.lists(
    st.tuples(st.decimals(D("0.01"), D("9999.99"), places=2), st.dates(date(2025, 1, 1), date(2029, 12, 31))),
    max_size=12,
).map(lambda rows: [an_open(f"INV-{at}", str(left), due) for at, (left, due) in enumerate(rows)])


@given(opens, st.dates(date(2025, 1, 1), date(2029, 12, 31)))
def test_buckets_share_out_all_that_is_open(invoices, as_of):
    total = sum((invoice.open for invoice in invoices), D(0))
    ages = age(invoices, as_of).values()
    assert sum((each.total for each in ages), D(0)) == total
    late = sum((invoice.open for invoice in invoices if invoice.due_on < as_of), D(0))
    assert sum((each.overdue for each in ages), D(0)) == late


@given(st.dates(date(2025, 1, 1), date(2029, 12, 31)), st.integers(-400, 400), st.integers(0, 400))
def test_an_invoice_never_grows_younger(due_on, days, later):
    order = list(Bucket)
    as_of = due_on + timedelta(days=days)
    assert order.index(bucket(due_on, as_of)) <= order.index(bucket(due_on, as_of + timedelta(days=later)))


BILLED = Movement(date(2027, 1, 31), "Invoice", "INV-1", D("120.00"))
PAID = Movement(date(2027, 2, 10), "Payment", "INV-1", D("-100.00"))
LATER = Movement(date(2027, 3, 5), "Invoice", "INV-2", D("60.00"))


def test_a_statement_runs_from_opening_to_closing_balance():
    page = statement([LATER, PAID, BILLED], date(2027, 2, 1), date(2027, 2, 28))
    assert (page.opening, page.closing) == (D("120.00"), D("20.00"))
    assert [(line.movement, line.balance) for line in page.lines] == [(PAID, D("20.00"))]


def test_the_first_and_the_last_day_belong_to_a_statement():
    page = statement([BILLED, PAID, LATER], BILLED.on, LATER.on)
    assert (page.opening, len(page.lines), page.closing) == (D(0), 3, D("80.00"))


movements = st.lists(
    st.builds(
        Movement,
        st.dates(date(2027, 1, 1), date(2027, 12, 31)),
        st.just("x"),
        st.just("n"),
        st.decimals(D("-999.99"), D("999.99"), places=2),
    ),
    max_size=12,
)


@given(movements, st.dates(date(2027, 1, 1), date(2027, 12, 30)))
def test_one_statement_opens_where_the_one_before_closed(movements, cut):
    first = statement(movements, date(2027, 1, 1), cut)
    second = statement(movements, cut + timedelta(days=1), date(2027, 12, 31))
    assert first.closing == second.opening
    assert second.closing == sum((movement.amount for movement in movements), D(0))
