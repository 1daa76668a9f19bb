"""Finding a time: what fits each person, what fits two, and why."""

from datetime import date, datetime, timedelta
from decimal import Decimal
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse

from jobs.actions.leave import add_leave
from jobs.actions.shoots import pencil_shoot, set_time
from jobs.actions.slots import search_for
from jobs.models import CrewHours, CrewMember, DiaryRules, Property, ShootAddOn
from jobs.rules.daylight import daylight
from jobs.rules.geodesic import Place
from office.errors import Refused
from office.models import Person
from tests.cast import NOW, visit

pytestmark = pytest.mark.django_db

CHICAGO = ZoneInfo("America/Chicago")
TUESDAY = date(2027, 3, 2)


@pytest.fixture
def mapped(office):
    office.latitude, office.longitude = Decimal("41.60"), Decimal("-93.60")
    office.save()
    return office


@pytest.fixture
def wanted(client_of_office, package, by_owner):
    house = Property.objects.create(
        street="9 Elm Bend", town="Northfield", area_m2=150, zone="America/Chicago",
        latitude=Decimal("41.70"), longitude=Decimal("-93.60"),
    )  # fmt: skip
    return pencil_shoot(client=client_of_office, property=house, package=package, add_ons={}, by=by_owner, now=NOW)


def offers(shoot, days=1, people=None, pairs=False, minutes=60):
    search = search_for(shoot, TUESDAY, days, NOW)
    find = search.pairs if pairs else search.alone
    return find(people or Person.objects.at_work(), minutes)


def clock(at):
    return at.astimezone(CHICAGO).strftime("%a %H:%M")


def test_an_empty_day_offers_every_half_hour_with_the_drive_inside_the_hours(mapped, wanted, scanner):
    found = offers(wanted)
    drive = found[0].added_travel // 2
    assert 10 < drive < 30
    assert clock(found[0].arrive_from) == "Tue 09:30"
    assert clock(max(offer.leaves_by for offer in found)) == "Tue 16:30"
    assert "Nothing else that day" in found[0].whys[0][1]


def test_beside_another_visit_there_is_less_to_drive(mapped, wanted, shoot, scanner, owner, by_owner):
    near = Property.objects.create(
        street="11 Elm Bend", town="Northfield", area_m2=150, zone="America/Chicago",
        latitude=Decimal("41.701"), longitude=Decimal("-93.60"),
    )  # fmt: skip
    shoot.property = near
    shoot.save()
    set_time(shoot=shoot, crew=[scanner], by=by_owner, now=NOW, **visit(NOW + timedelta(days=1)))
    best = offers(wanted)[0]
    assert best.crew == (scanner,)
    assert best.added_travel < 10
    assert "11 Elm Bend" in best.whys[0][1]


def test_every_offer_can_be_booked_and_nothing_between_them_is_lost(mapped, wanted, shoot, scanner, by_owner):
    """Each window on the clock's half hours is offered exactly when the booking takes it, within the hours."""
    set_time(shoot=shoot, crew=[scanner], by=by_owner, now=NOW, **visit(NOW + timedelta(days=1, hours=2), 100))
    offered = {offer.arrive_from for offer in offers(wanted, people=[scanner])}
    assert offered
    start = datetime(2027, 3, 2, 9, tzinfo=CHICAGO)
    for step in range(16):
        at = start + timedelta(minutes=30 * step)
        assert (at in offered) == _can_be_booked(wanted, scanner, by_owner, at), at


def _can_be_booked(shoot, person, by, at):
    from django.db import transaction

    try:
        with transaction.atomic():
            times = {"starts_at": at, "window_end": at + timedelta(minutes=30), "ends_at": at + timedelta(minutes=90)}
            set_time(shoot=shoot, crew=[person], by=by, now=NOW, **times)
            held = CrewMember.objects.get(shoot=shoot)
            day = CrewMember.objects.filter(person=person).order_by("busy_from")
            hours = datetime(2027, 3, 2, 9, tzinfo=CHICAGO), datetime(2027, 3, 2, 17, tzinfo=CHICAGO)
            fits = hours[0] <= day[0].busy_from and day[len(day) - 1].busy_until <= hours[1] and held.busy_from
            transaction.set_rollback(True)
            return bool(fits)
    except Refused:
        return False


def test_two_come_only_when_both_can(mapped, wanted, scanner, owner, by_owner):
    CrewHours.objects.create(person=owner, hours={"tue": [["12:00", "17:00"]]})
    found = offers(wanted, pairs=True)
    assert found
    assert all(set(offer.crew) == {scanner, owner} for offer in found)
    assert all(clock(offer.arrive_from) >= "Tue 12:30" for offer in found)
    assert offers(wanted, pairs=True, people=[owner]) == []


def test_who_is_away_or_never_goes_out_is_not_offered(mapped, wanted, scanner, owner, by_owner):
    add_leave(person=scanner, first_day=TUESDAY, last_day=TUESDAY, why="", by=by_owner, now=NOW)
    CrewHours.objects.create(person=owner, hours={})
    assert offers(wanted) == []
    assert {offer.arrive_from.date() for offer in offers(wanted, days=3)} == {date(2027, 3, 3), date(2027, 3, 4)}


def test_the_least_notice_is_kept(mapped, wanted, scanner):
    DiaryRules.objects.create(pk=1, notice_hours=30)
    assert clock(min(offer.arrive_from for offer in offers(wanted))) == "Tue 15:00"  # 30 hours after Monday nine


def test_an_add_on_that_needs_daylight_is_offered_in_daylight(mapped, wanted, scanner, exterior):
    CrewHours.objects.create(person=scanner, hours={"tue": [["05:00", "21:00"]]})
    ShootAddOn.objects.create(shoot=wanted, add_on=exterior)
    found = offers(wanted, people=[scanner])
    # the sun itself is held by tests/published/test_daylight.py
    light = daylight(Place(41.70, -93.60), TUESDAY, "America/Chicago")
    first, last = min(offer.arrive_from for offer in found), max(offer.leaves_by for offer in found)
    assert light.sunrise <= first < light.sunrise + timedelta(minutes=30)
    assert last <= light.sunset < last + timedelta(minutes=30)
    assert "The sun is up" in found[0].whys[0][1]


def test_without_any_coordinates_the_offices_own_minutes_hold(office, wanted, scanner, exterior):
    Property.objects.update(latitude=None, longitude=None)
    ShootAddOn.objects.create(shoot=wanted, add_on=exterior)
    wanted.refresh_from_db()
    search = search_for(wanted, TUESDAY, 1, NOW)
    found = search.alone([scanner], 60)
    assert (search.needs_daylight, search.knows_the_sun) == (True, False)
    assert found[0].added_travel == 60


def test_houses_without_coordinates_are_not_taken_for_one_place(mapped, wanted, shoot, scanner, by_owner):
    Property.objects.update(latitude=None, longitude=None)
    wanted.refresh_from_db()
    shoot.refresh_from_db()
    set_time(shoot=shoot, crew=[scanner], by=by_owner, now=NOW, **visit(NOW + timedelta(days=1)))
    after = [offer for offer in offers(wanted) if "after 27 Alder Rise" in offer.whys[0][1]]
    assert after[0].added_travel == 30


def test_the_page_offers_looks_and_saves(owner_browser, mapped, wanted, scanner, time_machine):
    address = reverse("jobs:shoot-time", args=[wanted.number])
    page = owner_browser.get(address, {"since": _today(), "days": 7, "people": 2}).content.decode()
    assert "Find a time" in page
    assert "Four in five within" in page
    chosen = {"starts_at": "2031-03-04T10:00", "window_minutes": 30, "minutes": 20, "crew": scanner.pk}
    page = owner_browser.get(address, chosen).content.decode()
    assert "20 minutes on site; half of such visits take up to" in page
    assert "stays pencilled" in page
    wanted.refresh_from_db()
    assert wanted.starts_at is None
    assert owner_browser.post(address, chosen | {"wish": "office", "once": str(uuid4())}).status_code == 302
    wanted.refresh_from_db()
    assert wanted.starts_at == datetime(2031, 3, 4, 10, tzinfo=CHICAGO)
    assert wanted.estimated_p80 > wanted.estimated_p50 > 20


def _today():
    from django.utils import timezone

    return timezone.localdate().isoformat()


def test_a_time_that_is_taken_shows_the_next_free_ones_and_keeps_what_was_typed(
    owner_browser, mapped, wanted, shoot, scanner, by_owner
):
    set_time(shoot=shoot, crew=[scanner], by=by_owner, now=NOW, **visit(datetime(2031, 3, 4, 10, tzinfo=CHICAGO)))
    typed = {"starts_at": "2031-03-04T10:00", "window_minutes": 25, "minutes": 60, "crew": scanner.pk}
    address = reverse("jobs:shoot-time", args=[wanted.number])
    page = owner_browser.post(address, typed | {"once": str(uuid4())}).content.decode()
    assert "Tobias Renn is busy then" in page
    assert "Free next:" in page
    assert 'value="25"' in page
    looked_at = owner_browser.get(address, typed).content.decode()
    assert "Cannot be" in looked_at
    assert "Move the visit" not in looked_at


@pytest.mark.parametrize("since", ["1999-01-01", "9999-12-31", "never"])
def test_impossible_days_to_look_from_are_refused_beside_the_field(owner_browser, wanted, since):
    page = owner_browser.get(reverse("jobs:shoot-time", args=[wanted.number]), {"since": since})
    assert page.status_code == 200
    assert "invalid-feedback" in page.content.decode()
