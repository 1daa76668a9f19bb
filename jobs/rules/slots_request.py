"""What is asked when a time for a visit is wanted: the visit, the days, and the crews with what binds them."""

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from jobs.rules.geodesic import Place
from jobs.rules.travel import Timed, TravelSettings
from office.rules.calendar import Calendar


@dataclass(frozen=True)
class Address:
    """A place by the name that reasons give it."""

    name: str
    place: Place


@dataclass(frozen=True)
class Booking:
    """What a crew is bound to already: from the earliest arrival to the latest leaving, both aware."""

    at: Address
    start: datetime
    end: datetime


@dataclass(frozen=True)
class Crew:
    """Who could come. Leave stands among the holidays of `calendar`; `minutes` where this crew needs its own time."""

    name: str
    home: Address
    calendar: Calendar
    bookings: tuple[Booking, ...] = ()
    minutes: int | None = None


@dataclass(frozen=True)
class SlotRequest:
    """A visit of `minutes` at a place on one of `days`, and how windows are offered; whole minutes throughout.

    No window begins before `now` and the `notice`; each is `arrival_window` long and begins at a full step of
    `every` minutes after midnight. `needs_daylight` asks for the sun from the first arrival to the last leaving.
    """

    at: Address
    minutes: int
    days: tuple[date, ...]
    crews: tuple[Crew, ...]
    now: datetime
    notice: timedelta = timedelta()
    arrival_window: int = 30
    every: int = 30
    needs_daylight: bool = False
    most: int = 20
    travel: TravelSettings = field(default_factory=TravelSettings)
    timed: Timed = field(default_factory=dict)
