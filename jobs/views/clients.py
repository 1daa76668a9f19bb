from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from jobs.actions.clients import add_client, change_client
from jobs.forms.clients import ClientForm
from jobs.models import Client
from office.paging import page_of
from office.views.acting import attempt, say


def clients(request: HttpRequest) -> HttpResponse:
    return render(request, "jobs/clients.html", {"page": page_of(request, Client.objects.order_by("name", "pk"))})


def client_new(request: HttpRequest) -> HttpResponse:
    form = ClientForm(request.POST or None)
    if form.is_valid() and (client := attempt(request, form, add_client, fields=form.cleaned_data)):
        say(request, _("Added."))
        return redirect("jobs:client", client.pk)
    return render(request, "jobs/client_form.html", {"form": form})


def client(request: HttpRequest, pk: int) -> HttpResponse:
    """One client and their jobs, newest first."""
    found = get_object_or_404(Client, pk=pk)
    page = page_of(request, found.shoots.with_people().order_by("-pk"))
    return render(request, "jobs/client.html", {"client": found, "page": page})


def client_edit(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Client, pk=pk)
    form = ClientForm(request.POST or None, instance=found)
    if form.is_valid() and attempt(request, form, change_client, client=found, fields=form.cleaned_data):
        say(request, _("Saved."))
        return redirect("jobs:client", pk)
    return render(request, "jobs/client_form.html", {"form": form, "client": Client.objects.get(pk=pk)})
