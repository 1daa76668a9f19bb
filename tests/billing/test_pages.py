"""The pages of the ledger floor: who may open them, what they show, how many questions they ask."""

from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from billing.actions.invoices import draw_up_invoice, issue_invoice
from billing.actions.payments import note_payment
from billing.actions.quotes import accept_quote, offer_quote
from billing.actions.true_ups import propose_true_up
from billing.models import Invoice, InvoiceState, Payment, Quote, QuoteState, TrueUp
from jobs.models import Client, Shoot
from office.actions.links import make_link, token_of
from office.models import CapabilityLink, Purpose

pytestmark = pytest.mark.django_db


def post(browser, name, *args, follow=True, **fields):
    return browser.post(reverse(f"billing:{name}", args=args), {"once": str(uuid4()), **fields}, follow=follow)


def page(browser, name, *args, **query):
    answer = browser.get(reverse(name, args=args), query)
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


@pytest.fixture
def now():
    return timezone.now()


@pytest.fixture
def offered_now(shoot, rate_card, by_owner, now):
    rate_card.starts_on = date(2020, 1, 1)
    rate_card.save()
    return offer_quote(shoot=shoot, by=by_owner, now=now)


@pytest.fixture
def accepted_now(offered_now, by_owner, now):
    return accept_quote(quote=offered_now, by=by_owner, now=now)


@pytest.fixture
def issued_now(accepted_now, by_owner, now):
    draft = draw_up_invoice(shoot=accepted_now.shoot, by=by_owner, now=now)
    return issue_invoice(invoice=draft, by=by_owner, now=now)


def open_link(browser, purpose, subject):
    link = CapabilityLink.objects.get(purpose=purpose, subject_id=subject.pk)
    return browser.get(f"/open/{token_of(link.key)}/", follow=True)


class TestOffice:
    def test_the_job_page_shows_the_price_and_offers_it(self, owner_browser, shoot, rate_card, sales_tax):
        rate_card.starts_on = sales_tax.starts_on = date(2020, 1, 1)
        rate_card.save()
        shown = page(owner_browser, "jobs:shoot", shoot.number)
        assert "What it costs now, by rate card 3" in shown
        assert "$372.16" in shown
        assert "950 sq ft over the 1,500 included, at $0.06" in shown
        answer = post(owner_browser, "quote-offer", shoot.number)
        assert "Offered; the client has the link by mail." in answer.content.decode()
        assert Quote.objects.get().state == QuoteState.OFFERED

    def test_without_a_card_the_job_page_says_so(self, owner_browser, shoot):
        assert "No rate card is in force yet" in page(owner_browser, "jobs:shoot", shoot.number)

    def test_a_scanner_sees_the_order_but_no_money(self, scanner_browser, accepted_now, issued_now):
        shown = page(scanner_browser, "jobs:shoot", accepted_now.shoot.number)
        assert "Tour and floor plan" in shown
        assert "372.16" not in shown
        assert scanner_browser.get(reverse("billing:ledger")).status_code == 403

    def test_a_yes_by_phone_is_noted_with_who_said_it(self, owner_browser, offered_now):
        post(owner_browser, "quote-accept", offered_now.number, **{"yes-name": "Odile", "yes-note": "by phone"})
        offered_now.refresh_from_db()
        assert (offered_now.state, offered_now.answered_by, offered_now.answer_note) == (
            "accepted", "Odile", "by phone",
        )  # fmt: skip

    def test_a_yes_without_a_name_is_asked_again_and_keeps_the_note(self, owner_browser, offered_now):
        answer = post(owner_browser, "quote-accept", offered_now.number, **{"yes-note": "by phone"})
        shown = answer.content.decode()
        assert "This field is required" in shown
        assert "by phone" in shown

    def test_a_no_is_noted(self, owner_browser, offered_now):
        post(owner_browser, "quote-decline", offered_now.number, **{"no-name": "Odile"})
        offered_now.refresh_from_db()
        assert offered_now.state == QuoteState.DECLINED

    def test_withdrawing(self, owner_browser, offered_now):
        post(owner_browser, "quote-withdraw", offered_now.number)
        offered_now.refresh_from_db()
        assert offered_now.state == QuoteState.WITHDRAWN

    def test_from_draft_to_paid(self, owner_browser, accepted_now, client_of_office):
        post(owner_browser, "invoice-draw-up", accepted_now.shoot.number)
        draft = Invoice.objects.get()
        post(owner_browser, "invoice-line-add", draft.pk, text="Prints", quantity="2", unit_price="10")
        assert "Prints" in page(owner_browser, "billing:invoice", draft.pk)
        post(owner_browser, "invoice-line-remove", draft.pk, draft.lines.get(text="Prints").pk)
        answer = post(owner_browser, "invoice-issue", draft.pk)
        assert "is issued and on its way" in answer.content.decode()
        draft.refresh_from_db()
        where = {"client": client_of_office.pk, "invoice": draft.pk}
        form = page(owner_browser, "billing:payment-new", **where)
        assert 'value="372.16"' in form
        today = timezone.localdate().isoformat()
        address = f"{reverse('billing:payment-new')}?client={client_of_office.pk}"
        fields = {"amount": "400", "currency": "USD", "received_on": today, "method": "cheque", "invoices": draft.pk}
        answer = owner_browser.post(address, {"once": str(uuid4()), **fields}, follow=True)
        assert "kept as credit" in answer.content.decode()
        draft.refresh_from_db()
        assert draft.state == InvoiceState.SETTLED

    def test_a_payment_with_a_wrong_amount_loses_nothing(self, owner_browser, issued_now, client_of_office):
        address = f"{reverse('billing:payment-new')}?client={client_of_office.pk}"
        fields = {
            "amount": "1.005",
            "currency": "USD",
            "received_on": "2026-01-01",
            "method": "cash",
            "reference": "R-9",
        }
        answer = owner_browser.post(address, {"once": str(uuid4()), **fields})
        shown = answer.content.decode()
        assert "in steps of 0.01 USD" in shown
        assert "R-9" in shown
        assert not Payment.objects.exists()

    def test_a_payment_sent_twice_counts_once(self, owner_browser, issued_now, client_of_office):
        address = f"{reverse('billing:payment-new')}?client={client_of_office.pk}"
        fields = {
            "amount": "10",
            "currency": "USD",
            "received_on": "2026-01-01",
            "method": "cash",
            "once": str(uuid4()),
        }
        for _time in range(2):
            owner_browser.post(address, fields)
        assert Payment.objects.count() == 1

    def test_the_payment_asks_first_whose_it_is(self, owner_browser, client_of_office):
        assert "Who paid" in page(owner_browser, "billing:payment-new")

    def test_a_bad_line_is_refused_beside_its_field(self, owner_browser, accepted_now):
        post(owner_browser, "invoice-draw-up", accepted_now.shoot.number)
        draft = Invoice.objects.get()
        answer = post(owner_browser, "invoice-line-add", draft.pk, text="Prints", quantity="-1", unit_price="x")
        assert "Enter a number" in answer.content.decode()
        assert "Prints" in answer.content.decode()

    def test_a_draft_stands_in_the_lists_without_a_due_day(self, owner_browser, accepted_now):
        post(owner_browser, "invoice-draw-up", accepted_now.shoot.number)
        assert "Draft" in page(owner_browser, "billing:invoices")
        assert "Draft" in page(owner_browser, "jobs:shoot", accepted_now.shoot.number)

    def test_a_draft_made_void(self, owner_browser, accepted_now):
        post(owner_browser, "invoice-draw-up", accepted_now.shoot.number)
        post(owner_browser, "invoice-void", Invoice.objects.get().pk)
        assert Invoice.objects.get().state == InvoiceState.VOID

    def test_credit_is_used_from_the_invoice(self, owner_browser, issued_now, client_of_office, by_owner, now):
        Invoice.objects.update(client=Client.objects.create(name="X", email="x@example.org"))
        invoice = Invoice.objects.get()
        note_payment(client=invoice.client, amount=Decimal(500), received_on=date(2026, 1, 1), by=by_owner, now=now)
        Invoice.objects.update(state=InvoiceState.ISSUED)
        invoice.allocations.all().delete()
        Payment.objects.update(credit=500)
        assert "Use the client" in page(owner_browser, "billing:invoice", invoice.pk)
        post(owner_browser, "invoice-use-credit", invoice.pk)
        invoice.refresh_from_db()
        assert invoice.state == InvoiceState.SETTLED

    @pytest.mark.parametrize(("button", "state"), [("true-up-accept", "accepted"), ("true-up-waive", "waived")])
    def test_a_true_up_is_answered_on_the_job_page(self, owner_browser, accepted_now, by_owner, now, button, state):
        propose_true_up(shoot=accepted_now.shoot, measured_area_m2=Decimal("241.5479"), by=by_owner, now=now)
        shown = page(owner_browser, "jobs:shoot", accepted_now.shoot.number)
        assert "True-up: $9.00 net" in shown
        assert "Measured 2,600 sq ft, stated 2,450 sq ft" in shown
        post(owner_browser, button, TrueUp.objects.get().pk)
        assert TrueUp.objects.get().state == state

    def test_papers_are_pdfs_that_no_cache_keeps(self, owner_browser, accepted_now, issued_now):
        for address in (
            reverse("billing:quote-pdf", args=[accepted_now.number]),
            reverse("billing:invoice-pdf", args=[issued_now.pk]),
        ):
            answer = owner_browser.get(address)
            assert answer.content.startswith(b"%PDF-")
            assert answer["Cache-Control"] == "private, no-store"

    @pytest.mark.parametrize("name", ["ledger", "invoices", "quotes", "rate-cards", "tax-rates", "payment-new"])
    def test_empty_pages_stand(self, owner_browser, office, name):
        assert page(owner_browser, f"billing:{name}")

    def test_lists_are_filtered_by_state(self, owner_browser, offered_now, issued_now):
        assert offered_now.number in page(owner_browser, "billing:quotes", state="accepted")
        assert offered_now.number not in page(owner_browser, "billing:quotes", state="declined")
        assert issued_now.number in page(owner_browser, "billing:invoices", state="issued")
        assert issued_now.number not in page(owner_browser, "billing:invoices", state="settled")

    def test_the_ledger_shows_age_and_agrees(self, owner_browser, issued_now):
        Invoice.objects.update(due_on=timezone.localdate() - timedelta(days=31))
        shown = page(owner_browser, "billing:ledger")
        assert "Overdue" in shown
        assert "31 days" in shown
        assert "agree" in shown
        assert "do not agree" not in shown

    def test_a_card_shows_every_row(self, owner_browser, rate_card):
        shown = page(owner_browser, "billing:rate-card", 3)
        for figure in ("$180.00", "up to 3,000: $0.06", "beyond: $0.045", "$0.90 each km over 60", "24 hours ahead"):
            assert figure in shown


class TestClient:
    def test_the_link_leads_to_the_quote_and_the_yes_counts(self, client, offered_now):
        answer = open_link(client, Purpose.QUOTE, offered_now)
        shown = answer.content.decode()
        assert "950 sq ft over the 1,500 included" in shown
        assert "Accept for $372.16" in shown
        assert "Areas are approximate" in shown
        answer = post(client, "client-quote-accept", offered_now.pk, **{"yes-name": "O. Marchetti"})
        assert "Accepted by O. Marchetti" in answer.content.decode()
        offered_now.refresh_from_db()
        assert offered_now.answered_from == "127.0.0.0/24"
        assert [use.what for use in CapabilityLink.objects.get().uses.all()] == ["answered", "opened"]

    def test_a_second_yes_changes_nothing_and_says_so(self, client, offered_now):
        open_link(client, Purpose.QUOTE, offered_now)
        post(client, "client-quote-accept", offered_now.pk, **{"yes-name": "First"})
        answer = post(client, "client-quote-accept", offered_now.pk, **{"yes-name": "Second"})
        assert "Accepted by First" in answer.content.decode()
        offered_now.refresh_from_db()
        assert offered_now.answered_by == "First"

    def test_the_no_counts(self, client, offered_now):
        open_link(client, Purpose.QUOTE, offered_now)
        answer = post(client, "client-quote-decline", offered_now.pk, **{"no-name": "O. M.", "no-note": "Sold"})
        assert "Declined by O. M." in answer.content.decode()

    def test_nobody_answers_without_a_name(self, client, offered_now):
        open_link(client, Purpose.QUOTE, offered_now)
        answer = post(client, "client-quote-accept", offered_now.pk, **{"yes-note": "yes please"})
        assert "yes please" in answer.content.decode()
        offered_now.refresh_from_db()
        assert offered_now.state == QuoteState.OFFERED

    def test_an_ended_quote_has_no_buttons(self, client, offered_now):
        Quote.objects.update(valid_until=timezone.now() - timedelta(minutes=1))
        shown = open_link(client, Purpose.QUOTE, offered_now).content.decode()
        assert "This quote ran out" in shown
        assert "Accept for" not in shown

    def test_opening_the_page_changes_nothing(self, client, offered_now):
        open_link(client, Purpose.QUOTE, offered_now)
        assert client.get(reverse("billing:client-quote-accept", args=[offered_now.pk])).status_code == 405
        offered_now.refresh_from_db()
        assert offered_now.state == QuoteState.OFFERED

    def test_a_link_opens_its_own_subject_and_no_other(self, client, offered_now, issued_now, by_owner, now):
        other = make_link(
            purpose=Purpose.QUOTE, subject_id=offered_now.pk + 999, holder_name="X", holder_email="x@example.org",
            by=by_owner, now=now,
        )  # fmt: skip
        client.get(f"/open/{token_of(other.key)}/")
        for name, subject in (
            ("client-quote", offered_now), ("client-quote-pdf", offered_now), ("client-invoice", issued_now),
            ("client-invoice-pdf", issued_now),
        ):  # fmt: skip
            assert client.get(reverse(f"billing:{name}", args=[subject.pk])).status_code == 404
        for name in ("client-quote-accept", "client-quote-decline"):
            assert post(client, name, offered_now.pk, **{"yes-name": "X", "no-name": "X"}).status_code == 404

    def test_the_invoice_and_how_to_pay_it(self, client, issued_now):
        shown = open_link(client, Purpose.INVOICE, issued_now).content.decode()
        assert issued_now.number in shown
        assert "Please pay by bank transfer" in shown
        assert client.get(reverse("billing:client-invoice-pdf", args=[issued_now.pk])).content.startswith(b"%PDF-")

    def test_a_paid_invoice_asks_for_nothing(self, client, issued_now, by_owner, now):
        note_payment(
            client=issued_now.client, amount=issued_now.total, received_on=date(2026, 1, 1), by=by_owner, now=now
        )
        shown = open_link(client, Purpose.INVOICE, issued_now).content.decode()
        assert "Nothing is open on this invoice" in shown
        assert "How to pay" not in shown


def queries_of(browser, address, django_assert_max_num_queries, most):
    with django_assert_max_num_queries(most) as found:
        assert browser.get(address).status_code == 200
    return len(found)


def test_lists_ask_no_more_for_more_rows(
    owner_browser, offered_now, issued_now, client_of_office, house, package, django_assert_max_num_queries
):
    pages = [reverse(f"billing:{name}") for name in ("ledger", "invoices", "quotes")]
    paid = {"client": client_of_office, "amount": 5, "credit": 5, "currency": "USD", "noted_at": timezone.now()}
    Payment.objects.create(**paid, received_on=date(2026, 1, 1))
    before = [queries_of(owner_browser, address, django_assert_max_num_queries, 30) for address in pages]
    for number in range(12):
        shoot = Shoot.objects.create(
            number=f"S-X-{number}", client=client_of_office, property=house, package=package, ordered_at=timezone.now()
        )
        quote = Quote.objects.get(pk=offered_now.pk)
        quote.pk, quote.number, quote.shoot = None, f"Q-X-{number}", shoot
        quote.save(force_insert=True)
        invoice = Invoice.objects.get(pk=issued_now.pk)
        invoice.pk, invoice.number, invoice.running = None, f"INV-X-{number}", 100 + number
        invoice.shoot, invoice.quote = shoot, quote
        invoice.save(force_insert=True)
        Payment.objects.create(**paid, received_on=date(2026, 1, 1))
    after = [queries_of(owner_browser, address, django_assert_max_num_queries, 30) for address in pages]
    assert after == before
