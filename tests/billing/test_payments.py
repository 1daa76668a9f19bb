"""Payments: noted, spread over invoices, and what is too much kept as credit."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.core import mail
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from billing.actions.payments import note_payment, use_credit
from billing.models import Invoice, InvoiceState, Payment, PaymentMethod
from jobs.models import Client
from office.actions.notices import send_waiting
from office.errors import Refused
from office.models import Event
from tests.cast import NOW

pytestmark = pytest.mark.django_db
TODAY = date(2027, 3, 1)


def make_invoice(client, number, total, due_on, **fields):
    return Invoice.objects.create(
        client=client, number=number, year=2027, running=int(number[-4:]), state=InvoiceState.ISSUED, drawn_up_at=NOW,
        issued_on=TODAY, due_on=due_on, currency="USD", net=total, total=total, buyer={"name": client.name}, **fields,
    )  # fmt: skip


@pytest.fixture
def older(client_of_office):
    return make_invoice(client_of_office, "INV-2027-0002", Decimal(100), date(2027, 3, 10))


@pytest.fixture
def newer(client_of_office):
    return make_invoice(client_of_office, "INV-2027-0001", Decimal(50), date(2027, 3, 20))


def pay(client, amount, by, **more):
    facts = {"received_on": TODAY, "method": PaymentMethod.TRANSFER, "reference": "A 77"}
    return note_payment(client=client, amount=Decimal(amount), by=by, now=NOW, **facts | more)


def standing(*invoices):
    found = Invoice.objects.with_paid().in_bulk([invoice.pk for invoice in invoices])
    return [(found[invoice.pk].state, found[invoice.pk].paid) for invoice in invoices]


def test_the_longest_due_is_paid_first(older, newer, client_of_office, by_owner):
    payment = pay(client_of_office, 120, by_owner)
    assert standing(older, newer) == [("settled", 100), ("issued", 20)]
    assert payment.credit == 0


def test_the_invoices_named_are_paid_instead(older, newer, client_of_office, by_owner):
    payment = pay(client_of_office, 70, by_owner, invoices=[newer])
    assert standing(older, newer) == [("issued", 0), ("settled", 50)]
    assert payment.credit == 20


def test_they_are_paid_in_the_order_named_and_each_once(older, newer, client_of_office, by_owner):
    pay(client_of_office, 60, by_owner, invoices=[newer, older, newer])
    assert standing(older, newer) == [("issued", 10), ("settled", 50)]


def test_part_by_part_until_settled_on_the_last_cent(older, client_of_office, by_owner):
    pay(client_of_office, "33.33", by_owner)
    pay(client_of_office, "66.66", by_owner)
    assert standing(older) == [("issued", Decimal("99.99"))]
    pay(client_of_office, "0.01", by_owner)
    assert standing(older) == [("settled", 100)]


def test_too_much_stays_the_client_s_credit(older, client_of_office, by_owner):
    payment = pay(client_of_office, 130, by_owner)
    payment.refresh_from_db()
    assert (payment.credit, payment.allocations.get().amount) == (30, 100)


def test_another_client_s_invoices_are_left_alone(older, by_owner):
    other = Client.objects.create(name="Iva Sand", email="iva@example.org")
    assert pay(other, 100, by_owner).credit == 100
    assert standing(older) == [("issued", 0)]
    with pytest.raises(Refused) as refusal:
        pay(other, 100, by_owner, invoices=[older])
    assert refusal.value.field == "invoices"
    assert Payment.objects.count() == 1


def test_another_currency_is_left_alone(client_of_office, older, by_owner):
    assert pay(client_of_office, 100, by_owner, currency="EUR").credit == 100
    assert standing(older) == [("issued", 0)]


@pytest.mark.parametrize("amount", ["0", "-5", "10.005"])
def test_an_amount_that_nobody_can_pay_is_refused_beside_its_field(client_of_office, by_owner, amount):
    with pytest.raises(Refused) as refusal:
        pay(client_of_office, amount, by_owner)
    assert refusal.value.field == "amount"


def test_money_is_not_received_tomorrow(client_of_office, by_owner):
    with pytest.raises(Refused) as refusal:
        pay(client_of_office, 1, by_owner, received_on=TODAY + timedelta(days=1))
    assert refusal.value.field == "received_on"


def test_a_settled_or_draft_invoice_cannot_be_chosen(older, client_of_office, by_owner):
    pay(client_of_office, 100, by_owner)
    with pytest.raises(Refused, match="not open"):
        pay(client_of_office, 1, by_owner, invoices=[older])


def test_the_client_is_thanked_with_what_was_paid(older, newer, client_of_office, by_owner):
    pay(client_of_office, 170, by_owner)
    send_waiting(now=NOW)
    (sent,) = mail.outbox
    assert sent.subject == "Thank you: $170.00 received"
    assert "INV-2027-0002: $100.00" in sent.body
    assert "INV-2027-0001: $50.00" in sent.body
    assert "Kept as your credit: $20.00" in sent.body


def test_the_log_says_what_was_noted_and_what_is_settled(older, client_of_office, by_owner):
    pay(client_of_office, 100, by_owner)
    texts = list(Event.objects.filter(verb__in=["payment-noted", "invoice-settled"]).values_list("text", flat=True))
    assert texts == ["noted a payment from Odile Marchetti, Marchetti Homes", "INV-2027-0002 is settled"]


class TestCredit:
    def test_it_pays_a_later_invoice_oldest_payment_first(self, client_of_office, by_owner):
        first, second = pay(client_of_office, 30, by_owner), pay(client_of_office, 40, by_owner)
        invoice = make_invoice(client_of_office, "INV-2027-0005", Decimal(50), date(2027, 3, 10))
        use_credit(invoice=invoice, by=by_owner, now=NOW)
        assert standing(invoice) == [("settled", 50)]
        first.refresh_from_db()
        second.refresh_from_db()
        assert (first.credit, second.credit) == (0, 20)

    def test_a_part_of_the_invoice_may_be_all_there_is(self, client_of_office, by_owner):
        pay(client_of_office, 30, by_owner)
        invoice = make_invoice(client_of_office, "INV-2027-0005", Decimal(50), date(2027, 3, 10))
        use_credit(invoice=invoice, by=by_owner, now=NOW)
        assert standing(invoice) == [("issued", 30)]

    def test_without_credit_it_is_refused(self, older, by_owner):
        with pytest.raises(Refused, match="no credit left"):
            use_credit(invoice=older, by=by_owner, now=NOW)

    def test_a_settled_invoice_takes_none(self, older, client_of_office, by_owner):
        pay(client_of_office, 130, by_owner)
        with pytest.raises(Refused, match="not open"):
            use_credit(invoice=older, by=by_owner, now=NOW)


AMOUNTS = st.decimals("0.01", "500", places=2)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=25, deadline=None)
@given(totals=st.lists(AMOUNTS, min_size=1, max_size=4), payments=st.lists(AMOUNTS, min_size=1, max_size=4))
def test_no_cent_is_made_or_lost(client_of_office, by_owner, totals, payments):
    Invoice.objects.all()._raw_delete("default")
    Payment.objects.all()._raw_delete("default")
    from billing.models import Allocation

    Allocation.objects.all()._raw_delete("default")
    invoices = [
        make_invoice(client_of_office, f"INV-2027-{number:04d}", total, TODAY) for number, total in enumerate(totals)
    ]
    noted = [pay(client_of_office, amount, by_owner) for amount in payments]
    paid = dict(Invoice.objects.with_paid().values_list("pk", "paid"))
    credit = sum(Payment.objects.values_list("credit", flat=True))
    assert sum(paid.values()) + credit == sum(payment.amount for payment in noted)
    for invoice in Invoice.objects.with_paid():
        assert 0 <= invoice.paid <= invoice.total
        assert (invoice.state == InvoiceState.SETTLED) == (invoice.paid == invoice.total)
    assert credit == 0 or all(paid[invoice.pk] == invoice.total for invoice in invoices)
