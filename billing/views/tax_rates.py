"""The taxes the office adds."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from billing.actions.taxes import add_tax_rate, change_tax_rate
from billing.forms.taxes import TaxForm
from billing.models import TaxRate
from office.views.acting import attempt, say


def tax_rates(request: HttpRequest) -> HttpResponse:
    """All of them, with their days."""
    return render(request, "billing/tax_rates.html", {"rates": TaxRate.objects.order_by("name", "-starts_on")})


def tax_rate_new(request: HttpRequest) -> HttpResponse:
    form = TaxForm(request.POST or None)
    if form.is_valid() and attempt(request, form, add_tax_rate, fields=form.cleaned_data):
        say(request, _("Added."))
        return redirect("billing:tax-rates")
    return render(request, "billing/tax_rate.html", {"form": form})


def tax_rate(request: HttpRequest, pk: int) -> HttpResponse:
    rate = get_object_or_404(TaxRate, pk=pk)
    form = TaxForm(request.POST or None, instance=rate)
    if form.is_valid() and attempt(request, form, change_tax_rate, rate=rate, fields=form.cleaned_data):
        say(request, _("Saved."))
        return redirect("billing:tax-rates")
    return render(request, "billing/tax_rate.html", {"form": form, "rate": TaxRate.objects.get(pk=pk)})
