"""The diary as a calendar, read back by the icalendar library (RFC 5545)."""

from datetime import UTC, datetime, timedelta

import pytest
from icalendar import Calendar

from jobs.paper.ics import CalendarVisit, calendar_of

START = datetime(2027, 3, 6, 15, 0, tzinfo=UTC)


def visit(**changes):
    facts = {
        "uid": "S-2027-0001@stairhead",
        "sequence": 3,
        "state": "confirmed",
        "start": START,
        "end": START + timedelta(minutes=90),
        "summary": "27 Alder Rise · Tour and floor plan",
        "location": "27 Alder Rise, Harrowfield IA 50999",
        "description": "one; two, three\\four\nfive — a long line that has to be folded because it is over 75 octets é",
        "changed_at": START,
    }
    return CalendarVisit(**facts | changes)


def read_back(visits):
    return Calendar.from_ical(calendar_of(visits, "Visits of Tobias Renn"))


def test_a_visit_comes_back_as_it_was_given():
    given = visit()
    (event,) = read_back([given]).walk("VEVENT")
    assert event["UID"] == given.uid
    assert event["SEQUENCE"] == 3
    assert event.decoded("DTSTART") == given.start
    assert event.decoded("DTEND") == given.end
    assert str(event["SUMMARY"]) == given.summary
    assert str(event["LOCATION"]) == given.location
    assert str(event["DESCRIPTION"]) == given.description


@pytest.mark.parametrize(
    ("state", "status"),  # RFC 5545 §3.8.1.11: TENTATIVE, CONFIRMED, CANCELLED for a VEVENT
    [("pencilled", "TENTATIVE"), ("confirmed", "CONFIRMED"), ("cancelled", "CANCELLED"), ("no_access", "CANCELLED")],
)
def test_states_map_to_the_standards_status(state, status):
    (event,) = read_back([visit(state=state)]).walk("VEVENT")
    assert event["STATUS"] == status


def test_lines_end_in_crlf_and_are_folded_at_75_octets():
    lines = calendar_of([visit()], "Visits").split(b"\r\n")
    assert lines[-1] == b""
    assert all(len(line) <= 75 for line in lines)  # RFC 5545 §3.1
    assert not any(b"\n" in line for line in lines)


def test_a_calendar_has_what_the_standard_requires():
    calendar = read_back([])
    assert calendar["VERSION"] == "2.0"  # RFC 5545 §3.7.4
    assert calendar["PRODID"]  # RFC 5545 §3.7.3
