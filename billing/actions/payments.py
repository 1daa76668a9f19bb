"""Money received, and which invoices it pays. What no invoice takes stays the client's credit.

Whoever moves a client's money locks the client first and the invoices after, in the order of their keys, so that
two payments never pay one invoice twice.
"""

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from billing.models import Allocation, Invoice, InvoiceState, Payment, PaymentMethod
from billing.rules import allocation as rules
from billing.rules.standing import OpenInvoice
from jobs.models import Client
from office.actions.actors import Actor
from office.actions.events import record
from office.actions.states import locked, move
from office.errors import Refused
from office.models import Office
from office.rules.money import rounded, smallest

from .mails import tell_client_of_payment
from .pricing import local_day


@transaction.atomic
def note_payment(
    *, client: Client, amount: Decimal, received_on: date, by: Actor, now: datetime,
    method: str = PaymentMethod.TRANSFER, reference: str = "", invoices: Sequence[Invoice] = (), currency: str = "",
) -> Payment:  # fmt: skip
    """Take in a payment and let it pay `invoices`, in their order, or else the longest due first."""
    client = locked(client)
    currency = currency or (invoices[0].currency if invoices else Office.the().currency)
    _check_payment(amount, currency, received_on, now)
    payment = Payment.objects.create(
        client=client, received_on=received_on, amount=amount, credit=amount, currency=currency, method=method,
        reference=reference, noted_at=now,
    )  # fmt: skip
    owing = _owing(client, currency)
    paid = _allocate(payment, _chosen(owing, invoices) if invoices else owing, in_order=bool(invoices))
    text = _("noted a payment from %s") % client
    record(by=by, now=now, verb="payment-noted", text=text, subject=payment, job=_job_of(paid), amount=str(amount))
    _settle(paid, by, now)
    tell_client_of_payment(payment=payment, now=now)
    return payment


@transaction.atomic
def use_credit(*, invoice: Invoice, by: Actor, now: datetime) -> Invoice:
    """Pay an invoice from what the client has paid too much earlier, the oldest payment first."""
    client = locked(invoice.client)
    invoice = _open_again(client, invoice)
    used = Decimal(0)
    for payment in Payment.objects.with_credit().filter(client=client, currency=invoice.currency):
        if open_amount := invoice.total - invoice.paid:
            part = min(payment.credit, open_amount)
            _take(payment, invoice, part)
            used += part
    if not used:
        raise Refused(_("%s has no credit left.") % client)
    text = _("used credit for %s") % invoice.number
    record(by=by, now=now, verb="credit-used", text=text, subject=invoice, job=_job_of([invoice]), amount=str(used))
    _settle([invoice], by, now)
    return invoice


def _check_payment(amount: Decimal, currency: str, received_on: date, now: datetime) -> None:
    if amount <= 0 or amount != rounded(amount, currency):
        facts = {"least": smallest(currency), "currency": currency}
        raise Refused(_("Expected an amount above zero in steps of %(least)s %(currency)s.") % facts, field="amount")
    if received_on > local_day(now):
        raise Refused(_("Expected a day that is not in the future."), field="received_on")


def _owing(client: Client, currency: str) -> list[Invoice]:
    """The client's open invoices, locked, each with `paid`; the longest due first."""
    open_ones = Invoice.objects.filter(client=client, currency=currency, state=InvoiceState.ISSUED)
    list(open_ones.select_for_update().order_by("pk"))
    return list(open_ones.with_paid().order_by("due_on", "issued_on", "number").select_related("shoot"))


def _chosen(owing: list[Invoice], wanted: Sequence[Invoice]) -> list[Invoice]:
    by_pk = {invoice.pk: invoice for invoice in owing}
    closed = next((invoice for invoice in wanted if invoice.pk not in by_pk), None)
    if closed:
        raise Refused(_("%s is not open for this client.") % closed, field="invoices")
    return [by_pk[pk] for pk in dict.fromkeys(invoice.pk for invoice in wanted)]


def _open_again(client: Client, invoice: Invoice) -> Invoice:
    found = next((row for row in _owing(client, invoice.currency) if row.pk == invoice.pk), None)
    if found is None:
        raise Refused(_("%s is not open.") % invoice)
    return found


def _allocate(payment: Payment, invoices: list[Invoice], *, in_order: bool) -> list[Invoice]:
    """Spread the payment by the rule; returns the invoices that got some of it."""
    spread = rules.allocate_in_order if in_order else rules.allocate_oldest_first
    by_number = {invoice.number: invoice for invoice in invoices}
    allocated = spread(payment.amount, payment.currency, [open_invoice(invoice) for invoice in invoices])
    for part in allocated.allocations:
        _take(payment, by_number[part.number], part.amount)
    return [by_number[part.number] for part in allocated.allocations]


def _take(payment: Payment, invoice: Invoice, amount: Decimal) -> None:
    Allocation.objects.create(payment=payment, invoice=invoice, amount=amount)
    payment.credit -= amount
    payment.save(update_fields=["credit"])
    invoice.paid += amount


def open_invoice(invoice: Invoice) -> OpenInvoice:
    """An issued invoice `with_paid`, as the rules of the ledger read it."""
    return OpenInvoice(
        number=invoice.number, client=invoice.buyer.get("name", ""), issued_on=invoice.issued_on,
        due_on=invoice.due_on, total=invoice.total, open=invoice.total - invoice.paid, currency=invoice.currency,
    )  # fmt: skip


def _settle(invoices: Iterable[Invoice], by: Actor, now: datetime) -> None:
    for invoice in invoices:
        if invoice.paid == invoice.total:
            move(invoice, InvoiceState.SETTLED)
            text = _("%s is settled") % invoice.number
            record(by=by, now=now, verb="invoice-settled", text=text, subject=invoice, job=_job_of([invoice]))


def _job_of(invoices: list[Invoice]) -> str:
    """The one job that the invoices are for, or none."""
    jobs = {invoice.shoot.number for invoice in invoices if invoice.shoot}
    return jobs.pop() if len(jobs) == 1 else ""
