"""A time for a visit: windows that fit, each with its reason; what a chosen time would mean; and then saving it."""

from collections import Counter
from datetime import date
from typing import Any
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from jobs.actions.consequences import consequences_of
from jobs.actions.estimates import Estimates, estimates_of
from jobs.actions.shoots import set_time
from jobs.actions.slots import Offer, search_for
from jobs.forms.diary import FindForm
from jobs.forms.shoots import TimeForm
from jobs.models import BUSY_STATES, DiaryRules, Shoot
from office.models import Person
from office.views.acting import attempt, say

MOST_OFFERS = 12
MOST_A_DAY = 2


def shoot_time(request: HttpRequest, number: str) -> HttpResponse:
    """Find a time, look at what it means, save it. A time chosen in the address is only looked at."""
    shoot = get_object_or_404(Shoot.objects.with_people(), number=number)
    estimates = estimates_of(shoot)
    chosen = request.POST or ("starts_at" in request.GET and request.GET) or None
    initial = TimeForm.of_shoot(shoot, DiaryRules.the().window_minutes, estimates.alone.minutes.p80)
    form = TimeForm(chosen, initial=initial, shoot=shoot)
    saving = request.method == "POST" and form.is_valid()
    if saving and attempt(request, form, set_time, **vars(form.timing())):
        say(request, _("The visit has its time."))
        return redirect(shoot)
    context = {"form": form, "shoot": shoot, "estimates": estimates, **_look(request, form)}
    return render(request, "jobs/shoot_time.html", context | _offers(request, shoot, estimates))


def _look(request: HttpRequest, form: TimeForm) -> dict[str, Any]:
    """What the chosen time would mean."""
    if request.method == "POST" or not form.is_bound or not form.is_valid():
        return {}
    timing = form.timing()
    found = consequences_of(timing, timezone.now())
    return {
        "timing": timing,
        "consequences": found,
        "refused": any(consequence.weight == "must" for consequence in found),
    }


def _offers(request: HttpRequest, shoot: Shoot, estimates: Estimates) -> dict[str, Any]:
    """Windows from the day asked for on, the least added driving first."""
    if shoot.state not in BUSY_STATES:
        return {}
    now = timezone.now()
    today = request.office.day_of(now)
    form = FindForm(request.GET if "since" in request.GET else None, initial={"since": today}, today=today)
    asked = form.cleaned_data if form.is_valid() else {}
    since, people, days = asked.get("since") or today, asked.get("people") or 1, asked.get("days") or 14
    search = search_for(shoot, since, days, now)
    find = search.alone if people == 1 else search.pairs
    offers = _varied(find(Person.objects.at_work(), estimates.of(people).minutes.p80))
    return {
        "offers": [(offer, _address(offer, ZoneInfo(request.office.zone))) for offer in offers],
        "find_form": form,
        "search": search,
        "people": people,
        "since": since,
    }


def _varied(offers: list[Offer]) -> list[Offer]:
    """The best ones, but of each crew's day no more than two: a client wants to choose among days."""
    taken: Counter[tuple[tuple[Person, ...], date]] = Counter()
    varied = []
    for offer in offers:
        day = (offer.crew, offer.arrive_from.date())
        taken[day] += 1
        if taken[day] <= MOST_A_DAY:
            varied.append(offer)
    return varied[:MOST_OFFERS]


def _address(offer: Offer, zone: ZoneInfo) -> str:
    """The offer as the choice that this page looks at."""
    chosen = [
        ("starts_at", offer.arrive_from.astimezone(zone).strftime("%Y-%m-%dT%H:%M")),
        ("window_minutes", offer.window_minutes),
        ("minutes", offer.minutes),
        *(("crew", person.pk) for person in offer.crew),
    ]
    return "?" + urlencode(chosen)
