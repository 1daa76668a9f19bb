"""Levels, spaces and openings of a property: started from a few figures, refined one by one, or typed as lines."""

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from jobs.actions.properties import import_shape, set_shape
from jobs.actions.shapes import shape_of
from jobs.actions.spaces import (
    add_level,
    add_opening,
    add_space,
    change_level,
    change_space,
    copy_shape,
    enter_by,
    remove_level,
    remove_opening,
    remove_space,
    start_shape,
)
from jobs.forms.shape import ShapeForm
from jobs.forms.spaces import LevelForm, NewLevelForm, NewSpaceForm, OpeningForm, PropertyFileForm, SpaceForm, StartForm
from jobs.models import Level, Opening, Property, Space, SpaceKind
from jobs.rules.shape_notes import shape_notes
from office.views.acting import act, attempt, say


@dataclass(frozen=True)
class SpaceRow:
    """One space as its row shows it, with where its openings lead."""

    space: Space
    beside: list[tuple[Opening, Space]]


def property_spaces(request: HttpRequest, pk: int) -> HttpResponse:
    """The levels with their spaces, what to look at again, and ways to start where there is nothing yet."""
    return _editor(request, _house(pk))


@require_POST
def property_start(request: HttpRequest, pk: int) -> HttpResponse:
    house = _house(pk)
    form = StartForm(request.POST)
    if form.is_valid() and attempt(request, form, start_shape, house=house, facts=form.facts()):
        say(request, _("A first shape stands; refine it in the house."))
        return redirect("jobs:property-spaces", pk)
    return _editor(request, house, start_form=form)


@require_POST
def property_copy(request: HttpRequest, pk: int, source: int) -> HttpResponse:
    """From an earlier row of the same building only."""
    house = _house(pk)
    earlier = get_object_or_404(Property.objects.at_same_address(house), pk=source)
    act(request, copy_shape, house=house, source=earlier)
    say(request, _("Copied. Look through it: houses change."))
    return redirect("jobs:property-spaces", pk)


def property_lines(request: HttpRequest, pk: int) -> HttpResponse:
    """Levels, spaces and openings as plain lines, quick to type and to copy."""
    house = _house(pk)
    form = ShapeForm(request.POST or None, initial=ShapeForm.of_house(house))
    if form.is_valid() and attempt(request, form, set_shape, house=house, shape=form.shape):
        say(request, _("Saved."))
        return redirect("jobs:property-spaces", pk)
    context = {"form": form, "house": house, "file_form": PropertyFileForm()}
    return render(request, "jobs/property_lines.html", context)


@require_POST
def property_import(request: HttpRequest, pk: int) -> HttpResponse:
    """The file that the walk check reads."""
    house = _house(pk)
    form = PropertyFileForm(request.POST, request.FILES)
    if form.is_valid() and attempt(request, form, import_shape, house=house, **form.file()):
        say(request, _("The property is in."))
        return redirect("jobs:property-spaces", pk)
    context = {"form": ShapeForm(initial=ShapeForm.of_house(house)), "house": house, "file_form": form}
    return render(request, "jobs/property_lines.html", context)


def level_new(request: HttpRequest, pk: int) -> HttpResponse:
    house = _house(pk)
    form = NewLevelForm(request.POST or None)
    if form.is_valid() and (level := attempt(request, form, add_level, house=house, fields=form.cleaned_data)):
        return _back(level)
    return render(request, "jobs/property_level.html", {"form": form, "house": house})


def level(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Level.objects.select_related("property"), pk=pk)
    form = LevelForm(request.POST or None, instance=found)
    if form.is_valid() and attempt(
        request, form, change_level, level=Level.objects.get(pk=pk), fields=form.cleaned_data
    ):
        return _back(found)
    context = {"form": form, "level": Level.objects.get(pk=pk), "house": found.property}
    return render(request, "jobs/property_level.html", context)


@require_POST
def level_remove(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Level.objects.select_related("property"), pk=pk)
    act(request, remove_level, level=found)
    return redirect("jobs:property-spaces", found.property_id)


@require_POST
def space_add(request: HttpRequest, pk: int) -> HttpResponse:
    """One more space on a level."""
    found = get_object_or_404(Level.objects.select_related("property"), pk=pk)
    form = NewSpaceForm(request.POST, house=found.property)
    if form.is_valid():
        act(request, add_space, house=found.property, level=found, **form.cleaned_data)
    return _back(found)


def space(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Space.objects.select_related("property", "level"), pk=pk)
    form = SpaceForm(request.POST or None, instance=found)
    if form.is_valid() and attempt(
        request, form, change_space, space=Space.objects.get(pk=pk), fields=form.cleaned_data
    ):
        return _back(Space.objects.get(pk=pk).level)
    context = {"form": form, "space": Space.objects.select_related("property").get(pk=pk)}
    return render(request, "jobs/property_space.html", context)


@require_POST
def space_remove(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Space.objects.select_related("property", "level"), pk=pk)
    act(request, remove_space, space=found)
    return _back(found.level)


@require_POST
def space_enter(request: HttpRequest, pk: int) -> HttpResponse:
    """Make it the entrance."""
    found = get_object_or_404(Space.objects.select_related("property", "level"), pk=pk)
    act(request, enter_by, space=found)
    return _back(found.level)


@require_POST
def opening_add(request: HttpRequest, pk: int) -> HttpResponse:
    house = _house(pk)
    form = OpeningForm(request.POST, house=house)
    if form.is_valid() and attempt(request, form, add_opening, house=house, **form.cleaned_data):
        return redirect(reverse("jobs:property-spaces", args=[pk]) + "#openings")
    return _editor(request, house, opening_form=form)


@require_POST
def opening_remove(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Opening.objects.select_related("property", "one", "other"), pk=pk)
    act(request, remove_opening, opening=found)
    return redirect(reverse("jobs:property-spaces", args=[found.property_id]) + "#openings")


def _house(pk: int) -> Property:
    return get_object_or_404(Property.objects.with_shape(), pk=pk)


def _back(level: Level) -> HttpResponse:
    """The editor, at this level."""
    return redirect(reverse("jobs:property-spaces", args=[level.property_id]) + f"#level-{level.pk}")


def _editor(request: HttpRequest, house: Property, **forms: Any) -> HttpResponse:
    spaces = list(house.spaces.all())
    context = {
        "house": house,
        "levels": [(level, _rows(house, level)) for level in reversed(house.levels.all())],
        "notes": shape_notes(shape_of(house)) if spaces else (),
        "kinds": SpaceKind.choices,
        "earlier": [] if spaces else Property.objects.at_same_address(house).with_counts(),
        "start_form": StartForm(initial={"levels": house.level_count}),
        "opening_form": OpeningForm(house=house),
        **forms,
    }
    return render(request, "jobs/property_spaces.html", context)


def _rows(house: Property, level: Level) -> list[SpaceRow]:
    names = {space.pk: space for space in house.spaces.all()}
    return [
        SpaceRow(space, [(opening, names[opening.across(space)]) for opening in house.openings_of(space)])
        for space in house.spaces.all()
        if space.level_id == level.pk
    ]
