"""A better order of somebody's day: proposed, and moved only when the owner accepts it."""

from datetime import date, timedelta
from decimal import Decimal
from itertools import pairwise
from uuid import uuid4

import pytest
from django.core import mail
from django.urls import reverse

from jobs.actions.day_order import accept_order, day_order
from jobs.actions.shoots import confirm_shoot, pencil_shoot, set_time
from jobs.models import CrewMember, Property, Shoot
from office.actions.notices import send_waiting
from office.errors import Refused
from office.models import Event
from tests.cast import NOW, visit

pytestmark = pytest.mark.django_db

TUESDAY = date(2027, 3, 2)


@pytest.fixture
def zigzag(office, client_of_office, package, scanner, by_owner):
    """Three pencilled visits: near, far, near again. The far one first or last saves a drive."""
    office.latitude, office.longitude = Decimal("41.60"), Decimal("-93.60")
    office.save()
    shoots = []
    for number, (latitude, longitude) in enumerate([("41.75", "-93.60"), ("41.60", "-93.35"), ("41.76", "-93.60")]):
        house = Property.objects.create(
            street=f"{number} Elm Bend", town="Northfield", area_m2=100, zone="America/Chicago",
            latitude=Decimal(latitude), longitude=Decimal(longitude),
        )  # fmt: skip
        order = {"client": client_of_office, "property": house, "package": package, "add_ons": {}, "by": by_owner}
        shoot = pencil_shoot(**order, now=NOW)
        start = NOW + timedelta(days=1, hours=2 * number + number / 2, minutes=30)
        shoots.append(set_time(shoot=shoot, crew=[scanner], by=by_owner, now=NOW, **visit(start, 60)))
    return shoots


def found(person, may_move=(), now=NOW):
    return day_order(person=person, day=TUESDAY, may_move=may_move, now=now)


def test_the_order_with_less_driving_is_proposed_and_nothing_moves(zigzag, scanner):
    order = found(scanner)
    assert [move.shoot for move in order.standing] == zigzag
    assert order.saves > 10
    assert [move.shoot for move in order.proposed].index(zigzag[1]) in {0, 2}  # the far one no longer in between
    assert list(Shoot.objects.order_by("starts_at")) == zigzag


def test_accepting_moves_the_pencilled_visits(zigzag, scanner, by_owner):
    order = found(scanner)
    accept_order(person=scanner, day=TUESDAY, may_move=(), token=order.token, by=by_owner, now=NOW)
    assert [(shoot.pk, shoot.starts_at) for shoot in Shoot.objects.order_by("starts_at")] == [
        (move.shoot.pk, move.starts_at) for move in order.proposed
    ]
    assert found(scanner).travel_now == order.travel
    assert "minutes less driving" in Event.objects.get(verb="day-ordered").text
    spans = list(CrewMember.objects.order_by("busy_from").values_list("busy_from", "busy_until"))
    assert all(one[1] <= other[0] for one, other in pairwise(spans))


def test_a_confirmed_window_is_never_moved_silently(zigzag, scanner, by_owner):
    near, far, _again = zigzag
    for shoot in (near, far):
        confirm_shoot(shoot=shoot, by=by_owner, now=NOW)
    order = found(scanner)
    for move in order.proposed:
        assert not (move.moves and move.shoot in (near, far))
    assert order.told == []


def test_a_client_who_may_be_asked_is_told(zigzag, scanner, by_owner):
    for shoot in zigzag:
        confirm_shoot(shoot=shoot, by=by_owner, now=NOW)
    assert found(scanner).proposed == ()
    may_move = [shoot.pk for shoot in zigzag]
    order = found(scanner, may_move)
    assert order.told == [move.shoot for move in order.proposed if move.moves] != []
    send_waiting(now=NOW)
    before = len(mail.outbox)
    accept_order(person=scanner, day=TUESDAY, may_move=may_move, token=order.token, by=by_owner, now=NOW)
    send_waiting(now=NOW)
    subjects = [sent.subject for sent in mail.outbox[before:] if "odile@" in sent.to[0]]
    assert len(subjects) == len(order.told)
    assert all("has a new time" in subject for subject in subjects)
    assert all(shoot.fee_percent is None for shoot in Shoot.objects.all())


def test_a_day_that_changed_since_is_not_moved(zigzag, scanner, by_owner):
    token = found(scanner).token
    confirm_shoot(shoot=zigzag[1], by=by_owner, now=NOW)
    set_time(shoot=zigzag[0], crew=[scanner], by=by_owner, now=NOW, **visit(NOW + timedelta(days=8)))
    with pytest.raises(Refused, match="has changed"):
        accept_order(person=scanner, day=TUESDAY, may_move=(), token=token, by=by_owner, now=NOW)


def test_a_visit_of_two_people_stays(zigzag, scanner, owner, by_owner):
    near = zigzag[0]
    set_time(shoot=near, crew=[scanner, owner], by=by_owner, now=NOW, **visit(near.starts_at, 60))
    assert not any(move.moves for move in found(scanner).proposed if move.shoot == near)


def test_what_has_begun_stays(zigzag, scanner):
    order = found(scanner, now=zigzag[0].starts_at + timedelta(minutes=1))
    assert not any(move.moves for move in order.proposed if move.shoot == zigzag[0])


def test_an_empty_day_and_a_day_that_cannot_be_kept(scanner, zigzag, owner, by_owner):
    empty = found(owner)
    assert (empty.standing, empty.proposed, empty.travel_now, empty.fits) == ((), (), 0, True)
    shoot = zigzag[0]
    long = visit(NOW + timedelta(days=1, hours=-7), 11 * 60)
    set_time(shoot=shoot, crew=[owner], by=by_owner, now=NOW, **long)
    assert not found(owner).fits


def test_the_page_shows_and_moves(owner_browser, zigzag, scanner, time_machine, owner):
    time_machine.move_to(NOW, tick=False)
    owner_browser.force_login(owner, backend="allauth.account.auth_backends.AuthenticationBackend")
    address = reverse("jobs:day-order", args=["2027-03-02", scanner.pk])
    page = owner_browser.get(address).content.decode()
    assert "minutes of driving" in page
    order = found(scanner)
    press = {"token": order.token, "once": str(uuid4())}
    answer = owner_browser.post(address, press, follow=True).content.decode()
    assert f"Moved; {order.saves} minutes less driving." in answer
    assert "No order drives less" in owner_browser.get(address).content.decode()
    stale = owner_browser.post(address, {"token": order.token, "once": str(uuid4())}, follow=True)
    assert "has changed" in stale.content.decode()


@pytest.mark.parametrize("day", ["2027-13-01", "soon"])
def test_a_day_that_is_none_is_not_found(owner_browser, scanner, day):
    assert owner_browser.get(reverse("jobs:day-order", args=[day, scanner.pk])).status_code == 404
