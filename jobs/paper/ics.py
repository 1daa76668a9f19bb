"""Visits as a calendar (RFC 5545), made with the icalendar library."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime

from icalendar import Calendar, Event

STATUS = {"pencilled": "TENTATIVE", "confirmed": "CONFIRMED", "captured": "CONFIRMED", "closed": "CONFIRMED"}
"""RFC 5545 §3.8.1.11; every other state is CANCELLED."""


@dataclass(frozen=True)
class CalendarVisit:
    """One visit as a calendar shows it. Times are aware; `sequence` rises with every change."""

    uid: str
    sequence: int
    state: str
    start: datetime
    end: datetime
    summary: str
    location: str
    description: str
    changed_at: datetime


def calendar_of(visits: Iterable[CalendarVisit], name: str) -> bytes:
    """A published calendar, CRLF and folded as the standard asks. Never holds an entry code."""
    calendar = Calendar()
    calendar.add("prodid", "-//Stairhead//Diary//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", name)
    for visit in visits:
        calendar.add_component(_event(visit))
    return calendar.to_ical()


def _event(visit: CalendarVisit) -> Event:
    event = Event()
    event.add("uid", visit.uid)
    event.add("sequence", visit.sequence)
    event.add("status", STATUS.get(visit.state, "CANCELLED"))
    event.add("dtstamp", visit.changed_at.astimezone(UTC))
    event.add("dtstart", visit.start.astimezone(UTC))
    event.add("dtend", visit.end.astimezone(UTC))
    event.add("summary", visit.summary)
    event.add("location", visit.location)
    event.add("description", visit.description)
    return event
