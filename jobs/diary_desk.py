"""What the diary puts on the desk, and its part of the job page."""

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import gettext as _

from jobs.actions.check_ins import Missed, missed_people
from jobs.actions.fees import plain
from jobs.actions.leave import visits_in_leave
from jobs.models import CrewMember, Leave, NoAccessNote, Shoot
from office.models import Office
from office.registry import Matter
from office.rules.date_format import format_clock


def diary_matters(now: datetime) -> Iterator[Matter]:
    yield from (_missed(missed) for missed in missed_people(now) if missed.check_in)
    yield from map(_weather, Shoot.objects.past_weather_decision(now).select_related("property", "client"))
    yield from (_away(member, leave, now) for member, leave in visits_in_leave(now))


def _missed(missed: Missed) -> Matter:
    facts = {
        "clock": format_clock(missed.due_out_at, missed.shoot.property.zone, Office.the().locale),
        "phones": ", ".join(missed.phones) or _("no phone number is known"),
    }
    return Matter(
        key=missed.key,
        text=_("%(who)s has not checked out at %(shoot)s") % {"who": missed.who, "shoot": missed.shoot},
        why=_("Expected out at %(clock)s. Call now: %(phones)s") % facts,
        since=missed.due_out_at,
        url=missed.shoot.get_absolute_url() + "#visit",
        action=_("Find out how they are"),
        weight=110,
    )


def _weather(shoot: Shoot) -> Matter:
    return Matter(
        key=f"weather:{shoot.pk}",
        text=_("%(shoot)s waits for the weather") % {"shoot": shoot},
        why=_("%(client)s expects a word by now: %(note)s") % {"client": shoot.client, "note": shoot.weather_note},
        since=shoot.weather_decide_at,
        url=shoot.get_absolute_url() + "#visit",
        action=_("Say yes or move it"),
        weight=95,
    )


def _away(member: CrewMember, leave: Leave, now: datetime) -> Matter:
    return Matter(
        key=f"away:{member.pk}",
        text=_("%(person)s is away on the day of %(shoot)s") % {"person": member.person, "shoot": member.shoot},
        why=leave.why or _("on leave"),
        since=now,
        url=reverse("jobs:shoot-time", args=[member.shoot.number]),
        action=_("Find another time or crew"),
        weight=85,
    )


def visit_section(request: HttpRequest, shoot_id: int) -> dict[str, Any]:
    shoot = Shoot.objects.with_people().prefetch_related("add_ons__add_on", "members").get(pk=shoot_id)
    return {
        "shoot": shoot,
        "check_ins": shoot.check_ins.select_related("person"),
        "messages": shoot.messages.select_related("notice"),
        "door": NoAccessNote.objects.filter(shoot=shoot).first(),
        "fee": plain(shoot.fee_percent) if shoot.fee_percent is not None else "",
    }
