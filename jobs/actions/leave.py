"""Each person's own working hours and leave."""

from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction
from django.utils.translation import gettext as _

from jobs.models import BUSY_STATES, CrewHours, CrewMember, Leave
from office.actions.actors import Actor
from office.actions.events import record
from office.errors import Refused
from office.models import Office, Person

LONGEST_LEAVE = timedelta(days=366)


@transaction.atomic
def set_hours(*, person: Person, hours: dict[str, Any] | None, by: Actor, now: datetime) -> None:
    """A week of the person's own, or None for the office's."""
    if hours is None:
        CrewHours.objects.filter(person=person).delete()
    else:
        CrewHours.objects.update_or_create(person=person, defaults={"hours": hours})
    text = _("gave %s hours of their own") if hours is not None else _("gave %s the office's hours")
    record(by=by, now=now, verb="hours-set", text=text % person, subject=person)


@transaction.atomic
def add_leave(*, person: Person, first_day: date, last_day: date, why: str, by: Actor, now: datetime) -> Leave:
    """Whole dates off. Visits that stand in them stay; they show on the desk until somebody moves them."""
    if last_day < first_day:
        raise Refused(_("The last day comes before the first."), field="last_day")
    if last_day - first_day > LONGEST_LEAVE:
        raise Refused(_("Leave of more than a year: let the person go instead."), field="last_day")
    leave = Leave.objects.create(person=person, first_day=first_day, last_day=last_day, why=why)
    record(by=by, now=now, verb="leave-added", text=_("noted leave: %s") % leave, subject=person)
    return leave


@transaction.atomic
def remove_leave(*, leave: Leave, by: Actor, now: datetime) -> None:
    record(by=by, now=now, verb="leave-removed", text=_("took back leave: %s") % leave, subject=leave.person)
    leave.delete()


def visits_in_leave(now: datetime) -> list[tuple[CrewMember, Leave]]:
    """Coming visits whose crew is away, with the leave, in the order of the clock."""
    zone = ZoneInfo(Office.the().zone)
    leave = list(Leave.objects.filter(last_day__gte=now.astimezone(zone).date()))
    if not leave:
        return []
    last = max(row.last_day for row in leave)
    members = (
        CrewMember.objects.standing(now, datetime.combine(last + timedelta(days=1), time(), zone))
        .filter(person__in={row.person_id for row in leave}, shoot__state__in=BUSY_STATES)
        .select_related("person")
    )
    return [
        (member, row)
        for member in members
        for row in leave
        if row.person_id == member.person_id
        and row.first_day <= member.shoot.starts_at.astimezone(zone).date() <= row.last_day
    ]
