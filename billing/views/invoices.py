"""Invoices, as the office sees them."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from billing.actions.invoices import (
    add_invoice_line,
    draw_up_invoice,
    issue_invoice,
    remove_invoice_line,
    void_invoice,
)
from billing.actions.ledger import standings
from billing.actions.payments import use_credit
from billing.actions.pricing import local_day
from billing.actions.true_ups import accept_true_up, waive_true_up
from billing.forms.money import LineForm
from billing.models import Invoice, InvoiceLine, InvoiceState, Payment, TrueUp
from jobs.models import Shoot
from office.paging import page_of
from office.views.acting import act, attempt, say

from .files import pdf


def invoices(request: HttpRequest) -> HttpResponse:
    """All invoices, newest first, or those in one state."""
    rows = Invoice.objects.with_paid().select_related("client", "shoot__property").order_by("-pk")
    wanted = request.GET.get("state", "")
    if wanted in InvoiceState.values:
        rows = rows.filter(state=wanted)
    page = page_of(request, rows)
    context = {
        "page": page, "standees": standings(page, local_day(timezone.now())), "states": InvoiceState.choices,
        "wanted": wanted,
    }  # fmt: skip
    return render(request, "billing/invoices.html", context)


@require_POST
def invoice_draw_up(request: HttpRequest, number: str) -> HttpResponse:
    """Draw up a draft for a shoot."""
    shoot = get_object_or_404(Shoot, number=number)
    invoice = act(request, draw_up_invoice, shoot=shoot)
    say(request, _("Drawn up. Look it through, then issue it."))
    return redirect(invoice)


def invoice(request: HttpRequest, pk: int) -> HttpResponse:
    return _page(request, pk, LineForm())


@require_POST
def invoice_line_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a line on a draft by hand."""
    found, form = get_object_or_404(Invoice, pk=pk), LineForm(request.POST)
    if form.is_valid() and attempt(request, form, add_invoice_line, invoice=found, **form.cleaned_data):
        return redirect(found)
    return _page(request, pk, form)


@require_POST
def invoice_line_remove(request: HttpRequest, pk: int, line_pk: int) -> HttpResponse:
    line = get_object_or_404(InvoiceLine.objects.select_related("invoice"), pk=line_pk, invoice=pk)
    act(request, remove_invoice_line, line=line)
    return redirect(line.invoice)


@require_POST
def invoice_issue(request: HttpRequest, pk: int) -> HttpResponse:
    found = act(request, issue_invoice, invoice=get_object_or_404(Invoice, pk=pk))
    say(request, _("%s is issued and on its way to the client.") % found.number)
    return redirect(found)


@require_POST
def invoice_void(request: HttpRequest, pk: int) -> HttpResponse:
    found = act(request, void_invoice, invoice=get_object_or_404(Invoice, pk=pk))
    say(request, _("The draft is void."))
    return redirect(found)


@require_POST
def invoice_use_credit(request: HttpRequest, pk: int) -> HttpResponse:
    found = act(request, use_credit, invoice=get_object_or_404(Invoice, pk=pk))
    say(request, _("The credit is used."))
    return redirect(found)


def invoice_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    from billing.actions.papers import invoice_pdf as paper_of

    found = get_object_or_404(Invoice.objects.on_paper(), pk=pk)
    return pdf(paper_of(found), found.number or f"draft-{found.pk}")


@require_POST
def true_up_accept(request: HttpRequest, pk: int) -> HttpResponse:
    true_up = act(request, accept_true_up, true_up=_true_up(pk))
    say(request, _("Accepted; it stands on the next invoice."))
    return redirect(true_up.quote.shoot)


@require_POST
def true_up_waive(request: HttpRequest, pk: int) -> HttpResponse:
    true_up = act(request, waive_true_up, true_up=_true_up(pk))
    say(request, _("Waived; the quoted price stands."))
    return redirect(true_up.quote.shoot)


def _true_up(pk: int) -> TrueUp:
    return get_object_or_404(TrueUp.objects.select_related("quote__shoot__property"), pk=pk)


def _page(request: HttpRequest, pk: int, line_form: LineForm) -> HttpResponse:
    found = get_object_or_404(Invoice.objects.on_paper().with_paid(), pk=pk)
    (standee,) = standings([found], local_day(timezone.now()))
    is_draft = found.state == InvoiceState.DRAFT
    context = {
        "invoice": found,
        "standing": standee.standing,
        "allocations": found.allocations.select_related("payment").order_by("pk"),
        "line_form": line_form if is_draft else None,
        "credit": _has_credit(found),
    }
    return render(request, "billing/invoice.html", context)


def _has_credit(found: Invoice) -> bool:
    credit = Payment.objects.with_credit().filter(client=found.client, currency=found.currency)
    return found.state == InvoiceState.ISSUED and credit.exists()
