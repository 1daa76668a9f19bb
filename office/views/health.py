"""For the machines that watch: is the process up, is the database there, and what crawlers may not open."""

from django.db import connection
from django.http import HttpRequest, HttpResponse


def healthz(request: HttpRequest) -> HttpResponse:
    return HttpResponse("ok", content_type="text/plain")


def readyz(request: HttpRequest) -> HttpResponse:
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
    return HttpResponse("ready", content_type="text/plain")


def robots(request: HttpRequest) -> HttpResponse:
    """Nothing here is for a search engine, links least of all."""
    return HttpResponse("User-agent: *\nDisallow: /\n", content_type="text/plain")
