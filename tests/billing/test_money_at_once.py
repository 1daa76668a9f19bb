"""Several people at once: no number is lost or given twice, nothing counts twice, no cent is made."""

from concurrent.futures import ThreadPoolExecutor
from datetime import date
from decimal import Decimal
from threading import Barrier

import pytest
from django.db import connection

from billing.actions.invoices import draw_up_invoice, issue_invoice
from billing.actions.payments import note_payment
from billing.actions.quotes import accept_quote, offer_quote
from billing.models import Allocation, Invoice, InvoiceState, Payment, Quote
from jobs.models import Shoot
from office.errors import Refused
from office.models import Event
from tests.cast import NOW

pytestmark = pytest.mark.django_db(transaction=True)


def at_once(*actions):
    """Run the actions in threads that start together; what each gave, or its refusal."""
    start = Barrier(len(actions))

    def run(action):
        start.wait()
        try:
            return action()
        except Refused as refusal:
            return refusal
        finally:
            connection.close()

    with ThreadPoolExecutor(len(actions)) as pool:
        return list(pool.map(run, actions))


def refusals(answers):
    return [answer for answer in answers if isinstance(answer, Refused)]


def test_numbers_have_no_gap_and_no_double(client_of_office, by_owner, house, package):
    drafts = []
    for number in range(6):
        shoot = Shoot.objects.create(
            number=f"S-{number}", client=client_of_office, property=house, package=package, ordered_at=NOW
        )
        draft = Invoice.objects.create(
            client=client_of_office, shoot=shoot, drawn_up_at=NOW, currency="USD", net=0, total=0
        )
        if number != 3:
            draft.lines.create(position=1, code="x", text="Work", quantity=1, unit_price=5, amount=5)
        drafts.append(draft)
    answers = at_once(*(lambda draft=draft: issue_invoice(invoice=draft, by=by_owner, now=NOW) for draft in drafts))
    assert len(refusals(answers)) == 1
    numbers = sorted(Invoice.objects.filter(state=InvoiceState.ISSUED).values_list("running", flat=True))
    assert numbers == [1, 2, 3, 4, 5]


def test_a_draft_issued_by_two_is_issued_once(accepted, by_owner):
    draft = draw_up_invoice(shoot=accepted.shoot, by=by_owner, now=NOW)
    answers = at_once(*[lambda: issue_invoice(invoice=draft, by=by_owner, now=NOW)] * 3)
    assert len(refusals(answers)) == 2
    assert Event.objects.filter(verb="invoice-issued").count() == 1


def test_a_quote_accepted_by_two_counts_once(office, shoot, rate_card, by_owner):
    office.deposit_percent = Decimal(30)
    office.save()
    quote = offer_quote(shoot=shoot, by=by_owner, now=NOW)
    answers = at_once(*[lambda: accept_quote(quote=quote, by=by_owner, now=NOW)] * 3)
    assert len(refusals(answers)) == 2
    assert Invoice.objects.count() == 1


def test_two_who_offer_at_once_make_one_quote(shoot, rate_card, by_owner):
    answers = at_once(*[lambda: offer_quote(shoot=shoot, by=by_owner, now=NOW)] * 3)
    assert len(refusals(answers)) == 2
    assert Quote.objects.count() == 1


def test_two_who_draw_up_at_once_make_one_draft(accepted, by_owner):
    answers = at_once(*[lambda: draw_up_invoice(shoot=accepted.shoot, by=by_owner, now=NOW)] * 3)
    assert len(refusals(answers)) == 2
    assert Invoice.objects.count() == 1


def test_payments_at_once_pay_an_invoice_no_more_than_whole(accepted, by_owner):
    draft = draw_up_invoice(shoot=accepted.shoot, by=by_owner, now=NOW)
    invoice = issue_invoice(invoice=draft, by=by_owner, now=NOW)
    paid = {"client": invoice.client, "amount": Decimal(150), "received_on": date(2027, 3, 1)}
    answers = at_once(*[lambda: note_payment(**paid, by=by_owner, now=NOW)] * 4)
    assert not refusals(answers)
    assert sum(Allocation.objects.values_list("amount", flat=True)) == invoice.total
    assert sum(Payment.objects.values_list("credit", flat=True)) == 600 - invoice.total
    invoice.refresh_from_db()
    assert invoice.state == InvoiceState.SETTLED
