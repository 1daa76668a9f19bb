"""The shoot: one page for the whole job, in the order of the job."""

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from jobs.actions.shoots import (
    close_shoot,
    confirm_shoot,
    note_captured,
    pencil_shoot,
    set_tour_links,
)
from jobs.forms.shoots import LinksForm, ShootForm
from jobs.models import Shoot, ShootState
from office.paging import page_of
from office.registry import registry
from office.views.acting import act, attempt, say


def shoots(request: HttpRequest) -> HttpResponse:
    """All jobs, newest first, or those in one state."""
    rows = Shoot.objects.with_people().order_by("-pk")
    wanted = request.GET.get("state", "")
    if wanted in ShootState.values:
        rows = rows.filter(state=wanted)
    context = {"page": page_of(request, rows), "states": ShootState.choices, "wanted": wanted}
    return render(request, "jobs/shoots.html", context)


def shoot_new(request: HttpRequest) -> HttpResponse:
    """Take an order."""
    form = ShootForm(request.POST or None, initial=request.GET.dict())
    if form.is_valid() and (shoot := attempt(request, form, pencil_shoot, **form.order())):
        say(request, _("Pencilled."))
        return redirect(shoot)
    return render(request, "jobs/shoot_new.html", {"form": form})


def shoot(request: HttpRequest, number: str) -> HttpResponse:
    """Order, visit, walk, plan, handover, money, history: each floor shows its part."""
    found = get_object_or_404(Shoot.objects.with_people(), number=number)
    sections = [(section, section.context(request, found.pk)) for section in registry.job_sections()]
    return render(request, "jobs/shoot.html", {"shoot": found, "sections": sections})


@require_POST
def shoot_confirm(request: HttpRequest, number: str) -> HttpResponse:
    return _change(request, number, confirm_shoot, _("Confirmed; the client is told."))


@require_POST
def shoot_captured(request: HttpRequest, number: str) -> HttpResponse:
    return _change(request, number, note_captured, _("Captured; the editing tasks are set."))


@require_POST
def shoot_close(request: HttpRequest, number: str) -> HttpResponse:
    return _change(request, number, close_shoot, _("Closed."))


def shoot_links(request: HttpRequest, number: str) -> HttpResponse:
    """Where the capture and the tour are."""
    found = get_object_or_404(Shoot, number=number)
    form = LinksForm(request.POST or None, instance=found)
    if form.is_valid() and attempt(request, form, set_tour_links, shoot=found, fields=form.cleaned_data):
        say(request, _("Saved."))
        return redirect(found)
    return render(request, "jobs/shoot_links.html", {"form": form, "shoot": found})


def _change(request: HttpRequest, number: str, action: Callable[..., Any], done: str) -> HttpResponse:
    found = get_object_or_404(Shoot, number=number)
    act(request, action, shoot=found)
    say(request, done)
    return redirect(found)
