"""Nobody is ever in two places."""

import threading
from datetime import timedelta

import pytest
from django.db import IntegrityError, connection, transaction

from jobs.actions.shoots import pencil_shoot, set_time
from jobs.guards import GUARD, check_guard, install
from jobs.models import CrewMember
from office.errors import Refused
from tests.cast import NOW, visit

TOMORROW = NOW + timedelta(days=1)


@pytest.fixture
def other(client_of_office, house, package, by_owner):
    return pencil_shoot(client=client_of_office, property=house, package=package, add_ons={}, by=by_owner, now=NOW)


def book(shoot, person, by, start, minutes=60):
    return set_time(shoot=shoot, crew=[person], by=by, now=NOW, **visit(start, minutes))


@pytest.mark.django_db
@pytest.mark.parametrize("shift", [-59, -30, 0, 30, 59])
def test_an_overlap_is_refused_with_what_stands_in_the_way(shoot, other, scanner, by_owner, shift):
    book(shoot, scanner, by_owner, TOMORROW)
    with pytest.raises(Refused, match=shoot.number) as refusal:
        book(other, scanner, by_owner, TOMORROW + timedelta(minutes=shift))
    assert refusal.value.field == "crew"
    other.refresh_from_db()
    assert other.starts_at is None
    assert not other.members.exists()


@pytest.mark.django_db
@pytest.mark.parametrize("shift", [-60, 60])
def test_visits_that_only_touch_are_fine(shoot, other, scanner, by_owner, shift):
    book(shoot, scanner, by_owner, TOMORROW)
    book(other, scanner, by_owner, TOMORROW + timedelta(minutes=shift))
    assert CrewMember.objects.filter(person=scanner).count() == 2


@pytest.mark.django_db
def test_a_visit_may_be_moved_within_its_own_time(shoot, scanner, by_owner):
    book(shoot, scanner, by_owner, TOMORROW)
    moved = book(shoot, scanner, by_owner, TOMORROW + timedelta(minutes=15))
    assert moved.starts_at == TOMORROW + timedelta(minutes=15)


@pytest.mark.django_db(transaction=True)
def test_of_many_who_book_one_person_at_once_exactly_one_wins(client_of_office, house, package, scanner, by_owner):
    order = {"client": client_of_office, "property": house, "package": package, "add_ons": {}, "by": by_owner}
    shoots = [pencil_shoot(**order, now=NOW) for _ in range(12)]
    outcomes: list[str] = []

    def one_try(shoot):
        try:
            book(shoot, scanner, by_owner, TOMORROW)
            outcomes.append("won")
        except Refused:
            outcomes.append("refused")
        finally:
            connection.close()

    threads = [threading.Thread(target=one_try, args=(shoot,)) for shoot in shoots]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(outcomes) == ["refused"] * 11 + ["won"]
    assert CrewMember.objects.filter(person=scanner).count() == 1


@pytest.mark.django_db
def test_the_database_itself_refuses_two_places_at_once(shoot, other, scanner):
    times = {"person": scanner, "busy_from": TOMORROW, "busy_until": TOMORROW + timedelta(hours=1)}
    CrewMember.objects.create(shoot=shoot, **times)
    with pytest.raises(IntegrityError, match=GUARD), transaction.atomic():
        CrewMember.objects.create(shoot=other, **times)
    member = CrewMember.objects.create(shoot=other, person=scanner)
    with pytest.raises(IntegrityError, match=GUARD), transaction.atomic():
        CrewMember.objects.filter(pk=member.pk).update(busy_from=TOMORROW, busy_until=TOMORROW + timedelta(hours=1))


@pytest.mark.django_db
def test_the_system_check_finds_a_missing_guard(shoot):
    assert check_guard(databases=["default"]) == []
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(f"ALTER TABLE jobs_crewmember DROP CONSTRAINT {GUARD}")
        else:
            cursor.execute(f"DROP TRIGGER {GUARD}_INSERT")
    assert [error.id for error in check_guard(databases=["default"])] == ["jobs.E001"]
    install()
    assert check_guard(databases=["default"]) == []
