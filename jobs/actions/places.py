"""Where the office and the properties are, and how long the office drives between them."""

from dataclasses import dataclass
from decimal import Decimal
from zoneinfo import ZoneInfo

from jobs.models import DiaryRules, Property, TimedDrive
from jobs.rules.drives import OFFICE_KEY, Drives, Spot
from jobs.rules.geodesic import Place
from jobs.rules.travel import SpeedBand, TravelSettings
from office.models import Office


@dataclass(frozen=True)
class Surroundings:
    """The office with its rules and drives, read once for an operation."""

    office: Office
    rules: DiaryRules
    drives: Drives

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.office.zone)

    @property
    def home(self) -> Spot:
        return home_spot(self.office)


def surroundings() -> Surroundings:
    office, rules = Office.the(), DiaryRules.the()
    return Surroundings(office, rules, drives_of(rules))


def home_spot(office: Office) -> Spot:
    """The office, where every day begins and ends."""
    return Spot(OFFICE_KEY, _place(office.latitude, office.longitude), office.name)


def spot_of(house: Property) -> Spot:
    return Spot(house.pk, _place(house.latitude, house.longitude), house.street)


def drives_of(rules: DiaryRules) -> Drives:
    """The office's drives, those that somebody timed among them."""
    timed = TimedDrive.objects.values_list("start_id", "end_id", "minutes")
    by_hand = {(start or OFFICE_KEY, end): minutes for start, end, minutes in timed}
    return Drives(travel_settings(rules), rules.unknown_drive_minutes, by_hand)


def travel_settings(rules: DiaryRules) -> TravelSettings:
    return TravelSettings(
        road_factor=rules.road_factor,
        fixed_minutes=rules.fixed_minutes,
        bands=(
            SpeedBand(up_to_km=Decimal(rules.near_km), km_per_hour=Decimal(rules.near_speed)),
            SpeedBand(up_to_km=Decimal(rules.middle_km), km_per_hour=Decimal(rules.middle_speed)),
            SpeedBand(up_to_km=None, km_per_hour=Decimal(rules.far_speed)),
        ),
    )


def _place(latitude: Decimal | None, longitude: Decimal | None) -> Place | None:
    """None also for coordinates that are nowhere on Earth."""
    if latitude is None or longitude is None or abs(latitude) > 90 or abs(longitude) > 180:
        return None
    return Place(latitude=float(latitude), longitude=float(longitude))
