"""The ledger: what is owed, what came in, and whether it adds up."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from billing.actions.ledger import books, standings
from billing.actions.payments import note_payment
from billing.actions.pricing import local_day
from billing.forms.money import ClientForm, PaymentForm
from billing.models import Invoice, Payment
from jobs.models import Client
from office.paging import page_of
from office.views.acting import attempt, say

LAST_PAYMENTS = 10


def ledger(request: HttpRequest) -> HttpResponse:
    """Owing by age, the open invoices longest due first, credits, and the last payments."""
    today = local_day(timezone.now())
    page = page_of(request, Invoice.objects.owing().with_paid().select_related("client", "shoot__property"))
    context = {
        "books": books(today, request.office.currency),
        "page": page,
        "standees": standings(page, today),
        "credits": Payment.objects.with_credit().select_related("client")[:LAST_PAYMENTS],
        "payments": _last_payments(),
    }
    return render(request, "billing/ledger.html", context)


def payment_new(request: HttpRequest) -> HttpResponse:
    """Whose money it is, then the payment itself."""
    who = ClientForm(request.GET or None)
    if not who.is_valid():
        return render(request, "billing/payment_client.html", {"form": who})
    client = who.cleaned_data["client"]
    form = PaymentForm(request.POST or None, client=client, initial=_initial(request))
    if form.is_valid() and (payment := _noted(request, form, client)):
        say(request, _("Noted; the client is thanked by mail.") + _credit_remark(payment))
        return redirect("billing:ledger")
    return render(request, "billing/payment.html", {"form": form, "client": client})


def _noted(request: HttpRequest, form: PaymentForm, client: Client) -> Payment | None:
    chosen = list(form.cleaned_data.pop("invoices", []))
    return attempt(request, form, note_payment, client=client, invoices=chosen, **form.cleaned_data)


def _initial(request: HttpRequest) -> dict[str, Any]:
    """Today, and the invoice whose page one comes from, with what is open on it."""
    initial: dict[str, Any] = {"received_on": local_day(timezone.now())}
    wanted = request.GET.get("invoice", "")
    found = Invoice.objects.owing().with_paid().filter(pk=wanted).first() if wanted.isdigit() else None
    if found:
        amount = round(found.total - found.paid, 2)
        initial |= {"invoices": [found.pk], "amount": amount, "currency": found.currency}
    return initial


def _credit_remark(payment: Payment) -> str:
    return " " + _("What no invoice took is kept as credit.") if payment.credit else ""


def _last_payments() -> Any:
    rows = Payment.objects.select_related("client").prefetch_related("allocations__invoice")
    return rows.order_by("-pk")[:LAST_PAYMENTS]
