from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from jobs.actions.properties import add_property, change_property
from jobs.actions.shapes import shape_json
from jobs.forms.properties import PropertyForm
from jobs.models import Property
from office.paging import page_of
from office.views.acting import attempt, say


def properties(request: HttpRequest) -> HttpResponse:
    rows = Property.objects.order_by("street", "pk")
    return render(request, "jobs/properties.html", {"page": page_of(request, rows)})


def property_new(request: HttpRequest) -> HttpResponse:
    form = PropertyForm(request.POST or None)
    if form.is_valid() and (house := attempt(request, form, add_property, fields=form.cleaned_data)):
        say(request, _("Added. Enter its levels and spaces next."))
        return redirect("jobs:property-spaces", house.pk)
    return render(request, "jobs/property_form.html", {"form": form})


def property_page(request: HttpRequest, pk: int) -> HttpResponse:
    """One building: its levels, spaces and openings, and the jobs done there."""
    house = get_object_or_404(Property.objects.with_shape(), pk=pk)
    page = page_of(request, house.shoots.with_people().order_by("-pk"))
    return render(request, "jobs/property.html", {"house": house, "page": page})


def property_edit(request: HttpRequest, pk: int) -> HttpResponse:
    house = get_object_or_404(Property, pk=pk)
    form = PropertyForm(request.POST or None, instance=house)
    if form.is_valid() and attempt(request, form, change_property, house=house, fields=form.cleaned_data):
        say(request, _("Saved."))
        return redirect("jobs:property", pk)
    return render(request, "jobs/property_form.html", {"form": form, "house": Property.objects.get(pk=pk)})


def property_export(request: HttpRequest, pk: int) -> HttpResponse:
    """The property as the file that the walk check reads."""
    house = get_object_or_404(Property.objects.with_shape(), pk=pk)
    response = JsonResponse(shape_json(house), json_dumps_params={"indent": 1, "ensure_ascii": False})
    response["Content-Disposition"] = f'attachment; filename="property-{house.pk}.json"'
    return response
