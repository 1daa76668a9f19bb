"""One person's visits and the drives between them."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.rules.busy import Held, busy_times, clash
from jobs.rules.drives import ASSUMED, OFFICE_KEY, Drives, Spot, stand_in
from jobs.rules.geodesic import Place
from jobs.rules.travel import BY_HAND, ESTIMATE, TravelSettings

HOME = Spot(OFFICE_KEY, Place(41.60, -93.61), "the office")
NEAR, FAR = Spot(1, Place(41.62, -93.61), "4 Oak"), Spot(2, Place(41.90, -93.61), "9 Elm")
LOST = Spot(3, None, "Mill Lane")
DRIVES = Drives(TravelSettings(), unknown_minutes=30)
NINE = datetime(2027, 3, 2, 9, tzinfo=UTC)


def held(key: int, spot: Spot, start: datetime, minutes: int = 60) -> Held:
    return Held(key, spot, start.date(), start, start + timedelta(minutes=minutes))


def minutes(start: Spot, end: Spot) -> timedelta:
    return timedelta(minutes=DRIVES.minutes(start, end))


def test_a_day_of_one_visit_is_the_drive_there_the_visit_and_the_drive_home():
    (busy,) = busy_times([held(1, NEAR, NINE)], HOME, DRIVES)
    assert busy.busy_from == NINE - minutes(HOME, NEAR)
    assert busy.busy_until == NINE + timedelta(hours=1) + minutes(NEAR, HOME)
    assert minutes(HOME, NEAR) > timedelta(minutes=5)


def test_on_one_date_one_drives_from_visit_to_visit():
    first, second = busy_times(
        [held(2, FAR, NINE + timedelta(hours=5)), held(1, NEAR, NINE)], HOME, DRIVES
    )  # fmt: skip
    assert (first.goes_home, second.goes_home) == (False, True)
    assert first.busy_until == first.held.ends_at
    assert second.came_from == NEAR
    assert second.busy_from == second.held.starts_at - minutes(NEAR, FAR)


def test_between_dates_one_goes_home_unless_there_is_no_time():
    late = datetime(2027, 3, 2, 22, 30, tzinfo=UTC)
    first, second = busy_times([held(1, FAR, late), held(2, FAR, late + timedelta(hours=11))], HOME, DRIVES)
    assert (first.goes_home, second.came_from) == (True, HOME)
    first, second = busy_times([held(1, FAR, late), held(2, FAR, late + timedelta(minutes=95))], HOME, DRIVES)
    assert (first.goes_home, second.came_from) == (False, FAR)


@pytest.mark.parametrize(("spare", "stands_in_the_way"), [(-1, True), (0, False)])
def test_two_visits_need_the_drive_between_them(spare, stands_in_the_way):
    first = held(1, NEAR, NINE)
    second = held(2, FAR, first.ends_at + minutes(NEAR, FAR) + timedelta(minutes=spare))
    for new, other in ((first, second), (second, first)):
        found = clash(new, [other], DRIVES)
        assert bool(found) is stands_in_the_way
        assert not found or (found.held, found.short_by) == (other, 1)


def test_seconds_that_are_missing_count_as_a_minute():
    first = held(1, NEAR, NINE)
    second = held(2, FAR, first.ends_at + minutes(NEAR, FAR) - timedelta(seconds=1))
    assert clash(second, [first], DRIVES).short_by == 1


def test_visits_that_overlap_clash_whatever_the_drive():
    assert clash(held(1, NEAR, NINE), [held(2, NEAR, NINE + timedelta(minutes=59))], DRIVES).short_by is None
    assert clash(held(1, NEAR, NINE), [held(2, NEAR, NINE + timedelta(minutes=60))], DRIVES) is None


def test_what_a_drive_rests_on_is_said():
    timed = Drives(TravelSettings(), 30, {(OFFICE_KEY, NEAR.key): 17, (NEAR.key, OFFICE_KEY): 19})
    assert (timed.drive(HOME, NEAR).minutes, timed.drive(HOME, NEAR).label) == (17, BY_HAND)
    assert timed.drive(NEAR, HOME).minutes == 19
    assert Drives(TravelSettings(), 30, {(OFFICE_KEY, NEAR.key): 17}).drive(NEAR, HOME).minutes == 17
    assert (timed.drive(HOME, LOST).minutes, timed.drive(HOME, LOST).label) == (30, ASSUMED)
    assert timed.drive(HOME, LOST).km is None
    assert timed.drive(NEAR, FAR).label == ESTIMATE
    assert timed.drive(NEAR, FAR).km > Decimal(30)
    assert timed.drive(LOST, LOST).minutes == 0


def test_spots_without_coordinates_are_told_apart():
    lost = [Spot(key, None) for key in range(1, 200)]
    places = {stand_in(spot, HOME.place) for spot in (*lost, HOME)}
    assert len(places) == 200
    assert stand_in(NEAR, HOME.place) == NEAR.place


SPOTS = st.sampled_from([NEAR, FAR, LOST, Spot(4, Place(41.61, -93.30)), Spot(5, NEAR.place)])


@st.composite
def booked(draw):
    """Visits made one after another, each only where nothing stands in its way, as the diary does."""
    visits: list[Held] = []
    for key in range(1, draw(st.integers(1, 9)) + 1):
        start = NINE + timedelta(minutes=draw(st.integers(0, 4 * 1440)))
        new = held(key, draw(SPOTS), start, draw(st.integers(10, 300)))
        if clash(new, visits, DRIVES) is None:
            visits.append(new)
    return visits


@settings(deadline=None)
@given(booked())
def test_booked_visits_never_keep_a_person_in_two_places(visits):
    times = busy_times(visits, HOME, DRIVES)
    assert [busy.held for busy in times] == sorted(visits, key=lambda held: held.starts_at)
    for busy, after in pairwise(times):
        assert busy.busy_until <= after.busy_from
        assert after.busy_from == after.held.starts_at - minutes(after.came_from, after.held.spot)
        assert after.came_from == (HOME if busy.goes_home else busy.held.spot)
    for busy in times:
        assert busy.busy_from <= busy.held.starts_at < busy.held.ends_at <= busy.busy_until
    assert times[-1].goes_home


@settings(deadline=None)
@given(booked(), st.data())
def test_taking_a_visit_away_leaves_the_rest_apart(visits, data):
    rest = [held for held in visits if held != data.draw(st.sampled_from(visits))]
    times = busy_times(rest, HOME, DRIVES)
    assert all(busy.busy_until <= after.busy_from for busy, after in pairwise(times))
    assert all(busy.busy_from <= busy.held.starts_at for busy in times)
