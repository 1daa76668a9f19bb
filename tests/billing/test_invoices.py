"""Invoices: drawn up from the quote, numbered without gaps, frozen at issue, void only as a draft."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from django.core import mail
from django.db import IntegrityError, transaction

from billing.actions.invoices import (
    add_invoice_line,
    draw_up_invoice,
    issue_invoice,
    remove_invoice_line,
    void_invoice,
)
from billing.actions.quotes import accept_quote, offer_quote, withdraw_quote
from billing.models import Invoice, InvoiceState, Quote, TaxRate
from jobs.actions.clients import change_client
from jobs.actions.shoots import cancel_shoot
from jobs.models import Shoot, ShootState
from office.actions.links import token_of
from office.actions.notices import send_waiting
from office.actions.states import move
from office.errors import Refused, WrongState
from office.models import CapabilityLink, Event, Office, Purpose
from tests.cast import NOW

pytestmark = pytest.mark.django_db


@pytest.fixture
def draft(accepted, by_owner):
    return draw_up_invoice(shoot=accepted.shoot, by=by_owner, now=NOW)


@pytest.fixture
def no_access(shoot):
    return move(move(shoot, ShootState.CONFIRMED), ShootState.NO_ACCESS)


def adds_up(invoice):
    invoice.refresh_from_db()
    lines, taxes = list(invoice.lines.all()), list(invoice.taxes.all())
    assert sum(line.amount for line in lines) == invoice.net
    assert invoice.net + sum(tax.amount for tax in taxes) == invoice.total
    return True


def test_the_draft_carries_the_quote_s_lines_and_taxes(draft, accepted):
    assert (draft.state, draft.number, draft.net, draft.total) == (
        InvoiceState.DRAFT, None, Decimal("347.00"), Decimal("372.16"),
    )  # fmt: skip
    assert [line.text for line in draft.lines.all()] == [line.text for line in accepted.lines.all()]
    assert adds_up(draft)


def test_a_second_draft_is_refused_by_the_action_and_by_the_database(draft, by_owner):
    with pytest.raises(Refused, match="a draft already"):
        draw_up_invoice(shoot=draft.shoot, by=by_owner, now=NOW)
    draft.pk = None
    with pytest.raises(IntegrityError), transaction.atomic():
        draft.save(force_insert=True)


def test_what_is_invoiced_is_not_invoiced_again(draft, by_owner):
    issue_invoice(invoice=draft, by=by_owner, now=NOW)
    with pytest.raises(Refused, match="invoiced already"):
        draw_up_invoice(shoot=draft.shoot, by=by_owner, now=NOW)


def test_a_void_draft_makes_room_for_another(draft, by_owner):
    void_invoice(invoice=draft, by=by_owner, now=NOW)
    assert draw_up_invoice(shoot=draft.shoot, by=by_owner, now=NOW).total == Decimal("372.16")


def test_without_an_accepted_quote_there_is_nothing_to_invoice(offered, shoot, by_owner):
    with pytest.raises(Refused, match="no accepted quote"):
        draw_up_invoice(shoot=shoot, by=by_owner, now=NOW)


@pytest.mark.parametrize("percent", ["0.01", "30", "33.33", "99.99", "100"])
def test_deposit_and_balance_come_to_the_quote(office, shoot, rate_card, by_owner, percent):
    office.deposit_percent = Decimal(percent)
    office.save()
    quote = accept_quote(quote=offer_quote(shoot=shoot, by=by_owner, now=NOW), by=by_owner, now=NOW)
    balance = issue_invoice(invoice=draw_up_invoice(shoot=shoot, by=by_owner, now=NOW), by=by_owner, now=NOW)
    deposit = Invoice.objects.get(kind="deposit")
    assert deposit.total + balance.total == quote.total
    assert balance.lines.get(code="deposit").text == "Deposit, invoiced on INV-2027-0001"
    assert adds_up(balance)
    assert adds_up(deposit)
    assert (balance.state == InvoiceState.SETTLED) == (balance.total == 0)


class TestIssuing:
    @pytest.fixture
    def issued(self, draft, timed, by_owner):
        return issue_invoice(invoice=draft, by=by_owner, now=NOW)

    def test_it_gets_number_and_dates(self, issued):
        issued.refresh_from_db()
        assert (issued.state, issued.number, issued.issued_on, issued.due_on, issued.supplied_on) == (
            InvoiceState.ISSUED, "INV-2027-0001", date(2027, 3, 1), date(2027, 3, 15), date(2027, 3, 3),
        )  # fmt: skip
        assert adds_up(issued)

    def test_year_and_day_are_those_of_the_office(self, draft, by_owner):
        new_year_in_utc_only = datetime(2028, 1, 1, 5, 59, tzinfo=UTC)
        issued = issue_invoice(invoice=draft, by=by_owner, now=new_year_in_utc_only)
        assert (issued.number, issued.issued_on) == ("INV-2027-0001", date(2027, 12, 31))

    def test_the_paper_stays_as_it_was(self, issued, client_of_office, by_owner):
        change_client(client=client_of_office, fields={"company": "Other Homes"}, by=by_owner, now=NOW)
        Office.objects.update(name="Renamed", payment_text="Pay in gold")
        TaxRate.objects.update(percent=20)
        issued.refresh_from_db()
        assert (issued.buyer["name"], issued.seller["name"]) == ("Marchetti Homes", "Lantern Street Scans")
        assert issued.payment_text.startswith("Please pay by bank transfer")
        assert issued.taxes.get().percent == Decimal("7.25")

    def test_the_client_is_mailed_paper_and_link(self, issued):
        send_waiting(now=NOW)
        sent = next(sent for sent in mail.outbox if sent.subject.startswith("Invoice"))
        link = CapabilityLink.objects.get(purpose=Purpose.INVOICE, subject_id=issued.pk)
        assert sent.subject == "Invoice INV-2027-0001 from Lantern Street Scans"
        assert "Total $372.16, due on Mon, Mar 15, 2027." in sent.body
        for text in (sent.body, sent.alternatives[0].content):
            assert f"/open/{token_of(link.key)}/" in text
            assert "give the invoice number" in text
        ((name, content, kind),) = sent.attachments
        assert (name, kind) == ("INV-2027-0001.pdf", "application/pdf")
        assert content.startswith(b"%PDF-")
        assert token_of(link.key).encode() not in content

    def test_the_history_says_so(self, issued):
        event = Event.objects.of_job(issued.shoot.number).get(verb="invoice-issued")
        assert (event.text, event.details) == ("issued INV-2027-0001", {"total": "372.16"})

    def test_it_is_issued_once(self, issued, by_owner):
        with pytest.raises(WrongState, match="INV-2027-0001 is issued; only a draft can change"):
            issue_invoice(invoice=issued, by=by_owner, now=NOW)

    def test_it_is_never_made_void_nor_changed(self, issued, by_owner):
        with pytest.raises(WrongState):
            void_invoice(invoice=issued, by=by_owner, now=NOW)
        with pytest.raises(WrongState):
            add_invoice_line(
                invoice=issued, text="More", quantity=Decimal(1), unit_price=Decimal(5), by=by_owner, now=NOW
            )
        with pytest.raises(WrongState):
            remove_invoice_line(line=issued.lines.first(), by=by_owner, now=NOW)
        assert adds_up(issued)

    def test_a_refused_issue_uses_no_number(self, draft, by_owner, client_of_office):
        empty = Invoice.objects.create(
            client=client_of_office, drawn_up_at=NOW, currency="USD", net=0, total=0, state=InvoiceState.DRAFT
        )
        with pytest.raises(Refused, match="nothing on this draft"):
            issue_invoice(invoice=empty, by=by_owner, now=NOW)
        assert issue_invoice(invoice=draft, by=by_owner, now=NOW).number == "INV-2027-0001"

    def test_below_zero_is_refused(self, draft, by_owner):
        off = {"text": "Goodwill", "quantity": Decimal(1), "unit_price": Decimal("-400")}
        add_invoice_line(invoice=draft, **off, by=by_owner, now=NOW)
        with pytest.raises(Refused, match="less than zero"):
            issue_invoice(invoice=draft, by=by_owner, now=NOW)


class TestByHand:
    def test_a_visit_without_access_starts_empty_and_takes_a_fee(self, rate_card, no_access, by_owner):
        invoice = draw_up_invoice(shoot=no_access, by=by_owner, now=NOW)
        assert invoice.total == 0
        fee = {"text": "Nobody let us in", "quantity": Decimal(1), "unit_price": Decimal("75")}
        add_invoice_line(invoice=invoice, **fee, by=by_owner, now=NOW)
        assert adds_up(invoice)
        # 75.00 at 7.25 % is 5.4375
        assert invoice.total == Decimal("80.44")
        assert issue_invoice(invoice=invoice, by=by_owner, now=NOW).number == "INV-2027-0001"

    def test_the_deposit_is_taken_off_the_fee(self, office, shoot, rate_card, by_owner):
        office.deposit_percent = Decimal(10)
        office.save()
        accept_quote(quote=offer_quote(shoot=shoot, by=by_owner, now=NOW), by=by_owner, now=NOW)
        cancel_shoot(shoot=shoot, why="too late", by=by_owner, now=NOW)
        invoice = draw_up_invoice(shoot=Shoot.objects.get(), by=by_owner, now=NOW)
        assert [(line.code, line.amount) for line in invoice.lines.all()] == [("deposit", Decimal("-34.70"))]

    def test_a_line_is_quantity_times_price_rounded_half_up(self, draft, by_owner):
        line = {"text": "Prints", "quantity": Decimal("3"), "unit_price": Decimal("1.115")}
        add_invoice_line(invoice=draft, **line, by=by_owner, now=NOW)
        last = draft.lines.last()
        assert (last.amount, last.position) == (Decimal("3.35"), 6)
        assert adds_up(draft)

    def test_taking_a_line_off_brings_the_totals_down(self, draft, by_owner):
        remove_invoice_line(line=draft.lines.get(code="exterior"), by=by_owner, now=NOW)
        draft.refresh_from_db()
        assert draft.net == Decimal("287.00")
        assert adds_up(draft)


@pytest.mark.parametrize("start", InvoiceState.values)
@pytest.mark.parametrize("end", InvoiceState.values)
def test_the_table_of_states_is_kept_whole(draft, by_owner, start, end):
    numbered = {} if start in ("draft", "void") else {"number": "INV-2027-0009", "due_on": date(2027, 3, 9)}
    Invoice.objects.update(state=start, **numbered)
    invoice = Invoice.objects.get()
    allowed = end in Invoice.ALLOWED[start]
    actions = {InvoiceState.ISSUED: issue_invoice, InvoiceState.VOID: void_invoice}
    try:
        if end in actions and start != InvoiceState.SETTLED:
            actions[end](invoice=invoice, by=by_owner, now=NOW)
        else:
            move(invoice, end)
    except WrongState:
        assert not allowed
    else:
        assert allowed
    invoice.refresh_from_db()
    assert invoice.state == (end if allowed else start)


def test_paid_means_all_work_invoiced_and_settled(office, shoot, rate_card, by_owner):
    office.deposit_percent = Decimal(30)
    office.save()
    accept_quote(quote=offer_quote(shoot=shoot, by=by_owner, now=NOW), by=by_owner, now=NOW)
    assert not Invoice.objects.is_paid(shoot)
    deposit = move(Invoice.objects.get(), InvoiceState.SETTLED)
    assert not Invoice.objects.is_paid(shoot)
    balance = draw_up_invoice(shoot=shoot, by=by_owner, now=NOW)
    assert not Invoice.objects.is_paid(shoot)
    issue_invoice(invoice=balance, by=by_owner, now=NOW)
    assert not Invoice.objects.is_paid(shoot)
    move(Invoice.objects.get(pk=balance.pk), InvoiceState.SETTLED)
    assert Invoice.objects.is_paid(shoot)
    move(deposit, InvoiceState.ISSUED)
    assert not Invoice.objects.is_paid(shoot)


def test_dropping_the_quote_makes_its_draft_void(draft, by_owner):
    withdraw_quote(quote=Quote.objects.get(), by=by_owner, now=NOW)
    draft.refresh_from_db()
    assert draft.state == InvoiceState.VOID


def test_numbers_of_a_year_start_at_one(draft, by_owner, office):
    assert issue_invoice(invoice=draft, by=by_owner, now=NOW + timedelta(days=400)).number == "INV-2028-0001"
