"""What a time would mean, told before anything is saved."""

from datetime import timedelta
from decimal import Decimal

import pytest

from jobs.actions.consequences import consequences_of
from jobs.actions.leave import add_leave
from jobs.actions.shoots import Timing, confirm_shoot, pencil_shoot, set_time
from jobs.actions.weather import hold_for_weather
from jobs.models import DiaryRules, Property, ShootAddOn
from tests.cast import NOW, visit

pytestmark = pytest.mark.django_db

TOMORROW = NOW + timedelta(days=1)


def told(shoot, crew, start, now=NOW, minutes=150):
    timing = Timing(shoot=shoot, crew=crew, **visit(start, minutes))
    return consequences_of(timing, now)


def texts(found, weight=None):
    return " ".join(consequence.text for consequence in found if weight in (None, consequence.weight))


def test_nothing_is_saved_by_looking(shoot, scanner):
    told(shoot, [scanner], TOMORROW)
    shoot.refresh_from_db()
    assert shoot.starts_at is None
    assert not shoot.members.exists()


def test_a_plain_time_raises_no_doubt(shoot, scanner):
    found = told(shoot, [scanner], TOMORROW)
    assert {consequence.weight for consequence in found} == {"note"}
    assert "stays pencilled" in texts(found)
    assert "Invited by mail: Tobias Renn." in texts(found)


def test_a_clash_is_named_with_the_next_free_windows(shoot, client_of_office, house, package, scanner, by_owner):
    order = {"client": client_of_office, "property": house, "package": package, "add_ons": {}, "by": by_owner}
    other = pencil_shoot(**order, now=NOW)
    set_time(shoot=other, crew=[scanner], by=by_owner, now=NOW, **visit(TOMORROW))
    found = told(shoot, [scanner], TOMORROW)
    assert f"Tobias Renn is busy then: {other.number}" in texts(found, "must")
    assert "Free next:" in texts(found)


def test_the_driving_is_told_with_what_it_rests_on(shoot, client_of_office, package, scanner, office, by_owner):
    office.latitude, office.longitude = Decimal("41.60"), Decimal("-93.60")
    office.save()
    far = Property.objects.create(
        street="9 Elm Bend", town="Northfield", area_m2=150, zone="America/Chicago",
        latitude=Decimal("41.9"), longitude=Decimal("-93.61"),
    )  # fmt: skip
    order = {"client": client_of_office, "property": far, "package": package, "add_ons": {}, "by": by_owner}
    other = pencil_shoot(**order, now=NOW)
    set_time(shoot=other, crew=[scanner], by=by_owner, now=NOW, **visit(TOMORROW + timedelta(hours=5)))
    found = texts(told(shoot, [scanner], TOMORROW), "note")
    assert "minutes from the office and" in found
    assert "on to 9 Elm Bend" in found
    assert "estimate, not a route" in found


@pytest.mark.parametrize(
    ("start", "doubt"),
    [
        (TOMORROW + timedelta(hours=7), "does not work through all of this time"),  # into the evening
        (NOW + timedelta(days=5), "does not work through all of this time"),  # Saturday
        (NOW + timedelta(days=-1), "This time is past."),
        (NOW + timedelta(days=91), "Memorial Day"),  # 31 May 2027
    ],
)
def test_a_time_that_does_not_fit_the_hours_raises_a_doubt(shoot, scanner, start, doubt):
    assert doubt in texts(told(shoot, [scanner], start), "should")


def test_leave_is_named(shoot, scanner, by_owner):
    day = TOMORROW.date()
    add_leave(person=scanner, first_day=day, last_day=day, why="dentist", by=by_owner, now=NOW)
    assert "Tobias Renn does not work on Tue, Mar 2, 2027: dentist." in texts(
        told(shoot, [scanner], TOMORROW), "should"
    )


def test_too_short_a_stay_raises_a_doubt(shoot, scanner):
    assert "10 minutes on site" in texts(told(shoot, [scanner], TOMORROW, minutes=40), "should")


def test_an_add_on_in_the_dark_raises_a_doubt(shoot, scanner, exterior):
    ShootAddOn.objects.create(shoot=shoot, add_on=exterior)
    assert "daylight" not in texts(told(shoot, [scanner], TOMORROW))
    assert "the sun is up from 6:" in texts(told(shoot, [scanner], TOMORROW - timedelta(hours=4)), "should")


def test_moving_a_promised_visit_tells_the_client_and_may_cost(confirmed, owner, scanner):
    DiaryRules.objects.create(pk=1, free_hours=72)
    found = told(confirmed, [owner], NOW + timedelta(days=3))
    assert "was promised the old time and is told of the new one by mail" in texts(found)
    assert "at the client's wish it costs 25 % of the price" in texts(found, "should")
    assert "Taken off and told so: Tobias Renn." in texts(found)


def test_another_crew_at_the_same_time_moves_nothing(confirmed, owner):
    found = texts(told(confirmed, [owner], NOW + timedelta(days=2), minutes=90))
    assert "was promised" not in found


def test_a_weather_hold_ends(timed, scanner, by_owner):
    confirm_shoot(shoot=timed, by=by_owner, now=NOW)
    hold_for_weather(shoot=timed, note="rain", decide_at=TOMORROW, by=by_owner, now=NOW)
    timed.refresh_from_db()
    assert "The weather hold ends." in texts(told(timed, [scanner], NOW + timedelta(days=4)))
