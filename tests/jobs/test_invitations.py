"""Invitations to the crew, read back out of the mails by the icalendar library."""

from datetime import timedelta

import pytest
from django.core import mail
from icalendar import Calendar

from jobs.actions.feeds import feed_of
from jobs.actions.shoots import cancel_shoot, confirm_shoot, lapse_holds, set_time
from office.actions.notices import send_waiting
from tests.cast import NOW, visit

pytestmark = pytest.mark.django_db


def invitations(name):
    """The calendar objects mailed to a person, in the order they left; each from its own text/calendar part."""
    send_waiting(now=NOW + timedelta(days=30))
    found = []
    for sent in mail.outbox:
        parts = [part for part in sent.message().walk() if part.get_content_type() == "text/calendar"]
        for part in parts:
            if name in sent.to[0]:
                calendar = Calendar.from_ical(part.get_payload(decode=True))
                assert part.get_param("method") == calendar["METHOD"]  # RFC 6047 §2.4
                found.append(calendar)
    return found


def told(calendars):
    events = [calendar.walk("VEVENT")[0] for calendar in calendars]
    return [(str(c["METHOD"]), str(e["STATUS"]), int(e["SEQUENCE"])) for c, e in zip(calendars, events, strict=True)]


def test_a_pencilled_visit_is_tentative_a_confirmed_one_confirmed(timed, by_owner):
    invitations("Tobias")
    confirm_shoot(shoot=timed, by=by_owner, now=NOW)
    calendars = invitations("Tobias")
    # RFC 5545 §3.8.1.11 and §3.8.7.4; RFC 5546 §3.2.2
    assert told(calendars) == [("REQUEST", "TENTATIVE", 1), ("REQUEST", "CONFIRMED", 2)]


def test_the_uid_never_changes_and_is_the_feeds_own(timed, scanner, by_owner):
    invitations("Tobias")
    set_time(shoot=timed, crew=[scanner], by=by_owner, now=NOW, **visit(NOW + timedelta(days=3)))
    uids = {str(calendar.walk("VEVENT")[0]["UID"]) for calendar in invitations("Tobias")}
    (event,) = Calendar.from_ical(feed_of(scanner, NOW)).walk("VEVENT")
    assert uids == {str(event["UID"])} == {str(timed.calendar_uid)}


def test_a_moved_visit_carries_its_new_time_and_a_higher_sequence(confirmed, scanner, by_owner):
    invitations("Tobias")
    set_time(shoot=confirmed, crew=[scanner], by=by_owner, now=NOW, **visit(NOW + timedelta(days=3)))
    before, after = (calendar.walk("VEVENT")[0] for calendar in invitations("Tobias"))
    assert after.decoded("DTSTART") == NOW + timedelta(days=3)
    assert after["SEQUENCE"] > before["SEQUENCE"]


def test_an_invitation_names_who_asks_and_who_is_asked(confirmed):
    (event,) = (calendar.walk("VEVENT")[0] for calendar in invitations("Tobias"))
    # RFC 5546 §3.2.2: ORGANIZER, ATTENDEE, DTSTAMP, DTSTART, SEQUENCE, SUMMARY and UID belong to a REQUEST
    assert str(event["ORGANIZER"]) == "mailto:desk@lanternstreet.example"
    assert event["ORGANIZER"].params["CN"] == "Lantern Street Scans"
    assert str(event["ATTENDEE"]) == "mailto:tobias@lanternstreet.example"
    assert event["ATTENDEE"].params["PARTSTAT"] == "NEEDS-ACTION"
    assert {"DTSTAMP", "DTSTART", "DTEND", "SUMMARY", "LOCATION"} <= set(event)


def test_calling_a_visit_off_takes_it_out_of_the_calendar(confirmed, by_owner):
    invitations("Tobias")
    cancel_shoot(shoot=confirmed, why="sold", by=by_owner, now=NOW)
    calendars = invitations("Tobias")
    assert told(calendars)[-1] == ("CANCEL", "CANCELLED", confirmed.calendar_sequence + 1)  # RFC 5546 §3.2.5


def test_a_hold_that_lapses_does_so_too(timed):
    invitations("Tobias")
    lapse_holds(timed.hold_until)
    assert told(invitations("Tobias"))[-1][:2] == ("CANCEL", "CANCELLED")


def test_who_is_taken_off_is_told_and_who_comes_is_asked(confirmed, owner, by_owner):
    invitations("Tobias")
    set_time(shoot=confirmed, crew=[owner], by=by_owner, now=NOW, **visit(NOW + timedelta(days=2)))
    assert told(invitations("Tobias"))[-1][0] == "CANCEL"
    assert told(invitations("Maren")) == [("REQUEST", "CONFIRMED", 3)]


def test_only_the_newest_word_leaves(timed, by_owner):
    """What has not been sent yet and is no longer true is not sent at all."""
    confirm_shoot(shoot=timed, by=by_owner, now=NOW)
    assert told(invitations("Tobias")) == [("REQUEST", "CONFIRMED", 2)]


def test_calling_off_an_order_without_a_time_invites_nobody(shoot, by_owner):
    cancel_shoot(shoot=shoot, why="a double", by=by_owner, now=NOW)
    assert invitations("Tobias") == []
