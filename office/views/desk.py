"""The desk: what needs a person now, most costly first."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import resolve
from django.utils import timezone

from office.access import may_open, visitors
from office.registry import Matter, registry


def desk(request: HttpRequest) -> HttpResponse:
    """The matters whose one action this person may take."""
    now = timezone.now()
    matters = [matter for matter in registry.desk(now) if _may_clear(request, matter)]
    return render(request, "office/desk.html", {"matters": matters, "now": now})


def _may_clear(request: HttpRequest, matter: Matter) -> bool:
    path = matter.url.partition("#")[0].partition("?")[0]
    return may_open(resolve(path).view_name, visitors(request))
