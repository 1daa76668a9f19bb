"""What has happened: the event log and the outbox."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from office.actions.notices import settle_unsure
from office.models import Event, Notice
from office.paging import page_of
from office.views.acting import act, say


def events(request: HttpRequest) -> HttpResponse:
    return render(request, "office/events.html", {"page": page_of(request, Event.objects.order_by("-pk"))})


def notices(request: HttpRequest) -> HttpResponse:
    return render(request, "office/notices.html", {"page": page_of(request, Notice.objects.order_by("-pk"))})


def notice(request: HttpRequest, pk: int) -> HttpResponse:
    return render(request, "office/notice.html", {"notice": get_object_or_404(Notice, pk=pk)})


@require_POST
def notice_settle(request: HttpRequest, pk: int) -> HttpResponse:
    """The owner's word on an unsure notice."""
    found = get_object_or_404(Notice, pk=pk)
    act(request, settle_unsure, notice=found, send_again=request.POST.get("word") == "again")
    say(request, _("Noted."))
    return redirect("office:notices")
