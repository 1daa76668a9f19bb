"""The walk: stations logged one by one or from a file, and the walk check while the crew can still go back."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from jobs.actions.shapes import shape_of, stations_of
from jobs.actions.verdicts import judge, minutes_of, planned_walk
from jobs.actions.walks import import_walk, log_station, remove_station, walk_csv
from jobs.forms.walk import StationForm, WalkFileForm
from jobs.models import Property, Shoot, Station
from jobs.rules.walk_sketch import closures, sketch_levels
from office.views.acting import act, attempt, say


def walk(request: HttpRequest, number: str) -> HttpResponse:
    """The log so far, the next station, and the verdict."""
    shoot = _shoot(number)
    form = StationForm(request.POST or None, shoot=shoot)
    if form.is_valid() and attempt(request, form, log_station, shoot=shoot, fields=form.cleaned_data):
        say(request, _("Station %d is logged.") % form.cleaned_data["number"])
        return redirect("jobs:walk", number)
    return _page(request, shoot, form, WalkFileForm())


@require_POST
def walk_remove(request: HttpRequest, number: str, pk: int) -> HttpResponse:
    station = get_object_or_404(Station.objects.select_related("shoot"), pk=pk, shoot__number=number)
    act(request, remove_station, station=station)
    say(request, _("Taken out."))
    return redirect("jobs:walk", number)


@require_POST
def walk_import(request: HttpRequest, number: str) -> HttpResponse:
    """Replace the log by a file."""
    shoot = _shoot(number)
    form = WalkFileForm(request.POST, request.FILES)
    if form.is_valid() and attempt(request, form, import_walk, shoot=shoot, **form.file()):
        say(request, _("The walk is in."))
        return redirect("jobs:walk", number)
    return _page(request, shoot, StationForm(None, shoot=shoot), form)


def walk_export(request: HttpRequest, number: str) -> HttpResponse:
    response = HttpResponse(walk_csv(_shoot(number)), content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="walk-{number}.csv"'
    return response


def _shoot(number: str) -> Shoot:
    return get_object_or_404(Shoot.objects.select_related("property", "package"), number=number)


def _page(request: HttpRequest, shoot: Shoot, form: StationForm, file_form: WalkFileForm) -> HttpResponse:
    planned = planned_walk(shoot)
    stations = stations_of(shoot)
    house = Property.objects.with_shape().get(pk=shoot.property_id)
    verdict = judge(shoot)
    context = {
        "shoot": shoot,
        "house": house,
        "stations": shoot.stations.in_order(),
        "verdict": verdict,
        "sketches": sketch_levels(shape_of(house), stations, verdict.keep_out),
        "closures": closures(stations),
        "planned": planned,
        "minutes": minutes_of(planned),
        "photos": shoot.photos.select_related("station__space", "taken_by"),
        "form": form,
        "file_form": file_form,
    }
    return render(request, "jobs/walk.html", context)
