"""The reminder on the working day before, and each message to the client once."""

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.core import mail
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.actions.messages import remind_clients, say_on_our_way
from jobs.actions.shoots import cancel_shoot, confirm_shoot, set_time
from jobs.models import MessageKind, VisitMessage
from jobs.rules.reminders import reminder_at
from office.actions.actors import Actor
from office.actions.notices import send_waiting
from office.errors import Refused
from office.models import NoticeState
from office.rules.calendar import Calendar, Span
from tests.cast import NOW, visit

CHICAGO = ZoneInfo("America/Chicago")
NINE_TO_FIVE = (Span(540, 720), Span(780, 1020))
WEEK = Calendar("America/Chicago", (NINE_TO_FIVE,) * 5 + ((), ()), frozenset({datetime(2027, 5, 31).date()}))  # noqa: DTZ001


def local(*when):
    return datetime(*when, tzinfo=CHICAGO)


@pytest.mark.parametrize(
    ("visit_at", "due"),
    [
        (local(2027, 3, 3, 9), local(2027, 3, 2, 9)),
        (local(2027, 3, 1, 9), local(2027, 2, 26, 9)),  # Monday: the Friday before
        (local(2027, 6, 1, 14), local(2027, 5, 28, 9)),  # the Tuesday after Memorial Day
        (local(2027, 3, 15, 9), local(2027, 3, 12, 9)),  # over the change to summer time on 14 March
        (local(2027, 3, 2, 23, 30), local(2027, 3, 1, 9)),  # already the next date in UTC
    ],
)
def test_it_is_due_as_the_last_working_day_before_opens(visit_at, due):
    assert reminder_at(visit_at, WEEK) == due


def test_an_office_that_never_opens_reminds_a_day_ahead():
    closed = Calendar("UTC", ((),) * 6 + ((Span(0, 60),),), frozenset(_sundays()))
    assert reminder_at(local(2027, 3, 3, 9), closed) == local(2027, 3, 2, 9)


def _sundays():
    return [datetime(2027, 1, 3, tzinfo=UTC).date() + timedelta(weeks=week) for week in range(20)]


@settings(deadline=None)
@given(st.datetimes(datetime(2026, 1, 1), datetime(2028, 12, 31), timezones=st.just(CHICAGO)))  # noqa: DTZ001
def test_it_falls_on_an_earlier_working_date(visit_at):
    due = reminder_at(visit_at, WEEK).astimezone(CHICAGO)
    assert due.date() < visit_at.date()
    assert due.time() == time(9)
    assert WEEK.hours[due.weekday()]
    assert due.date() not in WEEK.holidays


@pytest.fixture
def friday(shoot, scanner, by_owner):
    """Confirmed on Monday for Friday, nine o'clock."""
    set_time(shoot=shoot, crew=[scanner], by=by_owner, now=NOW, **visit(NOW + timedelta(days=4)))
    return confirm_shoot(shoot=shoot, by=by_owner, now=NOW)


THURSDAY = NOW + timedelta(days=3)


def kinds(shoot):
    return [message.kind for message in VisitMessage.objects.filter(shoot=shoot)]


@pytest.mark.django_db
def test_the_client_is_reminded_once_with_how_to_prepare(friday):
    assert remind_clients(THURSDAY - timedelta(seconds=1)) == 0
    assert remind_clients(THURSDAY) == 1
    assert remind_clients(THURSDAY + timedelta(minutes=5)) == 0
    send_waiting(now=THURSDAY)
    sent = mail.outbox[-1]
    assert sent.subject.startswith("We come to 27 Alder Rise: Fri, Mar 5, 2027, 9:00")
    assert "Valuables" in sent.body
    assert kinds(friday) == [MessageKind.CONFIRMED, MessageKind.REMINDER]


@pytest.mark.django_db
def test_who_was_told_on_that_very_day_is_not_reminded(shoot, scanner, by_owner):
    set_time(shoot=shoot, crew=[scanner], by=by_owner, now=THURSDAY, **visit(NOW + timedelta(days=4)))
    confirm_shoot(shoot=shoot, by=by_owner, now=THURSDAY + timedelta(minutes=1))
    assert remind_clients(THURSDAY + timedelta(hours=1)) == 0
    assert kinds(shoot) == [MessageKind.CONFIRMED]


@pytest.mark.django_db
def test_a_moved_visit_is_reminded_of_anew(friday, scanner, by_owner):
    remind_clients(THURSDAY)
    set_time(shoot=friday, crew=[scanner], by=by_owner, now=THURSDAY, **visit(NOW + timedelta(days=8)))
    assert remind_clients(NOW + timedelta(days=7)) == 1
    assert kinds(friday)[-2:] == [MessageKind.MOVED, MessageKind.REMINDER]


@pytest.mark.django_db
@pytest.mark.parametrize("later", [timedelta(days=30), timedelta(days=-1)])
def test_neither_a_far_visit_nor_a_past_one_is_reminded_of(friday, later):
    assert remind_clients(friday.starts_at - later) == 0


@pytest.mark.django_db
def test_a_pencilled_visit_is_not_reminded_of(timed):
    assert remind_clients(timed.starts_at - timedelta(hours=20)) == 0


@pytest.mark.django_db
def test_a_visit_called_off_takes_its_unsent_messages_back(friday, by_owner):
    remind_clients(THURSDAY)
    cancel_shoot(shoot=friday, why="sold", by=by_owner, now=THURSDAY)
    states = {message.kind: message.notice.state for message in friday.messages.select_related("notice")}
    assert states == {
        MessageKind.CONFIRMED: NoticeState.WITHDRAWN,
        MessageKind.REMINDER: NoticeState.WITHDRAWN,
        MessageKind.OFF: NoticeState.WAITING,
    }


@pytest.fixture
def by_scanner(scanner):
    return Actor.of_person(scanner)


@pytest.mark.django_db
def test_on_our_way_says_about_when_and_who(friday, scanner, by_scanner):
    scanner.phone = "+1 515 555 0177"
    scanner.save()
    moment = friday.starts_at + timedelta(minutes=5)
    say_on_our_way(shoot=friday, by=by_scanner, now=moment)
    send_waiting(now=moment)
    sent = mail.outbox[-1]
    assert sent.to == ["Odile Marchetti <odile@marchettihomes.example>"]
    # 30 minutes: the office has no coordinates, so its own figure for an unknown drive holds
    assert "at about 9:35\N{NO-BREAK SPACE}AM" in sent.body
    assert "Tobias Renn, +1 515 555 0177" in sent.body


@pytest.mark.django_db
def test_a_crew_that_sets_out_early_is_not_said_to_come_before_its_window(friday, by_scanner):
    say_on_our_way(shoot=friday, by=by_scanner, now=friday.starts_at - timedelta(hours=2))
    send_waiting(now=friday.starts_at)
    assert "at about 9:00\N{NO-BREAK SPACE}AM" in mail.outbox[-1].body


@pytest.mark.django_db
def test_on_our_way_is_said_once(friday, by_scanner):
    say_on_our_way(shoot=friday, by=by_scanner, now=friday.starts_at)
    with pytest.raises(Refused, match="told already"):
        say_on_our_way(shoot=friday, by=by_scanner, now=friday.starts_at)


@pytest.mark.django_db
@pytest.mark.parametrize("off", [timedelta(hours=-5), timedelta(hours=3)])
def test_on_our_way_at_the_wrong_time_would_mislead(friday, by_scanner, off):
    with pytest.raises(Refused, match="not the time"):
        say_on_our_way(shoot=friday, by=by_scanner, now=friday.starts_at + off)


@pytest.mark.django_db
def test_on_our_way_needs_a_promised_visit(timed, by_scanner):
    with pytest.raises(Refused, match="confirmed"):
        say_on_our_way(shoot=timed, by=by_scanner, now=timed.starts_at)


@pytest.mark.django_db
def test_somebody_else_cannot_be_on_the_way(friday):
    from office.models import Role
    from tests.cast import make_person

    stranger = Actor.of_person(make_person("Ines Okafor", Role.SCANNER))
    with pytest.raises(Refused, match="not on the crew"):
        say_on_our_way(shoot=friday, by=stranger, now=friday.starts_at)
