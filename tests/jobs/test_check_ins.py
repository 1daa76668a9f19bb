"""Alone on site: in, out, longer, and missed."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.core import mail
from django.db import IntegrityError, transaction
from django.urls import reverse

from jobs.actions.check_ins import check_in, check_out, missed_people, stay_longer, watch_the_crew
from jobs.actions.shoots import note_no_access, pencil_shoot, set_time
from jobs.models import CheckIn, DiaryRules
from office.actions.actors import Actor
from office.actions.notices import send_waiting
from office.errors import Refused
from office.models import Notice, NoticeState, Person, Role
from office.registry import registry
from tests.cast import NOW, make_person, visit

pytestmark = pytest.mark.django_db

ARRIVES = NOW + timedelta(days=2, minutes=10)
DUE = ARRIVES + timedelta(minutes=60)
"""The visit of the cast is planned for 60 minutes on site."""
LIMIT = timedelta(minutes=30)


@pytest.fixture
def by_scanner(scanner):
    return Actor.of_person(scanner)


@pytest.fixture
def on_site(confirmed, by_scanner):
    return check_in(shoot=confirmed, by=by_scanner, now=ARRIVES)


def matters(now):
    return [matter for matter in registry.desk(now) if "checked out" in matter.text]


def test_one_is_expected_out_when_the_planned_minutes_have_passed(on_site):
    assert on_site.due_out_at == DUE


def test_nobody_is_missed_before_the_limit(on_site):
    assert list(missed_people(DUE + LIMIT)) == []
    assert matters(DUE + LIMIT) == []


def test_who_does_not_check_out_is_an_urgent_matter_and_one_notice(on_site, owner, confirmed):
    late = DUE + LIMIT + timedelta(seconds=1)
    assert watch_the_crew(late) == 1
    assert watch_the_crew(late + timedelta(minutes=5)) == 1
    send_waiting(now=late)
    alarms = [sent for sent in mail.outbox if "has not checked out" in sent.subject]
    assert [sent.to for sent in alarms] == [["Maren Quist <maren@lanternstreet.example>"]]
    assert alarms[0].subject == "Tobias Renn has not checked out at 27 Alder Rise"
    (first, *_rest) = registry.desk(late)
    assert first.text == f"Tobias Renn has not checked out at {confirmed}"
    assert first.weight > 100


def test_every_owner_and_whom_the_office_named_is_told(on_site, owner):
    make_person("Ines Okafor", Role.OWNER)
    DiaryRules.objects.create(pk=1, watch_name="Night desk", watch_email="night@example.org", check_out_limit=5)
    assert watch_the_crew(DUE + timedelta(minutes=6)) == 3
    told = Notice.objects.filter(key__startswith="not-out:").values_list("to_address", flat=True)
    assert set(told) == {"maren@lanternstreet.example", "ines@lanternstreet.example", "night@example.org"}


def test_who_has_left_is_not_missed_and_the_unsent_notice_is_taken_back(on_site, confirmed, by_scanner, owner):
    late = DUE + LIMIT * 2
    watch_the_crew(late)
    check_out(shoot=confirmed, by=by_scanner, now=late)
    assert list(missed_people(late + LIMIT)) == []
    assert Notice.objects.get(key__startswith="not-out:").state == NoticeState.WITHDRAWN


def test_a_longer_stay_is_missed_at_its_own_end(on_site, confirmed, by_scanner, owner):
    watch_the_crew(DUE + LIMIT * 2)
    send_waiting(now=DUE + LIMIT * 2)
    longer = stay_longer(shoot=confirmed, minutes=45, by=by_scanner, now=DUE + LIMIT * 2)
    assert longer.due_out_at == DUE + LIMIT * 2 + timedelta(minutes=45)
    assert list(missed_people(longer.due_out_at + LIMIT)) == []
    watch_the_crew(longer.due_out_at + LIMIT + timedelta(seconds=1))
    assert Notice.objects.filter(key__startswith="not-out:").count() == 2


def test_a_longer_stay_said_early_counts_from_the_expected_end(on_site, confirmed, by_scanner):
    assert stay_longer(shoot=confirmed, minutes=30, by=by_scanner, now=ARRIVES).due_out_at == DUE + LIMIT


@pytest.mark.parametrize("minutes", [0, -5, 481])
def test_an_impossible_stay_is_refused(on_site, confirmed, by_scanner, minutes):
    with pytest.raises(Refused, match="1 to 480"):
        stay_longer(shoot=confirmed, minutes=minutes, by=by_scanner, now=ARRIVES)


def test_a_visit_nobody_checked_in_to_is_told_of_too(confirmed, owner):
    assert watch_the_crew(confirmed.ends_at + LIMIT) == 0
    assert watch_the_crew(confirmed.ends_at + LIMIT + timedelta(seconds=1)) == 1
    assert Notice.objects.get(key__startswith="not-out:visit").subject.startswith("Tobias Renn has not checked out")


def test_a_visit_that_ended_at_the_door_misses_nobody(confirmed, by_owner):
    note_no_access(shoot=confirmed, why="nobody came", by=by_owner, now=ARRIVES)
    assert list(missed_people(confirmed.ends_at + timedelta(days=1))) == []


def test_only_the_crew_checks_in(confirmed, by_owner):
    with pytest.raises(Refused, match="not on the crew"):
        check_in(shoot=confirmed, by=by_owner, now=ARRIVES)


def test_one_checks_in_to_a_confirmed_visit_of_today(timed, confirmed, by_scanner, client_of_office, house, package):
    with pytest.raises(Refused, match="not today"):
        check_in(shoot=confirmed, by=by_scanner, now=NOW)
    order = {"client": client_of_office, "property": house, "package": package, "add_ons": {}}
    other = pencil_shoot(**order, by=by_scanner, now=NOW)
    set_time(shoot=other, crew=[by_scanner.person], by=by_scanner, now=NOW, **visit(NOW + timedelta(days=2, hours=4)))
    with pytest.raises(Refused, match="this one is pencilled"):
        check_in(shoot=other, by=by_scanner, now=ARRIVES)


def test_one_is_on_one_site_at_a_time(on_site, confirmed, by_scanner, scanner):
    with pytest.raises(Refused, match="still checked in at"):
        check_in(shoot=confirmed, by=by_scanner, now=ARRIVES)
    with pytest.raises(IntegrityError), transaction.atomic():
        CheckIn.objects.create(shoot=confirmed, person=scanner, arrived_at=ARRIVES, due_out_at=DUE)


def test_out_without_in_is_refused(confirmed, by_scanner):
    with pytest.raises(Refused, match="not checked in"):
        check_out(shoot=confirmed, by=by_scanner, now=ARRIVES)


def test_the_owner_notes_that_somebody_is_out(on_site, confirmed, by_owner, scanner):
    row = check_out(shoot=confirmed, by=by_owner, now=DUE, person=scanner)
    assert (row.person, row.left_at) == (scanner, DUE)


def test_one_may_come_back(on_site, confirmed, by_scanner):
    check_out(shoot=confirmed, by=by_scanner, now=DUE)
    check_in(shoot=confirmed, by=by_scanner, now=DUE + LIMIT)
    assert confirmed.check_ins.count() == 2


@pytest.fixture
def at_the_door(time_machine, confirmed, scanner, client):
    """A browser of the scanner's, at the time of the arrival; a session of today would have ended by then."""
    time_machine.move_to(ARRIVES, tick=False)
    client.force_login(scanner, backend="allauth.account.auth_backends.AuthenticationBackend")
    return client


def test_in_and_out_with_one_thumb(at_the_door, confirmed):
    day = ARRIVES.date().isoformat()
    page = at_the_door.get(reverse("jobs:diary-day", args=[day])).content.decode()
    assert "Check in" in page
    press = {"day": day}
    answer = at_the_door.post(
        reverse("jobs:shoot-check-in", args=[confirmed.number]), press | {"once": str(uuid4())}, follow=True
    )
    assert answer.redirect_chain[-1][0] == reverse("jobs:diary-day", args=[day])
    assert "Check out" in answer.content.decode()
    stay = press | {"minutes": "30", "once": str(uuid4())}
    assert "Expected out at 10:40" in _post(at_the_door, "jobs:shoot-stay", confirmed, stay)
    assert "Say how many minutes" in _post(
        at_the_door, "jobs:shoot-stay", confirmed, {"minutes": "x", "once": str(uuid4())}
    )
    assert "Checked out" in _post(at_the_door, "jobs:shoot-check-out", confirmed, press | {"once": str(uuid4())})
    assert confirmed.check_ins.get().left_at == ARRIVES


def test_a_scanner_cannot_check_others_out(at_the_door, on_site, confirmed, owner):
    other = make_person("Ines Okafor", Role.SCANNER)
    _post(at_the_door, "jobs:shoot-check-out", confirmed, {"person": other.pk, "once": str(uuid4())})
    assert confirmed.check_ins.get().left_at == ARRIVES  # their own
    assert Person.objects.filter(check_ins__isnull=False).count() == 1


def _post(browser, name, shoot, data):
    return browser.post(reverse(name, args=[shoot.number]), data, follow=True).content.decode()
