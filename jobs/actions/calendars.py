"""When each person works: the office's hours or their own, less days closed, public holidays and leave."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property
from typing import Any

from django.utils.translation import gettext as _

from jobs.models import CrewHours, DiaryRules, Leave
from jobs.rules.public_holidays import UnknownRegion, public_holidays
from office.models import Office, Person
from office.rules.calendar import Calendar, calendar_of
from office.rules.reading import BadInput


@dataclass(frozen=True)
class WorkingDays:
    """Who works when, from one date to another. `closed` names the days on which nobody does."""

    office: Office
    closed: Mapping[date, str]
    own_hours: Mapping[int, dict[str, Any]]
    leave: Mapping[int, Mapping[date, str]]

    def calendar(self, person: Person) -> Calendar | None:
        """None for somebody who has no working hours at all."""
        own = self.own_hours.get(person.pk)
        week = self.office_calendar if own is None else _week(self.office.zone, own)
        return week and replace(week, holidays=frozenset(self.closed) | frozenset(self.leave.get(person.pk, ())))

    @cached_property
    def office_calendar(self) -> Calendar | None:
        """The office's own, days closed among it."""
        week = _week(self.office.zone, self.office.hours)
        return week and replace(week, holidays=frozenset(self.closed))

    def why_away(self, person: Person, day: date) -> str:
        """Why the person does not work on a date that their week has hours for; "" when they do."""
        return self.leave.get(person.pk, {}).get(day) or self.closed.get(day, "")


def working_days(office: Office, rules: DiaryRules, first: date, last: date) -> WorkingDays:
    """Everybody's, for the dates from `first` to `last`."""
    leave: dict[int, dict[date, str]] = {}
    for row in Leave.objects.touching(first, last):
        for day in _days(max(first, row.first_day), min(last, row.last_day)):
            leave.setdefault(row.person_id, {})[day] = row.why or _("on leave")
    own = dict(CrewHours.objects.values_list("person_id", "hours"))
    return WorkingDays(office, closed_days(office, rules, first, last), own, leave)


def closed_days(office: Office, rules: DiaryRules, first: date, last: date) -> dict[date, str]:
    """The dates on which the office is closed, with their names."""
    own = [date.fromisoformat(text) for text in office.holidays]
    closed = {day: _("closed") for day in own if first <= day <= last}
    if rules.public_holidays:
        closed |= {day: name for day, name in _holidays(office, rules, first, last) if first <= day <= last}
    return closed


def _holidays(office: Office, rules: DiaryRules, first: date, last: date) -> list[tuple[date, str]]:
    try:
        found = public_holidays(office.country.upper(), rules.subdivision or None, first.year, last.year)
    except UnknownRegion:
        return []
    return list(found.items())


def _week(zone: str, hours: dict[str, Any]) -> Calendar | None:
    try:
        return calendar_of(zone, hours, [])
    except BadInput:
        return None


def _days(first: date, last: date) -> list[date]:
    return [first + timedelta(days=number) for number in range((last - first).days + 1)]
