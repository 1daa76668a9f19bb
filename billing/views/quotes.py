"""Quotes, as the office sees them."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from billing.actions.quotes import accept_quote, decline_quote, offer_quote, withdraw_quote
from billing.forms.quotes import ToldNoForm, ToldYesForm
from billing.models import Quote, QuoteState
from jobs.models import Shoot
from office.actions.links import url_of
from office.models import CapabilityLink, Purpose
from office.paging import page_of
from office.views.acting import act, attempt, say

from .files import pdf


def quotes(request: HttpRequest) -> HttpResponse:
    """All quotes, newest first, or those in one state."""
    rows = Quote.objects.select_related("client", "shoot__property").order_by("-pk")
    wanted = request.GET.get("state", "")
    if wanted in QuoteState.values:
        rows = rows.filter(state=wanted)
    context = {"page": page_of(request, rows), "states": QuoteState.choices, "wanted": wanted}
    return render(request, "billing/quotes.html", context)


@require_POST
def quote_offer(request: HttpRequest, number: str) -> HttpResponse:
    """Offer what the shoot costs now."""
    shoot = get_object_or_404(Shoot, number=number)
    quote = act(request, offer_quote, shoot=shoot)
    say(request, _("Offered; the client has the link by mail."))
    return redirect(quote)


def quote(request: HttpRequest, number: str) -> HttpResponse:
    return _page(request, _found(number), ToldYesForm(), ToldNoForm())


@require_POST
def quote_accept(request: HttpRequest, number: str) -> HttpResponse:
    """The client's yes, told to the office."""
    found, form = _found(number), ToldYesForm(request.POST)
    if form.is_valid() and attempt(request, form, accept_quote, quote=found, **form.cleaned_data):
        say(request, _("Accepted; the client is told what follows."))
        return redirect(found)
    return _page(request, _found(number), form, ToldNoForm())


@require_POST
def quote_decline(request: HttpRequest, number: str) -> HttpResponse:
    """The client's no, told to the office."""
    found, form = _found(number), ToldNoForm(request.POST)
    if form.is_valid() and attempt(request, form, decline_quote, quote=found, **form.cleaned_data):
        say(request, _("Noted."))
        return redirect(found)
    return _page(request, _found(number), ToldYesForm(), form)


@require_POST
def quote_withdraw(request: HttpRequest, number: str) -> HttpResponse:
    found = _found(number)
    act(request, withdraw_quote, quote=found)
    say(request, _("Withdrawn."))
    return redirect(found)


def quote_pdf(request: HttpRequest, number: str) -> HttpResponse:
    from billing.actions.papers import quote_pdf as paper_of

    found = _found(number)
    link = _link_of(found)
    return pdf(paper_of(found, url_of(link) if link else ""), found.number)


def _found(number: str) -> Quote:
    return get_object_or_404(Quote.objects.with_lines().select_related("shoot__package"), number=number)


def _link_of(found: Quote) -> CapabilityLink | None:
    return CapabilityLink.objects.open(timezone.now()).to(Purpose.QUOTE, found.pk).first()


def _page(request: HttpRequest, found: Quote, yes: ToldYesForm, no: ToldNoForm) -> HttpResponse:
    link = _link_of(found)
    context: dict[str, Any] = {
        "quote": found, "yes_form": yes, "no_form": no, "link": link,
        "uses": link.uses.all()[:5] if link else [],
    }  # fmt: skip
    return render(request, "billing/quote.html", context)
