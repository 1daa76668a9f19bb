"""The diary: week, day and month, today's list for the phone, and each person's own calendar feed."""

from collections import Counter
from datetime import date, timedelta
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from jobs.actions.calendars import working_days
from jobs.actions.feeds import feed_address, feed_of, make_feed
from jobs.actions.places import home_spot
from jobs.models import DiaryRules, Leave, Shoot, ShootState
from jobs.rules.daylight import Daylight, daylight
from office.actions.links import find_link
from office.models import Office, Person, Purpose
from office.rules.calendar import FIRST_YEAR, LAST_YEAR
from office.views.acting import act, say

from .board import board_of

_WEEK = timedelta(days=7)
_DAY = timedelta(days=1)


def diary(request: HttpRequest) -> HttpResponse:
    """Seven days from Monday of the week asked for, in the office's zone; today's list for the phone."""
    today = request.office.day_of(timezone.now())
    asked = _asked(request, "week", today)
    monday = asked - timedelta(days=asked.weekday())
    context = {
        "board": board_of(request.office, [monday + number * _DAY for number in range(7)]),
        "monday": monday,
        "before": monday - _WEEK,
        "after": monday + _WEEK,
        "without_time": Shoot.objects.without_time().with_people()[:20],
        "feed": feed_address(request.user, timezone.now()),
        **_list_of(request, today),
    }
    return render(request, "jobs/diary.html", context)


def diary_day(request: HttpRequest, day: str) -> HttpResponse:
    """One day: the crew against the hours, and the visits in the order of the clock."""
    shown = _date(day)
    context = {
        "board": board_of(request.office, [shown]),
        "day": shown,
        "before": shown - _DAY,
        "after": shown + _DAY,
        "light": _light(request.office, shown),
        **_list_of(request, shown),
    }
    return render(request, "jobs/diary_day.html", context)


def diary_month(request: HttpRequest) -> HttpResponse:
    """A month of days: how many visits, who is away, what is closed."""
    today = request.office.day_of(timezone.now())
    first = _asked(request, "month", today).replace(day=1)
    start = first - timedelta(days=first.weekday())
    days = _days_told(request.office, [start + number * _DAY for number in range(42)])
    context = {
        "weeks": [week for week in (days[n : n + 7] for n in range(0, 42, 7)) if _touches(week, first)],
        "first": first,
        "before": (first - _DAY).replace(day=1),
        "after": (first + timedelta(days=32)).replace(day=1),
        "today": today,
    }
    return render(request, "jobs/diary_month.html", context)


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


def _list_of(request: HttpRequest, day: date) -> dict[str, Any]:
    """The visits of a day: a scanner's own, all of them for the owner."""
    midnight = request.office.midnight
    visits = Shoot.objects.with_people().standing().between(midnight(day), midnight(day + _DAY))
    if not request.user.is_owner:
        visits = visits.of_person(request.user)
    return {
        "today": request.office.day_of(timezone.now()),
        "list_day": day,
        "list": visits.prefetch_related("members", "check_ins__person"),
    }


def _days_told(office: Office, days: list[date]) -> list[dict[str, Any]]:
    span = (office.midnight(days[0]), office.midnight(days[-1] + _DAY))
    starts = Shoot.objects.standing().between(*span).values_list("starts_at", "state")
    counts = Counter((office.day_of(at), state) for at, state in starts)
    working = working_days(office, DiaryRules.the(), days[0], days[-1])
    leave = list(Leave.objects.touching(days[0], days[-1]).select_related("person"))
    return [
        {
            "day": day,
            "counts": [(state, counts[day, state.value]) for state in ShootState if counts[day, state.value]],
            "closed": working.closed.get(day, ""),
            "away": [row for row in leave if row.first_day <= day <= row.last_day],
        }
        for day in days
    ]


def _touches(week: list[dict[str, Any]], first: date) -> bool:
    return any(told["day"].month == first.month for told in week)


def _light(office: Office, day: date) -> Daylight | None:
    place = home_spot(office).place
    return daylight(place, day, office.zone) if place else None


def _asked(request: HttpRequest, name: str, otherwise: date) -> date:
    try:
        return _date(request.GET.get(name, ""))
    except Http404:
        return otherwise


def _date(text: str) -> date:
    """A date of the years that calendars reckon with."""
    try:
        found = date.fromisoformat(text)
    except ValueError:
        raise Http404 from None
    if not FIRST_YEAR < found.year < LAST_YEAR:
        raise Http404
    return found
