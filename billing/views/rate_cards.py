"""Rate cards, as they stand."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from billing.actions.pricing import local_day
from billing.models import RateCard, TaxRate
from office.paging import page_of


def rate_cards(request: HttpRequest) -> HttpResponse:
    """All cards, the newest number first, and which one prices an order of today."""
    today = local_day(timezone.now())
    page = page_of(request, RateCard.objects.select_related("client").order_by("-pk"))
    context = {"page": page, "today": today, "in_force": RateCard.objects.in_force(today)}
    return render(request, "billing/rate_cards.html", context)


def rate_card(request: HttpRequest, number: int) -> HttpResponse:
    """One card, row by row, with the taxes of today."""
    today = local_day(timezone.now())
    card = get_object_or_404(RateCard.objects.with_rows(), number=number)
    in_force = RateCard.objects.in_force(today)
    context = {"card": card, "today": today, "in_force": in_force, "taxes": TaxRate.objects.on(today)}
    return render(request, "billing/rate_card.html", context)


def tax_rates(request: HttpRequest) -> HttpResponse:
    """The taxes the office adds, with their days."""
    return render(request, "billing/tax_rates.html", {"rates": TaxRate.objects.order_by("name", "-starts_on")})
