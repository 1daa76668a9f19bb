"""The diary as a calendar, read back by the icalendar library (RFC 5545)."""

import json
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from icalendar import Calendar

from jobs.paper.ics import Attendee, CalendarVisit, Method, calendar_of, invitation_of

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


def lines_of(calendar):
    """Unfolded content lines (RFC 5545 §3.1: a CRLF followed by one blank is no line end)."""
    return calendar.replace(b"\r\n ", b"").split(b"\r\n")


def test_text_is_escaped_and_folded_as_the_standard_says(checks):
    values = json.loads((checks / "icalendar" / "expected.json").read_text())["text_values"]
    assert len(values) == 6
    for row in values:  # RFC 5545 §3.3.11 and §3.1
        calendar = calendar_of([visit(description=row["value"])], "Visits")
        (line,) = [line for line in lines_of(calendar) if line.startswith(b"DESCRIPTION")]
        assert line == f"DESCRIPTION:{row['escaped']}".encode()
        assert len(line) == row["octets_of_unfolded_line"]
        assert all(len(folded) <= 75 for folded in calendar.split(b"\r\n"))
        calendar.decode("utf-8")


def test_local_times_become_the_right_instants_across_clock_changes(checks):
    rows = json.loads((checks / "icalendar" / "expected.json").read_text())["utc_of_local"]
    assert rows
    for row in rows:
        start = datetime.fromisoformat(row["local"]).replace(tzinfo=ZoneInfo(row["tzid"]))
        calendar = calendar_of([visit(start=start, end=start + timedelta(minutes=90))], "Visits")
        stamp = row["utc"].replace("-", "").replace(":", "").encode()
        assert b"DTSTART:" + stamp in lines_of(calendar)


OFFICE, CREW = Attendee("Lantern Street Scans", "desk@lanternstreet.example"), Attendee("Ines", "ines@example.org")


@pytest.mark.parametrize(("method", "status"), [(Method.REQUEST, "CONFIRMED"), (Method.CANCEL, "CANCELLED")])
def test_an_invitation_has_what_its_method_requires(method, status):
    calendar = Calendar.from_ical(invitation_of(visit(), OFFICE, [CREW], method))
    (event,) = calendar.walk("VEVENT")
    assert calendar["METHOD"] == method
    # RFC 5546 §3.2.2 and §3.2.5: these are required, ATTENDEE and ORGANIZER among them
    assert {"DTSTAMP", "ORGANIZER", "SEQUENCE", "UID", "ATTENDEE"} <= set(event)
    assert event["STATUS"] == status  # RFC 5546 §3.2.5: CANCELLED when the whole event is
    assert (event["UID"], event["SEQUENCE"]) == (visit().uid, 3)


def test_a_cancelled_visit_asks_for_no_answer():
    (event,) = Calendar.from_ical(invitation_of(visit(), OFFICE, [CREW], Method.CANCEL)).walk("VEVENT")
    assert "RSVP" not in event["ATTENDEE"].params


WRITTEN = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs")), min_size=1, max_size=200)


@settings(deadline=None)
@given(WRITTEN, WRITTEN, st.text(st.characters(min_codepoint=32, max_codepoint=0x2FF), min_size=1, max_size=60))
def test_whatever_is_written_comes_back(summary, location, name):
    written = invitation_of(
        visit(summary=summary, location=location), Attendee(name, "a@b.example"), [], Method.REQUEST
    )
    assert all(len(line) <= 75 for line in written.split(b"\r\n"))
    (event,) = Calendar.from_ical(written).walk("VEVENT")
    assert str(event["SUMMARY"]) == summary
    assert str(event["LOCATION"]) == location
