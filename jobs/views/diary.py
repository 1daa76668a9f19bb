"""The diary: a week of visits, and each person's own calendar feed."""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from jobs.actions.feeds import feed_address, feed_of, make_feed
from jobs.models import Shoot
from office.actions.links import find_link
from office.models import Person, Purpose
from office.views.acting import act, say


def diary(request: HttpRequest) -> HttpResponse:
    """Seven days from Monday of the week asked for, in the office's zone."""
    zone = ZoneInfo(request.office.zone)
    monday = _monday(request, zone)
    visits = Shoot.objects.with_people().standing().between(_midnight(monday, zone), _midnight(monday + _WEEK, zone))
    days = [monday + timedelta(days=number) for number in range(7)]
    context = {
        "days": [(day, [shoot for shoot in visits if shoot.starts_at.astimezone(zone).date() == day]) for day in days],
        "monday": monday,
        "before": monday - _WEEK,
        "after": monday + _WEEK,
        "today": timezone.now().astimezone(zone).date(),
        "without_time": Shoot.objects.without_time().with_people()[:20],
        "feed": feed_address(request.user, timezone.now()),
    }
    return render(request, "jobs/diary.html", context)


@require_POST
def feed_new(request: HttpRequest) -> HttpResponse:
    """Make a new feed address; the old one stops."""
    act(request, make_feed)
    say(request, _("Your calendar address is new; the old one is closed."))
    return redirect("jobs:diary")


def feed(request: HttpRequest, token: str) -> HttpResponse:
    """The calendar itself; the address is the key, as calendar programs cannot sign in."""
    now = timezone.now()
    link = find_link(token, now)
    if link is None or link.purpose != Purpose.CALENDAR:
        raise Http404
    person = get_object_or_404(Person, pk=link.subject_id, is_active=True)
    response = HttpResponse(feed_of(person, now), content_type="text/calendar; charset=utf-8")
    response["Cache-Control"] = "private, max-age=300"
    return response


_WEEK = timedelta(days=7)


def _monday(request: HttpRequest, zone: ZoneInfo) -> date:
    try:
        day = date.fromisoformat(request.GET.get("week", ""))
    except ValueError:
        day = timezone.now().astimezone(zone).date()
    return day - timedelta(days=day.weekday())


def _midnight(day: date, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, time(), zone)
