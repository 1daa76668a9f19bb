"""What the first floor hangs up on the ground floor: its matters, its parts of the job page, its chores."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

from django.http import HttpRequest
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from jobs.actions.check_ins import watch_the_crew
from jobs.actions.diary_rules import follow_the_office
from jobs.actions.entry_codes import purge_entry_codes
from jobs.actions.messages import remind_clients
from jobs.actions.shapes import shape_of, stations_of
from jobs.actions.shoots import lapse_holds
from jobs.actions.verdicts import judge
from jobs.actions.walks import LOGGED_IN
from jobs.diary_desk import diary_matters, visit_section
from jobs.models import EditingTask, Property, Shoot, ShootState
from jobs.rules.walk_sketch import closures, sketch_levels
from office.models import Event
from office.registry import JobSection, Matter, registry

SOON = timedelta(hours=12)


def matters(now: datetime) -> Iterator[Matter]:
    yield from map(_without_time, Shoot.objects.without_time().select_related("client", "property"))
    yield from map(_hold_ends, Shoot.objects.hold_ends_before(now + SOON).select_related("client", "property"))
    yield from map(_not_captured, Shoot.objects.ended_without_word(now).select_related("property"))
    yield from _tasks(now)


def _without_time(shoot: Shoot) -> Matter:
    return Matter(
        key=f"no-time:{shoot.pk}",
        text=_("%(shoot)s has no time yet") % {"shoot": shoot},
        why=_("%(client)s ordered it; wished days: %(days)s")
        % {"client": shoot.client, "days": shoot.wished_days or _("none named")},
        since=shoot.ordered_at,
        url=reverse("jobs:shoot-time", args=[shoot.number]),
        action=_("Set a time"),
        weight=70,
    )


def _hold_ends(shoot: Shoot) -> Matter:
    return Matter(
        key=f"hold:{shoot.pk}",
        text=_("%(shoot)s: the hold runs out soon") % {"shoot": shoot},
        why=_("The time is pencilled for %(client)s and will be given up by itself.") % {"client": shoot.client},
        since=shoot.ordered_at,
        url=shoot.get_absolute_url(),
        action=_("Confirm or let go"),
        weight=90,
    )


def _not_captured(shoot: Shoot) -> Matter:
    return Matter(
        key=f"no-word:{shoot.pk}",
        text=_("%(shoot)s should be over") % {"shoot": shoot},
        why=_("The visit has ended by the diary, and nobody said that the house is captured. Is the crew well?"),
        since=shoot.ends_at,
        url=shoot.get_absolute_url(),
        action=_("Ask the crew"),
        weight=100,
    )


def _tasks(now: datetime) -> Iterator[Matter]:
    late = EditingTask.objects.first_overdue(now)
    for shoot in Shoot.objects.with_open_tasks():
        yield _tasks_overdue(shoot, late[shoot.pk]) if shoot.pk in late else _tasks_open(shoot)


def _tasks_overdue(shoot: Shoot, since: datetime) -> Matter:
    return Matter(
        key=f"tasks:{shoot.pk}",
        text=_("%(shoot)s: editing tasks are overdue") % {"shoot": shoot},
        why=_("%(count)d are open, and what the client was promised waits for them.") % {"count": shoot.open_tasks},
        since=since,
        url=shoot.get_absolute_url() + "#walk",
        action=_("Do them"),
        weight=85,
    )


def _tasks_open(shoot: Shoot) -> Matter:
    return Matter(
        key=f"tasks:{shoot.pk}",
        text=_("%(shoot)s: %(count)d editing tasks open") % {"shoot": shoot, "count": shoot.open_tasks},
        why=_("The tour cannot be handed over before its musts are done."),
        since=shoot.captured_at,
        url=shoot.get_absolute_url() + "#walk",
        action=_("Do them"),
        weight=50,
    )


def walk_section(request: HttpRequest, shoot_id: int) -> dict[str, Any]:
    shoot = Shoot.objects.select_related("property", "package").get(pk=shoot_id)
    stations = stations_of(shoot)
    verdict = judge(shoot) if stations else None
    has_spots = any(station.spot for station in stations)
    shape = shape_of(Property.objects.with_shape().get(pk=shoot.property_id)) if has_spots else None
    return {
        "shoot": shoot,
        "tasks": shoot.tasks.select_related("done_by").order_by("severity", "pk"),
        "verdict": verdict,
        "sketches": sketch_levels(shape, stations, verdict.keep_out) if shape and verdict else (),
        "closures": closures(stations),
        "photos": shoot.photos.select_related("station__space", "taken_by"),
        "logged": shoot.state in LOGGED_IN,
        "captured": shoot.captured_at is not None and shoot.state != ShootState.CLOSED,
        "codes": shoot.entry_codes.count(),
        "now": timezone.now(),
    }


def history_section(request: HttpRequest, shoot_id: int) -> dict[str, Any]:
    number = Shoot.objects.values_list("number", flat=True).get(pk=shoot_id)
    return {"events": Event.objects.of_job(number)[:100]}


def hang_up() -> None:
    """Called once, when the program starts."""
    registry.matters.append(matters)
    registry.matters.append(diary_matters)
    registry.chores += [lapse_holds, watch_the_crew, remind_clients, follow_the_office, purge_entry_codes]
    registry.sections += [
        JobSection(20, "visit", gettext_lazy("Visit"), "jobs/sections/visit.html", visit_section),
        JobSection(30, "walk", gettext_lazy("Walk and editing"), "jobs/sections/walk.html", walk_section),
        JobSection(90, "history", gettext_lazy("History"), "jobs/sections/history.html", history_section),
    ]
