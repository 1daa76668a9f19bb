"""The owner's pages: the office itself and its people."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from office.actions.offices import change_office
from office.actions.people import change_person, invite_person
from office.forms.office import OfficeForm
from office.forms.people import PersonForm
from office.models import Office, Person
from office.views.acting import attempt, say


def settings(request: HttpRequest) -> HttpResponse:
    """The office's own details."""
    form = OfficeForm(request.POST or None, instance=Office.the())
    if form.is_valid() and attempt(request, form, change_office, fields=form.cleaned_data):
        say(request, _("Saved."))
        return redirect("office:settings")
    return render(request, "office/settings.html", {"form": form})


def people(request: HttpRequest) -> HttpResponse:
    return render(request, "office/people.html", {"people": Person.objects.order_by("-is_active", "name")})


def person_new(request: HttpRequest) -> HttpResponse:
    """Invite somebody; they choose their own password from the mail."""
    form = PersonForm(request.POST or None)
    if form.is_valid() and attempt(request, form, invite_person, fields=form.cleaned_data):
        say(request, _("Invited: %s") % form.cleaned_data["email"])
        return redirect("office:people")
    return render(request, "office/person.html", {"form": form, "person": None})


def person(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Person, pk=pk)
    form = PersonForm(request.POST or None, instance=found)
    if form.is_valid() and attempt(request, form, change_person, person=found, fields=form.cleaned_data):
        say(request, _("Saved."))
        return redirect("office:people")
    return render(request, "office/person.html", {"form": form, "person": found})
