"""What a client sees by link: a quote to answer, an invoice to pay."""

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from billing.actions.ledger import standings
from billing.actions.pricing import local_day
from billing.actions.quotes import accept_quote, decline_quote
from billing.forms.quotes import AcceptForm, DeclineForm
from billing.models import Invoice, Quote, QuoteState
from office.access import link_to
from office.actions.links import note_use, url_of
from office.models import CapabilityLink, Purpose
from office.views.acting import attempt, say
from office.views.links import link_closed

from .files import pdf


@never_cache
def client_quote(request: HttpRequest, pk: int) -> HttpResponse:
    """The offer with its reasons, and the two answers while it is open."""
    link = link_to(request, Purpose.QUOTE, pk)
    if link is None:
        return link_closed(request)
    names = {"name": link.holder_name}
    return _quote_page(request, pk, AcceptForm(initial=names), DeclineForm(initial=names))


@require_POST
def client_quote_accept(request: HttpRequest, pk: int) -> HttpResponse:
    """The client's yes."""
    link, form = link_to(request, Purpose.QUOTE, pk), AcceptForm(request.POST)
    if link is None:
        return link_closed(request)
    if _answered(request, link, form, accept_quote):
        say(request, _("Thank you. You have it in writing by mail."))
        return redirect("billing:client-quote", pk)
    return _quote_page(request, pk, form, DeclineForm(initial={"name": link.holder_name}))


@require_POST
def client_quote_decline(request: HttpRequest, pk: int) -> HttpResponse:
    """The client's no."""
    link, form = link_to(request, Purpose.QUOTE, pk), DeclineForm(request.POST)
    if link is None:
        return link_closed(request)
    if _answered(request, link, form, decline_quote):
        say(request, _("Noted. Thank you for telling us."))
        return redirect("billing:client-quote", pk)
    return _quote_page(request, pk, AcceptForm(initial={"name": link.holder_name}), form)


@never_cache
def client_quote_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    from billing.actions.papers import quote_pdf

    link = link_to(request, Purpose.QUOTE, pk)
    if link is None:
        return link_closed(request)
    quote = _quote(pk)
    return pdf(quote_pdf(quote, url_of(link)), quote.number)


@never_cache
def client_invoice(request: HttpRequest, pk: int) -> HttpResponse:
    """The invoice, what is paid on it and how to pay the rest."""
    if link_to(request, Purpose.INVOICE, pk) is None:
        return link_closed(request)
    invoice = Invoice.objects.on_paper().with_paid().get(pk=pk)
    (standee,) = standings([invoice], local_day(timezone.now()))
    return render(request, "billing/client_invoice.html", {"invoice": invoice, "standing": standee.standing})


@never_cache
def client_invoice_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    from billing.actions.papers import invoice_pdf

    if link_to(request, Purpose.INVOICE, pk) is None:
        return link_closed(request)
    invoice = Invoice.objects.on_paper().get(pk=pk)
    return pdf(invoice_pdf(invoice), invoice.number)


def _answered(
    request: HttpRequest, link: CapabilityLink, form: AcceptForm | DeclineForm, action: Callable[..., Quote]
) -> Quote | None:
    """The answer, with the network it came from as its evidence."""
    if not form.is_valid():
        return None
    note_use(link=link, what="answered", address=request.META.get("REMOTE_ADDR", ""), now=timezone.now())
    network = link.uses.values_list("network", flat=True).first() or ""
    quote = Quote.objects.get(pk=link.subject_id)
    return attempt(request, form, action, holder=link, quote=quote, from_network=network, **form.cleaned_data)


def _quote(pk: int) -> Quote:
    return Quote.objects.with_lines().select_related("shoot__package").get(pk=pk)


def _quote_page(request: HttpRequest, pk: int, yes: AcceptForm, no: DeclineForm) -> HttpResponse:
    quote = _quote(pk)
    open_until = quote.state == QuoteState.OFFERED and quote.valid_until > timezone.now()
    context: dict[str, Any] = {"quote": quote, "is_open": open_until, "yes_form": yes, "no_form": no}
    return render(request, "billing/client_quote.html", context)
