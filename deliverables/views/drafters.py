"""The owner's pages on drafters."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from deliverables.actions.drafters import add_drafter, change_drafter, send_link
from deliverables.forms.drafters import DrafterForm
from deliverables.models import Drafter
from office.models.fields import office_week, zones
from office.views.acting import act, attempt, say


def drafters(request: HttpRequest) -> HttpResponse:
    rows = Drafter.objects.order_by("-active", "name", "pk").with_orders_out()
    return render(request, "deliverables/drafters.html", {"drafters": rows})


def drafter_new(request: HttpRequest) -> HttpResponse:
    usual = {"zone": request.office.zone, "currency": request.office.currency, "hours": office_week()}
    form = DrafterForm(request.POST or None, initial=usual)
    if form.is_valid() and attempt(request, form, add_drafter, fields=form.cleaned_data):
        say(request, _("Added: %s") % form.cleaned_data["name"])
        return redirect("deliverables:drafters")
    return render(request, "deliverables/drafter.html", {"form": form, "drafter": None, "zones": sorted(zones())})


def drafter(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Drafter, pk=pk)
    form = DrafterForm(request.POST or None, instance=found)
    if form.is_valid() and attempt(request, form, change_drafter, drafter=found, fields=form.cleaned_data):
        say(request, _("Saved."))
        return redirect("deliverables:drafters")
    found.refresh_from_db()
    return render(request, "deliverables/drafter.html", {"form": form, "drafter": found, "zones": sorted(zones())})


@require_POST
def drafter_link(request: HttpRequest, pk: int) -> HttpResponse:
    """Mail the drafter their link once more."""
    found = get_object_or_404(Drafter, pk=pk)
    act(request, send_link, drafter=found)
    say(request, _("The link is on its way to %s.") % found.email)
    return redirect("deliverables:drafter", pk)
