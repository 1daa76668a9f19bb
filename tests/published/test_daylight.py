"""Sunrise and sunset against published tables and the NREL SPA calculator, and the days without either."""

import csv
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.rules.daylight import SunCourse, daylight
from jobs.rules.geodesic import Place

ZONES = {
    "Golden US": "America/Denver",
    "35 S 0 E": "UTC",
    "Anchorage US": "America/Anchorage",
    "Auckland NZ": "Pacific/Auckland",
    "Brasilia BR": "America/Sao_Paulo",
    "Singapore SG": "Asia/Singapore",
}
TROMSO = Place(latitude=69.6492, longitude=18.9553)
FAIRBANKS = Place(latitude=64.8378, longitude=-147.7164)


def test_published_times_are_met_within_ninety_seconds(checks: Path) -> None:
    # US Naval Observatory tables and NREL SPA values; the tables are to the minute (checks/daylight).
    rows = list(csv.DictReader((checks / "daylight/sunrise_sunset.csv").read_text().splitlines()))
    assert len(rows) == 30
    for row in rows:
        published = datetime.fromisoformat(row["utc"])
        zone = ZONES[row["place"]]
        place = Place(latitude=float(row["latitude"]), longitude=float(row["longitude"]))
        light = daylight(place, published.astimezone(ZoneInfo(zone)).date(), zone)
        found = light.sunrise if row["event"] == "sunrise" else light.sunset
        assert found is not None
        assert abs(found - published) <= timedelta(seconds=3 if row["resolution"] == "second" else 90)


def test_one_span_of_light_from_sunrise_to_sunset() -> None:
    light = daylight(Place(latitude=41.88, longitude=-87.63), date(2027, 3, 2), "America/Chicago")
    assert light.spans == ((light.sunrise, light.sunset),)
    assert light.course == SunCourse.CROSSES


@pytest.mark.parametrize(
    ("day", "course"),
    [
        # from memory: Tromsø has midnight sun from 18 May to 25 July, polar night from 27 November to 15 January
        (date(2026, 5, 10), SunCourse.CROSSES),
        (date(2026, 6, 21), SunCourse.ALWAYS_UP),
        (date(2026, 8, 5), SunCourse.CROSSES),
        (date(2026, 12, 21), SunCourse.ALWAYS_DOWN),
        (date(2027, 2, 1), SunCourse.CROSSES),
    ],
)
def test_midnight_sun_and_polar_night(day: date, course: SunCourse) -> None:
    light = daylight(TROMSO, day, "Europe/Oslo")
    assert light.course == course
    if course != SunCourse.CROSSES:
        assert (light.sunrise, light.sunset) == (None, None)
        assert len(light.spans) == (course == SunCourse.ALWAYS_UP)


@pytest.mark.parametrize(("latitude", "course"), [(90.0, SunCourse.ALWAYS_UP), (-90.0, SunCourse.ALWAYS_DOWN)])
def test_the_poles_in_june(latitude: float, course: SunCourse) -> None:
    assert daylight(Place(latitude=latitude, longitude=0.0), date(2026, 6, 1), "UTC").course == course


def test_a_sunset_after_midnight_belongs_to_the_date_it_falls_on() -> None:
    # Fairbanks in June: the sun sets after midnight and rises before three.
    light = daylight(FAIRBANKS, date(2026, 6, 20), "America/Anchorage")
    assert light.sunset is not None
    assert light.sunrise is not None
    assert (light.sunset.hour, light.sunrise.hour) == (0, 2)
    assert len(light.spans) == 2


def test_light_holds_a_visit_only_when_the_sun_is_up_from_its_start_to_its_end() -> None:
    light = daylight(Place(latitude=41.88, longitude=-87.63), date(2027, 3, 2), "America/Chicago")
    assert light.sunrise is not None
    assert light.sunset is not None
    assert light.holds(light.sunrise, light.sunset)
    assert not light.holds(light.sunrise - timedelta(seconds=1), light.sunset)
    assert not light.holds(light.sunrise, light.sunset + timedelta(seconds=1))


@given(
    st.floats(-90, 90, allow_nan=False),
    st.floats(-180, 180, allow_nan=False),
    st.dates(date(1990, 1, 1), date(2060, 1, 1)),
    st.sampled_from(["UTC", "America/Anchorage", "Pacific/Auckland", "Asia/Kolkata"]),
)
@settings(max_examples=60, deadline=None)
def test_light_lies_within_its_date_and_in_order(latitude: float, longitude: float, day: date, zone: str) -> None:
    tz = ZoneInfo(zone)
    light = daylight(Place(latitude=latitude, longitude=longitude), day, zone)
    begins, ends = (datetime.combine(day + timedelta(days=n), datetime.min.time(), tz).astimezone(UTC) for n in (0, 1))
    edges = [at.astimezone(UTC) for span in light.spans for at in span]
    assert edges == sorted(edges)
    assert all(begins <= at <= ends for at in edges)
    if abs(latitude) < 60:
        lit = sum((sets - rises for rises, sets in light.spans), timedelta())
        assert timedelta(hours=4) < lit < timedelta(hours=20)
