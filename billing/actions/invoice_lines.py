"""What is left to invoice of a quote, and what the lines of an invoice come to."""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal

from django.utils.translation import gettext as _

from billing.models import Invoice, InvoiceKind, InvoiceLine, InvoiceState, InvoiceTax, Quote, TaxRate, TrueUpState
from billing.rules.bill import Bill, Rate, TaxDue, bill
from billing.rules.tax import TaxRounding

ONE = Decimal(1)


def left_to_invoice(quote: Quote) -> list[InvoiceLine]:
    """Lines not stored yet: the work unless invoiced, an accepted true-up, and the deposit to take off."""
    invoices = quote.invoices.exclude(state=InvoiceState.VOID)
    work = [] if invoices.filter(kind=InvoiceKind.WORK).exists() else work_lines(quote)
    lines = [*work, *_true_up_lines(quote)]
    return [*lines, *deposit_lines(quote)] if lines else []


def work_lines(quote: Quote) -> list[InvoiceLine]:
    """The lines of the quote."""
    names = ("code", "text", "quantity", "unit_price", "amount", "why")
    return [InvoiceLine(**{name: getattr(line, name) for name in names}) for line in quote.lines.all()]


def _true_up_lines(quote: Quote) -> list[InvoiceLine]:
    true_up = getattr(quote, "true_up", None)
    if true_up is None or true_up.state != TrueUpState.ACCEPTED:
        return []
    standing = InvoiceLine.objects.filter(invoice__quote=quote, code="true_up").exclude(
        invoice__state=InvoiceState.VOID
    )
    if standing.exists():
        return []
    text, amount = _("True-up to the measured area"), true_up.difference
    return [InvoiceLine(code="true_up", text=text, quantity=ONE, unit_price=amount, amount=amount, why=true_up.why)]


def deposit_lines(quote: Quote) -> list[InvoiceLine]:
    """What takes the deposit off, unless a standing invoice does so already."""
    deposit = quote.invoices.filter(kind=InvoiceKind.DEPOSIT).exclude(state=InvoiceState.VOID).first()
    if deposit is None:
        return []
    standing = InvoiceLine.objects.filter(deducts=deposit).exclude(invoice__state=InvoiceState.VOID)
    if standing.exists():
        return []
    text, off = _("Deposit, invoiced on %s") % deposit.number, -deposit.net
    return [InvoiceLine(code="deposit", text=text, quantity=ONE, unit_price=off, amount=off, deducts=deposit)]


def append_lines(invoice: Invoice, lines: Iterable[InvoiceLine]) -> None:
    """Store the lines below those that stand."""
    last = invoice.lines.order_by("-position").values_list("position", flat=True).first() or 0
    for position, line in enumerate(lines, last + 1):
        line.invoice, line.position = invoice, position
        line.save(force_insert=True)


def reckon(invoice: Invoice, on_day: date) -> Invoice:
    """Bring net, taxes and total to what the lines come to, at the quote's rates or, without one, the day's."""
    lines = list(invoice.lines.select_related("deducts"))
    found = bill(
        [line.amount for line in lines if line.deducts is None],
        _rates(invoice, on_day),
        invoice.currency,
        rounding=TaxRounding(invoice.tax_rounding),
        deducted=[bill_of(line.deducts) for line in lines if line.deducts is not None],
    )
    invoice.taxes.all().delete()
    InvoiceTax.objects.bulk_create(InvoiceTax(invoice=invoice, **vars(tax)) for tax in found.taxes)
    invoice.net, invoice.total = found.net, found.total
    invoice.save(update_fields=["net", "total"])
    return invoice


def bill_of(invoice: Invoice) -> Bill:
    """What an invoice came to, as the rule reads it."""
    taxes = (TaxDue(tax.name, tax.percent, tax.base, tax.amount) for tax in invoice.taxes.all())
    return Bill(invoice.net, tuple(taxes))


def _rates(invoice: Invoice, on_day: date) -> list[Rate]:
    rows = invoice.quote.taxes.all() if invoice.quote else TaxRate.objects.on(on_day)
    return [Rate(row.name, row.percent) for row in rows]
