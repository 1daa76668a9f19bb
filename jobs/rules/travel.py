"""How far and how long the drive from one place to another is, without a map.

The geodesic distance times a road factor, driven at a speed for each stretch of the way: slow near home, faster
farther out. A trip somebody has timed can be put in its place.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from functools import lru_cache
from itertools import pairwise
from types import MappingProxyType
from typing import Annotated

from pydantic import AfterValidator, Field
from pydantic.dataclasses import dataclass as read_dataclass

from jobs.rules.geodesic import Place, distance_m
from office.rules.reading import STRICT, DecimalText, Positive

ESTIMATE = "estimate, not a route"
BY_HAND = "entered by hand"
MOST_MINUTES = 10_000
MILLIONTH = Decimal("0.000001")

Minutes = Annotated[int, Field(ge=0, le=MOST_MINUTES)]


@read_dataclass(frozen=True, config=STRICT)
class SpeedBand:
    """The speed on the part of the way that lies within `up_to_km` of its beginning; None is however far."""

    up_to_km: Positive | None
    km_per_hour: Annotated[Positive, Field(ge=1, le=200)]


def _rising(bands: tuple[SpeedBand, ...]) -> tuple[SpeedBand, ...]:
    limits = [band.up_to_km for band in bands]
    if limits[-1] is not None:
        raise ValueError("expected a last band whose up_to_km is null")
    if any(near is None or (far is not None and far <= near) for near, far in pairwise(limits)):
        raise ValueError("expected bands in order of up_to_km, null only in the last")
    return bands


@read_dataclass(frozen=True, config=STRICT)
class TravelSettings:
    """How an office reckons its drives; every figure is a starting point to be replaced by the office's own.

    `road_factor` is road over geodesic distance; `fixed_minutes` are added once to any drive, for parking and
    carrying the kit.
    """

    # common practice, no source: all three
    road_factor: Annotated[DecimalText, Field(ge=1, le=5)] = Decimal("1.30")
    fixed_minutes: Annotated[int, Field(ge=0, le=120)] = 5
    bands: Annotated[tuple[SpeedBand, ...], Field(min_length=1), AfterValidator(_rising)] = (
        SpeedBand(up_to_km=Decimal(8), km_per_hour=Decimal(35)),
        SpeedBand(up_to_km=Decimal(40), km_per_hour=Decimal(65)),
        SpeedBand(up_to_km=None, km_per_hour=Decimal(90)),
    )


Timed = Mapping[tuple[Place, Place], int]
"""Minutes somebody entered for a drive; they hold both ways unless the way back is entered too."""
NOT_TIMED: Timed = MappingProxyType({})


@dataclass(frozen=True)
class Trip:
    """A drive: road kilometres to 0.1, whole minutes, and what they rest on (`ESTIMATE` or `BY_HAND`)."""

    km: Decimal
    minutes: int
    label: str


def trip(start: Place, end: Place, settings: TravelSettings, timed: Timed = NOT_TIMED) -> Trip:
    """The drive from `start` to `end`; none at all, and no parking, between a place and itself."""
    km = road_km(start, end, settings).quantize(Decimal("0.1"), ROUND_HALF_UP)
    by_hand = timed_minutes(start, end, timed)
    if by_hand is not None:
        return Trip(km, by_hand, BY_HAND)
    return Trip(km, estimated_minutes(start, end, settings), ESTIMATE)


def timed_minutes(start: Place, end: Place, timed: Timed) -> int | None:
    """The minutes entered for this way, else for the way back, else None."""
    return timed.get((start, end), timed.get((end, start)))


def road_km(start: Place, end: Place, settings: TravelSettings) -> Decimal:
    """Kilometres by road, to the metre."""
    metres = Decimal(distance_m(start, end)) * settings.road_factor
    return metres.quantize(Decimal(1), ROUND_HALF_UP).scaleb(-3)


@lru_cache(maxsize=65_536)
def estimated_minutes(start: Place, end: Place, settings: TravelSettings) -> int:
    """Whole minutes by speed band, rounded up, with the fixed minutes."""
    km = road_km(start, end, settings)
    return settings.fixed_minutes + minutes_for(km, settings.bands) if km else 0


def minutes_for(km: Decimal, bands: tuple[SpeedBand, ...]) -> int:
    """Whole minutes for so many kilometres of road, each stretch at its band's speed, rounded up.

    A millionth of a minute is dropped first, so that thirds that add up to a whole minute stay whole.
    """
    minutes, begins = Decimal(0), Decimal(0)
    for band in bands:
        ends = km if band.up_to_km is None else min(km, band.up_to_km)
        minutes += (ends - begins) * 60 / band.km_per_hour
        begins = ends
    return int(minutes.quantize(MILLIONTH).to_integral_value(ROUND_CEILING))
