"""Visits as iCalendar objects (RFC 5545), in a feed or as invitations (RFC 5546), made with the icalendar library.

None ever holds an entry code. Times are UTC, so no time zone has to be described.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from icalendar import Calendar, Event, vCalAddress

STATUS = {"pencilled": "TENTATIVE", "confirmed": "CONFIRMED", "captured": "CONFIRMED", "closed": "CONFIRMED"}
"""RFC 5545 §3.8.1.11; every other state is CANCELLED."""
CANCELLED = "CANCELLED"


class Method(StrEnum):
    """RFC 5546 §1.4."""

    PUBLISH = "PUBLISH"
    REQUEST = "REQUEST"
    CANCEL = "CANCEL"


@dataclass(frozen=True)
class Attendee:
    """Somebody of the crew, or the office as the organizer."""

    name: str
    email: str


@dataclass(frozen=True)
class CalendarVisit:
    """One visit as a calendar shows it. Times are aware; `sequence` rises with every change, `uid` never changes."""

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
    """A published calendar, CRLF and folded as the standard asks."""
    calendar = _calendar(Method.PUBLISH)
    calendar.add("x-wr-calname", name)
    for visit in visits:
        calendar.add_component(_event(visit))
    return calendar.to_ical()


def invitation_of(visit: CalendarVisit, organizer: Attendee, attendees: Sequence[Attendee], method: Method) -> bytes:
    """The visit asked for, changed or, by CANCEL, taken back from these attendees (RFC 5546 §3.2.2, §3.2.5)."""
    calendar = _calendar(method)
    event = _event(visit)
    if method == Method.CANCEL:
        event["status"] = CANCELLED
    event.add("organizer", _address(organizer))
    for attendee in attendees:
        event.add("attendee", _invited(attendee, method), encode=False)
    calendar.add_component(event)
    return calendar.to_ical()


def _calendar(method: Method) -> "Calendar":
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", "-//Stairhead//Diary//EN")
    calendar.add("version", "2.0")
    calendar.add("method", method.value)
    return calendar


def _event(visit: CalendarVisit) -> "Event":
    from icalendar import Event

    event = Event()
    event.add("uid", visit.uid)
    event.add("sequence", visit.sequence)
    event.add("status", STATUS.get(visit.state, CANCELLED))
    event.add("dtstamp", visit.changed_at.astimezone(UTC))
    event.add("dtstart", visit.start.astimezone(UTC))
    event.add("dtend", visit.end.astimezone(UTC))
    event.add("summary", visit.summary)
    event.add("location", visit.location)
    event.add("description", visit.description)
    return event


def _address(attendee: Attendee) -> "vCalAddress":
    from icalendar import vCalAddress

    address = vCalAddress(f"mailto:{attendee.email}")
    address.params["CN"] = attendee.name.replace('"', "'")
    return address


def _invited(attendee: Attendee, method: Method) -> "vCalAddress":
    address = _address(attendee)
    address.params["ROLE"] = "REQ-PARTICIPANT"
    if method == Method.REQUEST:
        address.params["PARTSTAT"] = "NEEDS-ACTION"
        address.params["RSVP"] = "FALSE"
    return address
