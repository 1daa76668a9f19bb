"""What client and office are told about quotes, invoices and payments."""

from datetime import datetime, timedelta
from typing import Any

from billing.models import Invoice, Payment, PlacedOrder, Quote
from jobs.models import Client, Shoot
from office.actions.actors import Actor
from office.actions.links import make_link, open_link_to
from office.actions.notices import Attachment, write_notice
from office.models import CapabilityLink, Office, Purpose

DAY = timedelta(days=1)


def tell_client_of_quote(*, quote: Quote, by: Actor, now: datetime) -> CapabilityLink:
    """The offer with its link, which stays open well past the end of the offer."""
    days = (quote.valid_until - now) // DAY + Office.the().link_days
    link = make_link(
        purpose=Purpose.QUOTE, subject_id=quote.pk, holder_name=quote.client.name, holder_email=quote.client.email,
        by=by, now=now, days=days, job=quote.shoot.number,
    )  # fmt: skip
    _write("quote_offered", f"quote:{quote.pk}:offered", quote.client, quote.shoot, now, link=link, quote=quote)
    return link


def tell_client_what_follows(*, quote: Quote, deposit: Invoice | None, now: datetime) -> None:
    """The client has accepted: the visit's time or that one will be set, and the deposit if there is one."""
    _write("quote_accepted", f"quote:{quote.pk}:accepted", quote.client, quote.shoot, now, quote=quote, deposit=deposit)


def tell_client_quote_has_lapsed(*, quote: Quote, now: datetime) -> None:
    _write("quote_lapsed", f"quote:{quote.pk}:lapsed", quote.client, quote.shoot, now, quote=quote)


def tell_office_of_refusal(*, quote: Quote, now: datetime) -> None:
    """The office hears of a no; without an address of its own it finds it in the history of the job."""
    office = Office.the()
    if office.email:
        write_notice(
            key=f"quote:{quote.pk}:declined", template="quote_declined", to_name=office.name, to_address=office.email,
            now=now, job=quote.shoot.number, quote=quote,
        )  # fmt: skip


def tell_client_of_invoice(*, invoice: Invoice, by: Actor, now: datetime) -> None:
    """The invoice with its link, and as a PDF."""
    from .papers import invoice_pdf

    job = invoice.shoot.number if invoice.shoot else ""
    link = open_link_to(
        purpose=Purpose.INVOICE, subject_id=invoice.pk, holder_name=invoice.client.name,
        holder_email=invoice.client.email, by=by, now=now, job=job,
    )  # fmt: skip
    paper = Attachment(f"{invoice.number}.pdf", "application/pdf", invoice_pdf(invoice))
    _write(
        "invoice_issued", f"invoice-issued:{invoice.pk}", invoice.client, invoice.shoot, now, link=link,
        invoice=invoice, enclosures=[paper],
    )  # fmt: skip


def tell_client_of_payment(*, payment: Payment, now: datetime) -> None:
    allocations = list(payment.allocations.select_related("invoice").order_by("pk"))
    _write(
        "payment_received", f"payment-received:{payment.pk}", payment.client, None, now, payment=payment,
        allocations=allocations,
    )  # fmt: skip


def _write(template: str, key: str, client: Client, shoot: Shoot | None, now: datetime, **context: Any) -> None:
    write_notice(
        key=key, template=template, to_name=client.name, to_address=client.email, now=now,
        job=shoot.number if shoot else "", **context,
    )  # fmt: skip


def tell_client_of_order(*, order: PlacedOrder, to_name: str, now: datetime) -> None:
    """What was ordered and that a quote follows; it goes by the name typed, not by what we know of the address."""
    shoot = order.shoot
    write_notice(
        key=f"order-received:{order.pk}", template="order_received", to_name=to_name, to_address=shoot.client.email,
        now=now, job=shoot.number, order=order, shoot=shoot, add_ons=list(shoot.add_ons.select_related("add_on")),
    )  # fmt: skip
