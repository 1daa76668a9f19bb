"""Distances against published geodesics and the reference library, all on WGS 84."""

import csv
from pathlib import Path

import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st

from jobs.rules.geodesic import Place, distance_m

latitudes = st.floats(-90, 90, allow_nan=False)
longitudes = st.floats(-180, 180, allow_nan=False)


def rows(path: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(path.read_text().splitlines()))


def ends(row: dict[str, str]) -> tuple[Place, Place]:
    return (
        Place(latitude=float(row["lat1"]), longitude=float(row["lon1"])),
        Place(latitude=float(row["lat2"]), longitude=float(row["lon2"])),
    )


def test_city_distances(checks: Path) -> None:
    # geographiclib 2.1, equal to pyproj; a mean sphere is up to 0.56 % off.
    table = rows(checks / "geodesic/city_distances.csv")
    assert len(table) == 40
    for row in table:
        assert distance_m(*ends(row)) == pytest.approx(float(row["distance_m"]), rel=1e-9, abs=1e-4)


def test_rows_of_geodtest(checks: Path) -> None:
    # Karney, GeodTest (CC0); distances to 0.1 µm. Under a millimetre over the whole Earth.
    table = rows(checks / "geodesic/geodtest_rows.csv")
    assert len(table) == 10
    for row in table:
        assert distance_m(*ends(row)) == pytest.approx(float(row["distance_m"]), abs=1e-4)


def test_published_anchors(checks: Path) -> None:
    # Geocentric Datum of Australia Technical Manual; GeographicLib documentation.
    for row in rows(checks / "geodesic/published_anchors.csv"):
        assert distance_m(*ends(row)) == pytest.approx(float(row["distance_m"]), abs=float(row["tolerance_m"]))


@given(latitudes, longitudes, latitudes, longitudes)
def test_any_two_places_agree_with_the_reference_library(lat1: float, lon1: float, lat2: float, lon2: float) -> None:
    found = distance_m(Place(latitude=lat1, longitude=lon1), Place(latitude=lat2, longitude=lon2))
    assert found == pytest.approx(Geodesic.WGS84.Inverse(lat1, lon1, lat2, lon2)["s12"], abs=1e-3)


@given(latitudes, longitudes, st.floats(-0.5, 0.5), st.floats(-0.5, 0.5))
def test_the_far_side_of_the_earth_agrees_too(lat: float, lon: float, north: float, east: float) -> None:
    other = max(-90.0, min(90.0, north - lat)), (lon + east + 360) % 360 - 180
    found = distance_m(Place(latitude=lat, longitude=lon), Place(latitude=other[0], longitude=other[1]))
    assert found == pytest.approx(Geodesic.WGS84.Inverse(lat, lon, *other)["s12"], abs=1e-3)


@given(latitudes, longitudes, latitudes, longitudes)
def test_there_is_as_far_as_back(lat1: float, lon1: float, lat2: float, lon2: float) -> None:
    one, other = Place(latitude=lat1, longitude=lon1), Place(latitude=lat2, longitude=lon2)
    assert distance_m(one, other) == pytest.approx(distance_m(other, one), abs=1e-4)
