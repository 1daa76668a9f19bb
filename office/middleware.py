"""Each request: the office and the open links at hand, the access table held, a refusal shown to who asked."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.contrib.auth.views import redirect_to_login
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from django.utils.functional import SimpleLazyObject
from django.utils.http import url_has_allowed_host_and_scheme

from office.access import TABLE, Visitor, may_open, visitors
from office.errors import AlreadyDone, Refused
from office.link_session import open_links
from office.models import Office

GetResponse = Callable[[HttpRequest], HttpResponse]


class OfficeMiddleware:
    """Puts the office and the sender's open links on the request, and sets the office's time zone."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.office = SimpleLazyObject(Office.the)
        request.links = SimpleLazyObject(lambda: open_links(request))
        return self.get_response(request)

    def process_view(self, request: HttpRequest, *_args: Any) -> None:
        if request.resolver_match.view_name not in {"office:healthz", "office:robots"}:
            timezone.activate(request.office.zone)


class AccessMiddleware:
    """Opens a page only to whom `office.access.TABLE` names."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(self, request: HttpRequest, *_args: Any) -> HttpResponse | None:
        name = request.resolver_match.view_name
        who = visitors(request)
        if may_open(name, who):
            return None
        if name not in TABLE:
            raise Http404
        return self._turned_away(request, who)

    def _turned_away(self, request: HttpRequest, who: frozenset[Visitor]) -> HttpResponse:
        if who != {Visitor.STRANGER}:
            return render(request, "office/not_for_you.html", status=403)
        allowed = TABLE[request.resolver_match.view_name]
        if allowed <= {Visitor.DRAFTER, Visitor.CLIENT}:
            return render(request, "office/link_closed.html", status=404)
        return redirect_to_login(request.get_full_path())


class RefusalMiddleware:
    """A refusal that no form caught becomes a message on the page the sender came from."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        if not isinstance(error, Refused):
            return None
        level = messages.INFO if isinstance(error, AlreadyDone) else messages.ERROR
        messages.add_message(request, level, error.message)
        return HttpResponseRedirect(_way_back(request))


def _way_back(request: HttpRequest) -> str:
    referer = request.headers.get("Referer", "")
    safe = url_has_allowed_host_and_scheme(referer, {request.get_host()}, require_https=request.is_secure())
    return referer if safe else "/"
