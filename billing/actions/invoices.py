"""Invoices: drawn up from what was agreed, issued under a gapless number, void only while a draft.

The crew reads a job's history too, so the log's sentences name no amounts; those stand in the details.
Whoever changes an invoice locks its shoot first and the invoice after it, always in this order.
"""

from collections.abc import Iterable
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction
from django.utils.translation import gettext as _

from billing.models import Invoice, InvoiceKind, InvoiceLine, InvoiceState, Quote, QuoteState
from billing.rules.bill import deposit_net
from billing.rules.standing import due_date
from billing.rules.tax import line_net
from jobs.models import Shoot, ShootState
from office.actions.actors import Actor
from office.actions.events import record
from office.actions.numbering import next_number
from office.actions.states import locked, move
from office.errors import Refused, WrongState
from office.models import Office

from .invoice_lines import append_lines, deposit_lines, left_to_invoice, reckon
from .mails import tell_client_of_invoice
from .parties import buyer_of, seller_of
from .pricing import local_day

BY_HAND = {ShootState.NO_ACCESS, ShootState.CANCELLED}
"""Visits that did not take place: what they cost is entered by hand, in place of what was quoted."""


@transaction.atomic
def draw_up_invoice(*, shoot: Shoot, by: Actor, now: datetime) -> Invoice:
    """A draft of what the accepted quote leaves to invoice; an empty one for a visit that did not take place."""
    shoot = locked(shoot)
    if shoot.invoices.filter(state=InvoiceState.DRAFT).exists():
        raise Refused(_("There is a draft already; issue it or make it void."))
    quote = shoot.quotes.filter(state=QuoteState.ACCEPTED).first()
    lines = _lines_to_draw_up(shoot, quote)
    invoice = _draft(shoot, quote, InvoiceKind.WORK, lines, now)
    text = _("drew up an invoice")
    record(
        by=by, now=now, verb="invoice-drawn-up", text=text, subject=invoice, job=shoot.number, total=str(invoice.total)
    )
    return invoice


@transaction.atomic
def add_invoice_line(
    *, invoice: Invoice, text: str, quantity: Decimal, unit_price: Decimal, by: Actor, now: datetime
) -> Invoice:
    """A line entered by hand on a draft, such as the fee for a visit without access."""
    invoice = _held_draft(invoice)
    amount = line_net(quantity, unit_price, invoice.currency)
    line = InvoiceLine(code="by_hand", text=text, quantity=quantity, unit_price=unit_price, amount=amount)
    append_lines(invoice, [line])
    reckon(invoice, local_day(now))
    said = _("put a line on the draft: %s") % text
    record(by=by, now=now, verb="invoice-line-added", text=said, subject=invoice, job=_job(invoice))
    return invoice


@transaction.atomic
def remove_invoice_line(*, line: InvoiceLine, by: Actor, now: datetime) -> Invoice:
    """Take a line off a draft."""
    invoice = _held_draft(line.invoice)
    InvoiceLine.objects.filter(pk=line.pk, invoice=invoice).delete()
    reckon(invoice, local_day(now))
    said = _("took a line off the draft: %s") % line.text
    record(by=by, now=now, verb="invoice-line-removed", text=said, subject=invoice, job=_job(invoice))
    return invoice


@transaction.atomic
def issue_invoice(*, invoice: Invoice, by: Actor, now: datetime) -> Invoice:
    """Give the draft its number and dates, freeze everything on it, and mail it."""
    invoice = _issued(_held_draft(invoice), now)
    text, total = _("issued %s") % invoice.number, str(invoice.total)
    record(by=by, now=now, verb="invoice-issued", text=text, subject=invoice, job=_job(invoice), total=total)
    if not invoice.total:
        move(invoice, InvoiceState.SETTLED)
    tell_client_of_invoice(invoice=invoice, by=by, now=now)
    return invoice


@transaction.atomic
def void_invoice(*, invoice: Invoice, by: Actor, now: datetime) -> Invoice:
    """Give up a draft. An issued invoice is never made void."""
    invoice = move(_held(invoice), InvoiceState.VOID)
    text = _("made a draft of an invoice void")
    record(by=by, now=now, verb="invoice-voided", text=text, subject=invoice, job=_job(invoice))
    return invoice


def bill_deposit(*, quote: Quote, by: Actor, now: datetime) -> Invoice:
    """Issue the deposit of a quote just accepted; the caller holds its shoot."""
    amount = deposit_net(quote.net, quote.deposit_percent, quote.currency)
    facts = {"percent": f"{quote.deposit_percent.normalize():f}", "quote": quote.number}
    line = InvoiceLine(
        code="deposit", text=_("Deposit, %(percent)s %% of %(quote)s") % facts, quantity=Decimal(1),
        unit_price=amount, amount=amount, why=_("Taken off the invoice for the visit."),
    )  # fmt: skip
    draft = _draft(quote.shoot, quote, InvoiceKind.DEPOSIT, [line], now)
    return issue_invoice(invoice=draft, by=by, now=now)


def drop_drafts(*, quote: Quote, by: Actor, now: datetime) -> None:
    """Make the drafts of a quote void; refused when an invoice of it has been issued."""
    standing = list(quote.invoices.exclude(state=InvoiceState.VOID))
    issued = next((invoice for invoice in standing if invoice.state != InvoiceState.DRAFT), None)
    if issued:
        raise Refused(_("%s was issued on this quote, so the quote cannot be withdrawn.") % issued.number)
    for invoice in standing:
        void_invoice(invoice=invoice, by=by, now=now)


def _lines_to_draw_up(shoot: Shoot, quote: Quote | None) -> list[InvoiceLine]:
    if shoot.state in BY_HAND:
        return deposit_lines(quote) if quote else []
    if quote is None:
        raise Refused(_("There is no accepted quote to invoice. Offer one first."))
    lines = left_to_invoice(quote)
    if not lines:
        raise Refused(_("Everything agreed is invoiced already."))
    return lines


def _draft(
    shoot: Shoot, quote: Quote | None, kind: InvoiceKind, lines: Iterable[InvoiceLine], now: datetime
) -> Invoice:
    office = Office.the()
    invoice = Invoice.objects.create(
        kind=kind,
        client=shoot.client,
        shoot=shoot,
        quote=quote,
        drawn_up_at=now,
        currency=quote.currency if quote else office.currency,
        tax_rounding=quote.tax_rounding if quote else "invoice",
        net=0,
        total=0,
    )
    append_lines(invoice, lines)
    return reckon(invoice, local_day(now))


def _issued(invoice: Invoice, now: datetime) -> Invoice:
    """The draft with its number; the number is taken in the transaction that stores it, so none is lost."""
    office, today = Office.the(), local_day(now)
    reckon(invoice, today)
    if not invoice.lines.exists():
        raise Refused(_("There is nothing on this draft yet. Enter a line first."))
    if invoice.total < 0:
        raise Refused(_("This comes to less than zero, so there is nothing to invoice."))
    running = next_number("invoice", today.year)
    return move(
        invoice, InvoiceState.ISSUED, year=today.year, running=running,
        number=f"{invoice.series}-{today.year}-{running:04d}", issued_on=today,
        due_on=_due_on(invoice, today, office), supplied_on=_supplied_on(invoice), seller=seller_of(office),
        buyer=buyer_of(invoice.client, office), payment_text=office.payment_text,
    )  # fmt: skip


def _due_on(invoice: Invoice, today: date, office: Office) -> date:
    """So many days from issue; a deposit not later than the visit."""
    due, visit = due_date(today, office.invoice_days), _day_of_visit(invoice.shoot)
    return max(min(due, visit), today) if invoice.kind == InvoiceKind.DEPOSIT and visit else due


def _supplied_on(invoice: Invoice) -> date | None:
    return _day_of_visit(invoice.shoot) if invoice.kind == InvoiceKind.WORK else None


def _day_of_visit(shoot: Shoot | None) -> date | None:
    if shoot is None or shoot.starts_at is None:
        return None
    return shoot.starts_at.astimezone(ZoneInfo(shoot.property.zone)).date()


def _held(invoice: Invoice) -> Invoice:
    if invoice.shoot:
        locked(invoice.shoot)
    return locked(invoice)


def _held_draft(invoice: Invoice) -> Invoice:
    invoice = _held(invoice)
    if invoice.state != InvoiceState.DRAFT:
        raise WrongState(_("%(what)s is %(state)s; only a draft can change.") % _named(invoice))
    return invoice


def _named(invoice: Invoice) -> dict[str, Any]:
    return {"what": invoice, "state": invoice.get_state_display().lower()}


def _job(invoice: Invoice) -> str:
    return invoice.shoot.number if invoice.shoot else ""
