"""Drives: road factor, speed bands, parking, and minutes entered by hand."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from jobs.rules.geodesic import Place, distance_m
from jobs.rules.travel import BY_HAND, ESTIMATE, SpeedBand, TravelSettings, minutes_for, road_km, trip

AMES = Place(latitude=42.03, longitude=-93.63)
ONE_DEGREE_NORTH = Place(latitude=43.03, longitude=-93.63)
SETTINGS = TravelSettings()
places = st.builds(
    Place,
    latitude=st.floats(-90, 90, allow_nan=False),
    longitude=st.floats(-180, 180, allow_nan=False),
)
kilometres = st.decimals(0, 2000, places=3)


def band(up_to_km: str | None, km_per_hour: str) -> SpeedBand:
    return SpeedBand(up_to_km=None if up_to_km is None else Decimal(up_to_km), km_per_hour=Decimal(km_per_hour))


BANDS = (band("10", "30"), band("40", "60"), band(None, "90"))


@pytest.mark.parametrize(
    ("km", "minutes"),
    [
        ("0", 0),
        ("0.001", 1),  # rounded up
        ("5", 10),
        ("10", 20),
        ("10.001", 21),
        ("25", 35),  # 20 for the first ten, 15 for the next fifteen
        ("40", 50),
        ("130", 110),
    ],
)
def test_each_stretch_is_driven_at_its_own_speed(km: str, minutes: int) -> None:
    assert minutes_for(Decimal(km), BANDS) == minutes


def test_thirds_of_a_minute_that_add_up_stay_whole() -> None:
    assert minutes_for(Decimal("7.5"), (band("7", "9"), band(None, "9"))) == 50
    assert minutes_for(Decimal(20), (band(None, "30"),)) == 40


@given(kilometres, kilometres)
def test_farther_never_takes_less_time(one: Decimal, other: Decimal) -> None:
    near, far = sorted([one, other])
    assert minutes_for(near, BANDS) <= minutes_for(far, BANDS)


@given(kilometres)
def test_minutes_lie_between_the_fastest_and_the_slowest_speed(km: Decimal) -> None:
    assert km * 60 / 90 <= minutes_for(km, BANDS) <= km * 60 / 30 + 1


def test_road_is_the_geodesic_times_the_factor_and_parking_is_added_once() -> None:
    # 111.1 km a degree of latitude here; × 1.30 = 144.4 km: 8 at 35, 32 at 65, the rest at 90, and 5 minutes.
    found = trip(AMES, ONE_DEGREE_NORTH, SETTINGS)
    assert road_km(AMES, ONE_DEGREE_NORTH, SETTINGS) == Decimal(round(distance_m(AMES, ONE_DEGREE_NORTH) * 1.3)) / 1000
    assert found.km == Decimal("144.4")
    assert found.minutes == 14 + 30 + 69 + 5
    assert found.label == ESTIMATE


def test_a_place_to_itself_is_no_drive_and_no_parking() -> None:
    assert trip(AMES, AMES, SETTINGS).minutes == 0


def test_minutes_entered_by_hand_hold_both_ways_and_say_so() -> None:
    timed = {(AMES, ONE_DEGREE_NORTH): 95}
    for there in (trip(AMES, ONE_DEGREE_NORTH, SETTINGS, timed), trip(ONE_DEGREE_NORTH, AMES, SETTINGS, timed)):
        assert (there.minutes, there.label) == (95, BY_HAND)


def test_the_way_back_may_be_entered_apart() -> None:
    timed = {(AMES, ONE_DEGREE_NORTH): 95, (ONE_DEGREE_NORTH, AMES): 110}
    assert trip(ONE_DEGREE_NORTH, AMES, SETTINGS, timed).minutes == 110


@given(places, places)
def test_the_way_back_is_estimated_as_long(one: Place, other: Place) -> None:
    assert trip(one, other, SETTINGS).minutes == trip(other, one, SETTINGS).minutes


@pytest.mark.parametrize(
    "bands",
    [
        (),
        (band("10", "30"),),
        (band(None, "30"), band(None, "60")),
        (band("10", "30"), band("10", "60"), band(None, "90")),
    ],
)
def test_bands_rise_and_the_last_has_no_end(bands: tuple[SpeedBand, ...]) -> None:
    with pytest.raises(ValidationError):
        TravelSettings(bands=bands)


@pytest.mark.parametrize("factor", ["0.99", "5.01"])
def test_a_road_is_never_shorter_than_the_geodesic(factor: str) -> None:
    with pytest.raises(ValidationError):
        TravelSettings(road_factor=Decimal(factor))


@pytest.mark.parametrize(
    ("latitude", "longitude"), [(90.1, 0.0), (0.0, 180.1), (float("nan"), 0.0), (0.0, float("inf"))]
)
def test_a_place_is_on_the_earth(latitude: float, longitude: float) -> None:
    with pytest.raises(ValidationError):
        Place(latitude=latitude, longitude=longitude)
