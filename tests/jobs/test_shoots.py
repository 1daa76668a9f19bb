"""The visit from pencilled to closed: each step, and each step refused."""

from datetime import timedelta

import pytest
from django.core import mail

from jobs.actions.shoots import (
    cancel_shoot,
    close_shoot,
    confirm_shoot,
    lapse_holds,
    note_captured,
    note_no_access,
    pencil_shoot,
    set_time,
)
from jobs.actions.walks import import_walk
from jobs.models import EditingTask, Shoot, ShootState
from office.actions.notices import send_waiting
from office.errors import Refused, WrongState
from office.models import Event
from tests.cast import NOW, visit
from tests.jobs.conftest import WALK

pytestmark = pytest.mark.django_db


def to_client():
    """What has been sent to the client; the crew is invited by mails of its own."""
    return [sent for sent in mail.outbox if "odile@" in sent.to[0]]


def test_numbers_rise_by_the_year_of_the_office(shoot, client_of_office, house, package, by_owner):
    order = {"client": client_of_office, "property": house, "package": package, "add_ons": {}, "by": by_owner}
    new_year_in_utc_only = NOW.replace(year=2028, month=1, day=1, hour=3)
    numbers = [pencil_shoot(**order, now=moment).number for moment in (NOW, new_year_in_utc_only)]
    assert [shoot.number, *numbers] == ["S-2027-0001", "S-2027-0002", "S-2027-0003"]


def test_add_ons_are_ordered_with_their_quantity(client_of_office, house, package, exterior, by_owner):
    order = {"client": client_of_office, "property": house, "package": package, "by": by_owner, "now": NOW}
    shoot = pencil_shoot(**order, add_ons={exterior: 2})
    assert [str(extra) for extra in shoot.add_ons.all()] == ["2 × Exterior pass"]


def test_a_visit_without_time_or_crew_cannot_be_confirmed(shoot, by_owner):
    with pytest.raises(Refused, match="time and a crew"):
        confirm_shoot(shoot=shoot, by=by_owner, now=NOW)
    shoot.refresh_from_db()
    assert shoot.state == ShootState.PENCILLED


def test_confirming_tells_the_client_when_and_how_to_prepare(confirmed):
    send_waiting(now=NOW)
    (sent,) = to_client()
    assert sent.to == ["Odile Marchetti <odile@marchettihomes.example>"]
    assert sent.subject == "Your visit at 27 Alder Rise is confirmed"
    assert "Wed, Mar 3, 2027, 9:00\N{NO-BREAK SPACE}AM – 9:30\N{NO-BREAK SPACE}AM" in sent.body
    assert "Every door can be opened, closets" in sent.body
    assert "Valuables" in sent.body
    assert "27 Alder Rise" in sent.alternatives[0].content


def test_moving_a_confirmed_visit_tells_the_client_again(confirmed, scanner, by_owner):
    send_waiting(now=NOW)
    set_time(shoot=confirmed, crew=[scanner], by=by_owner, now=NOW, **visit(NOW + timedelta(days=3)))
    send_waiting(now=NOW)
    first, second = to_client()
    assert "Wed, Mar 3" in first.body
    assert second.subject == "Your visit at 27 Alder Rise has a new time"
    assert "Thu, Mar 4" in second.body


def test_every_change_of_time_or_state_raises_the_calendar_sequence(confirmed, by_owner):
    before = confirmed.calendar_sequence
    cancelled = cancel_shoot(shoot=confirmed, why="sold", by=by_owner, now=NOW)
    assert cancelled.calendar_sequence == before + 1
    cancelled.refresh_from_db()
    assert cancelled.calendar_sequence == before + 1


@pytest.mark.parametrize("people", [0, 3])
def test_a_crew_is_one_or_two(shoot, scanner, owner, by_owner, people):
    from office.models import Role
    from tests.cast import make_person

    crew = [owner, scanner, make_person("Ines Okafor", Role.SCANNER)][:people]
    with pytest.raises(Refused) as refusal:
        set_time(shoot=shoot, crew=crew, by=by_owner, now=NOW, **visit(NOW))
    assert refusal.value.field == "crew"


def test_a_walk_must_be_logged_before_the_house_counts_as_captured(confirmed, by_owner):
    with pytest.raises(Refused, match="no station"):
        note_captured(shoot=confirmed, by=by_owner, now=NOW)


def test_capturing_makes_the_editing_tasks_of_package_walk_and_levels(confirmed, by_owner):
    import_walk(shoot=confirmed, content=WALK.encode(), file_name="walk.csv", by=by_owner, now=NOW)
    note_captured(shoot=confirmed, by=by_owner, now=NOW)
    tasks = {task.code: (task.text, task.severity) for task in EditingTask.objects.filter(shoot=confirmed)}
    assert tasks["keep-out"] == ("Keep stations 4 and 5 out of the public tour", "must")
    assert tasks["one-piece"][1] == "must"
    assert tasks["blur"] == ("Blur faces, papers, screens and family pictures", "must")
    assert tasks["level-1"] == ("Name level 1 “Ground floor”", "should")


def test_a_captured_house_is_not_captured_twice(confirmed, by_owner):
    import_walk(shoot=confirmed, content=WALK.encode(), file_name="walk.csv", by=by_owner, now=NOW)
    note_captured(shoot=confirmed, by=by_owner, now=NOW)
    count = EditingTask.objects.count()
    with pytest.raises(WrongState):
        note_captured(shoot=Shoot.objects.get(pk=confirmed.pk), by=by_owner, now=NOW)
    assert EditingTask.objects.count() == count


def test_cancelling_a_confirmed_visit_tells_the_client_and_frees_the_crew(confirmed, scanner, by_owner):
    cancel_shoot(shoot=confirmed, why="the sale fell through", by=by_owner, now=NOW)
    send_waiting(now=NOW)
    assert "the sale fell through" in to_client()[-1].body
    assert scanner.memberships.get().busy_from is None


def test_cancelling_a_pencilled_order_sends_nothing(shoot, by_owner):
    cancel_shoot(shoot=shoot, why="a double", by=by_owner, now=NOW)
    assert send_waiting(now=NOW) == 0


def test_no_access_is_noted_with_its_reason_and_can_be_closed(confirmed, by_owner):
    note_no_access(shoot=confirmed, why="rang for 20 minutes", by=by_owner, now=NOW)
    closed = close_shoot(shoot=confirmed, by=by_owner, now=NOW)
    assert (closed.state, closed.ended_why) == (ShootState.CLOSED, "rang for 20 minutes")


def test_a_hold_lapses_by_itself_and_the_client_is_told(timed):
    end = timed.hold_until
    assert lapse_holds(end - timedelta(seconds=1)) == 0
    assert lapse_holds(end) == 1
    timed.refresh_from_db()
    assert timed.state == ShootState.CANCELLED
    send_waiting(now=end)
    assert "the hold ran out" in to_client()[0].body


def test_a_confirmed_visit_does_not_lapse(confirmed):
    assert lapse_holds(NOW + timedelta(days=400)) == 0


def test_the_history_names_who_did_what(confirmed):
    texts = [(event.actor_name, event.verb) for event in Event.objects.of_job(confirmed.number)]
    assert texts == [
        ("Maren Quist", "shoot-confirmed"), ("Maren Quist", "shoot-timed"), ("Maren Quist", "shoot-pencilled"),
    ]  # fmt: skip
