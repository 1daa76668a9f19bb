"""The desk: what needs a person now, most costly first."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from office.registry import registry


def desk(request: HttpRequest) -> HttpResponse:
    now = timezone.now()
    return render(request, "office/desk.html", {"matters": registry.desk(now), "now": now})
