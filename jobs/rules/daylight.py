"""When the sun is up at a place on a local date.

Up is the sun's upper limb above a sea-level horizon with standard refraction: its centre above −0.833°
(US Naval Observatory's definition). The sun's position is astral's; the times hold to about a minute.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from enum import StrEnum
from functools import lru_cache
from itertools import pairwise
from zoneinfo import ZoneInfo

from astral import Observer
from astral.sun import elevation, noon

from jobs.rules.geodesic import Place

HORIZON = -0.833


class SunCourse(StrEnum):
    """What the sun does on a date."""

    CROSSES = "rises or sets"
    ALWAYS_UP = "polar day"
    ALWAYS_DOWN = "polar night"


@dataclass(frozen=True)
class Daylight:
    """The light of one local date: the first sunrise and the last sunset on it, and the spans of light, in order."""

    sunrise: datetime | None
    sunset: datetime | None
    spans: tuple[tuple[datetime, datetime], ...]
    course: SunCourse

    def holds(self, start: datetime, end: datetime) -> bool:
        """Whether the sun is up from `start` to `end`."""
        return any(rises <= start and end <= sets for rises, sets in self.spans)


@lru_cache(maxsize=4096)
def daylight(place: Place, day: date, zone: str) -> Daylight:
    """The light of `day` in the IANA zone; times are in that zone."""
    tz = ZoneInfo(zone)
    begins, ends = (datetime.combine(day + timedelta(days=n), time(), tz).astimezone(UTC) for n in (0, 1))
    crossings = _crossings(place, begins, ends)
    rises = [at.astimezone(tz) for at, rising in crossings if rising]
    sets = [at.astimezone(tz) for at, rising in crossings if not rising]
    up_at_first, up_at_last = _is_up(place, begins), _is_up(place, ends)
    lit_from = [begins.astimezone(tz), *rises] if up_at_first else rises
    lit_to = [*sets, ends.astimezone(tz)] if up_at_last else sets
    spans = tuple(zip(lit_from, lit_to, strict=True))
    return Daylight(min(rises, default=None), max(sets, default=None), spans, _course(bool(crossings), up_at_first))


def _course(crosses: bool, up: bool) -> SunCourse:
    if crosses:
        return SunCourse.CROSSES
    return SunCourse.ALWAYS_UP if up else SunCourse.ALWAYS_DOWN


def _crossings(place: Place, begins: datetime, ends: datetime) -> list[tuple[datetime, bool]]:
    """When the sun crosses the horizon, and whether it rises; in order.

    The sun climbs or sinks all the way between one solar noon or midnight and the next, so each such stretch
    holds one crossing at most.
    """
    marks = [begins, *_turning_points(place, begins, ends), ends]
    states = [(at, _is_up(place, at)) for at in marks]
    return [
        (_crossing(place, before, after, was_up), up)
        for (before, was_up), (after, up) in pairwise(states)
        if was_up != up
    ]


def _turning_points(place: Place, begins: datetime, ends: datetime) -> list[datetime]:
    """Solar noons and midnights after `begins` and before `ends`."""
    noons = [noon(Observer(place.latitude, place.longitude), begins.date() + timedelta(days=n)) for n in (-1, 0, 1, 2)]
    turns = sorted({at + timedelta(hours=12 * half) for at in noons for half in (0, 1)})
    return [at for at in turns if begins < at < ends]


def _crossing(place: Place, before: datetime, after: datetime, up_before: bool) -> datetime:
    """To the second, by halving."""
    low, high = 0, int((after - before).total_seconds())
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if _is_up(place, before + timedelta(seconds=middle)) == up_before else (low, middle)
    return (before + timedelta(seconds=high)).replace(microsecond=0)


def _is_up(place: Place, at: datetime) -> bool:
    return elevation(Observer(place.latitude, place.longitude), at, with_refraction=False) > HORIZON
