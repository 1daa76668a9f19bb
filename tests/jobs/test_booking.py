"""Nobody is ever in two places."""

import threading
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, connection, transaction

from jobs.actions.shoots import cancel_shoot, pencil_shoot, set_time
from jobs.guards import GUARD, check_guard, install
from jobs.models import CrewHours, CrewMember, DiaryRules, Property, Shoot
from office.errors import Refused
from tests.cast import NOW, visit

TOMORROW = NOW + timedelta(days=1)
TRIES = 200
CONNECTIONS = threading.BoundedSemaphore(80)
"""A PostgreSQL server takes a hundred connections unless told otherwise; the rest wait as at a web server's pool."""


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


@pytest.fixture
def far_house(office):
    """Some 33 km north of the house; an hour's drive and a bit, there and back."""
    return Property.objects.create(
        street="9 Elm Bend", town="Northfield", area_m2=Decimal(150), zone="America/Chicago",
        latitude=Decimal("41.9"), longitude=Decimal("-93.61"),
    )  # fmt: skip


@pytest.fixture
def far(client_of_office, far_house, package, by_owner):
    return pencil_shoot(client=client_of_office, property=far_house, package=package, add_ons={}, by=by_owner, now=NOW)


def member_of(shoot):
    return CrewMember.objects.get(shoot=shoot)


@pytest.fixture
def office_in_town(office):
    office.latitude, office.longitude = Decimal("41.5"), Decimal("-93.6")
    office.save()
    return office


@pytest.mark.django_db
def test_the_drives_there_and_home_belong_to_the_busy_time(office_in_town, far, scanner, by_owner):
    book(far, scanner, by_owner, TOMORROW)
    member = member_of(far)
    drive = TOMORROW - member.busy_from
    assert timedelta(minutes=50) < drive < timedelta(minutes=65)
    assert member.busy_until == TOMORROW + timedelta(minutes=60) + drive


@pytest.mark.django_db
def test_a_second_visit_is_refused_where_the_drive_does_not_fit(office_in_town, shoot, far, scanner, by_owner):
    book(shoot, scanner, by_owner, TOMORROW)
    with pytest.raises(Refused, match=rf"cannot drive that fast: {shoot.number}.*minutes too little.*Free next: Tue"):
        book(far, scanner, by_owner, TOMORROW + timedelta(minutes=90))
    book(far, scanner, by_owner, TOMORROW + timedelta(minutes=120))
    assert member_of(shoot).busy_until == TOMORROW + timedelta(minutes=60)
    assert member_of(far).busy_from > member_of(shoot).busy_until


@pytest.mark.django_db
def test_a_visit_before_another_takes_over_the_drive_from_home(office_in_town, shoot, far, scanner, by_owner):
    book(far, scanner, by_owner, TOMORROW + timedelta(hours=3))
    from_home = member_of(far).busy_from
    book(shoot, scanner, by_owner, TOMORROW)
    assert member_of(far).busy_from != from_home
    assert member_of(shoot).busy_until == TOMORROW + timedelta(hours=1)
    cancel_shoot(shoot=shoot, why="sold", by=by_owner, now=NOW)
    assert member_of(far).busy_from == from_home
    assert member_of(shoot).busy_from is None


@pytest.mark.django_db
def test_moving_a_visit_away_gives_the_day_its_drives_back(office_in_town, shoot, far, scanner, owner, by_owner):
    book(shoot, scanner, by_owner, TOMORROW)
    alone = member_of(shoot).busy_until
    book(far, scanner, by_owner, TOMORROW + timedelta(hours=3))
    book(far, scanner, by_owner, TOMORROW + timedelta(days=40))
    assert member_of(shoot).busy_until == alone
    book(far, scanner, by_owner, TOMORROW + timedelta(hours=3))
    book(far, owner, by_owner, TOMORROW + timedelta(hours=3))
    assert member_of(shoot).busy_until == alone


@pytest.mark.django_db
def test_a_house_without_coordinates_takes_the_offices_own_minutes(office_in_town, far, far_house, scanner, by_owner):
    far_house.latitude = None
    far_house.save()
    DiaryRules.objects.create(pk=1, unknown_drive_minutes=25)
    book(far, scanner, by_owner, TOMORROW)
    assert member_of(far).busy_from == TOMORROW - timedelta(minutes=25)


@pytest.mark.django_db
def test_a_refused_pair_learns_when_both_are_free(shoot, other, scanner, owner, by_owner):
    book(shoot, scanner, by_owner, TOMORROW)
    with pytest.raises(Refused, match="Free next: Tue, Mar 2, 2027, 10:00"):
        set_time(shoot=other, crew=[owner, scanner], by=by_owner, now=NOW, **visit(TOMORROW, 60))
    assert not other.members.exists()


@pytest.mark.django_db
def test_nothing_free_is_said_too(office, shoot, other, scanner, by_owner):
    book(shoot, scanner, by_owner, TOMORROW)
    CrewHours.objects.create(person=scanner, hours={})
    with pytest.raises(Refused, match="Nothing is free within 14 days"):
        book(other, scanner, by_owner, TOMORROW)


@pytest.mark.django_db
def test_a_visit_may_be_moved_within_its_own_time(shoot, scanner, by_owner):
    book(shoot, scanner, by_owner, TOMORROW)
    moved = book(shoot, scanner, by_owner, TOMORROW + timedelta(minutes=15))
    assert moved.starts_at == TOMORROW + timedelta(minutes=15)


@pytest.mark.django_db(transaction=True)
def test_of_200_who_book_one_person_at_once_exactly_one_wins(client_of_office, house, package, scanner, by_owner):
    order = {"client": client_of_office, "property": house, "package": package, "add_ons": {}, "by": by_owner}
    shoots = [pencil_shoot(**order, now=NOW) for _ in range(TRIES)]
    outcomes: list[str] = []
    begin = threading.Barrier(TRIES)

    def one_try(shoot):
        begin.wait()
        with CONNECTIONS:
            try:
                book(shoot, scanner, by_owner, TOMORROW)
                outcomes.append("won")
            except Refused as refusal:
                outcomes.append(str(refusal.message))
            finally:
                connection.close()

    threads = [threading.Thread(target=one_try, args=(shoot,)) for shoot in shoots]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    winner = CrewMember.objects.select_related("shoot").get(person=scanner).shoot
    assert outcomes.count("won") == 1
    assert len(outcomes) == TRIES
    refusal = next(outcome for outcome in outcomes if outcome != "won")
    assert refusal.startswith(f"Tobias Renn is busy then: {winner.number}, Tue, Mar 2, 2027, 9:00")
    assert "Free next: Tue, Mar 2, 2027, 10:00\N{NO-BREAK SPACE}AM" in refusal
    assert outcomes.count(refusal) == TRIES - 1
    assert Shoot.objects.exclude(starts_at=None).get() == winner


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
