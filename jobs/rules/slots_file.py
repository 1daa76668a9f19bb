"""REQUEST: the file that `slots` reads.

    {"now": "2027-03-01T08:00:00-06:00",
     "place": "12 Elm Street",
     "minutes": 90,
     "days": ["2027-03-03", "2027-03-04"],
     "places": {"the office": {"latitude": 41.8781, "longitude": -87.6298},
                "12 Elm Street": {"latitude": 42.0451, "longitude": -87.6877},
                "4 Oak Avenue": {"latitude": 41.9742, "longitude": -87.9073}},
     "calendar": {"zone": "America/Chicago",
                  "hours": {"mon": [["08:00", "17:00"]], "tue": [["08:00", "17:00"]], "wed": [["08:00", "17:00"]],
                            "thu": [["08:00", "17:00"]], "fri": [["08:00", "12:00"], ["13:00", "17:00"]]},
                  "holidays": ["2027-03-05"]},
     "crews": [{"name": "Maren", "home": "the office",
                "bookings": [{"place": "4 Oak Avenue",
                              "start": "2027-03-03T10:00:00-06:00", "end": "2027-03-03T11:45:00-06:00"}]},
               {"name": "Tobias and Ines", "home": "the office", "minutes": 60, "leave": ["2027-03-04"],
                "hours": {"wed": [["12:00", "20:00"]], "thu": [["12:00", "20:00"]]}}],
     "holidays_of": {"country": "US", "subdivision": "IL"},
     "notice_hours": "24",
     "arrival_window_minutes": 30,
     "every_minutes": 30,
     "needs_daylight": false,
     "most": 20,
     "travel": {"road_factor": "1.30", "fixed_minutes": 5,
                "bands": [{"up_to_km": "8", "km_per_hour": "35"}, {"up_to_km": null, "km_per_hour": "70"}]},
     "timed": [{"from": "the office", "to": "12 Elm Street", "minutes": 35}]}

Everything down to `crews` is needed; what follows may be left out and is then as shown, save `holidays_of` (none),
`notice_hours` (none), `travel` (the settings of `jobs.rules.travel`) and `timed` (none).

`place` and `minutes` are the visit wanted. `calendar` is the office's, as `promise` reads it; a crew's own `hours` take
the place of its hours, and a crew's `leave` closes whole dates. A crew's `minutes` hold where it needs more or less
time than others. A booking runs from the earliest arrival to the latest leaving; part of a day off is a booking at
home. `every_minutes`: windows begin at full steps after midnight. `most`: how many windows are wanted. `timed` holds
both ways unless the way back is named too.
"""

from collections.abc import Mapping
from dataclasses import field
from datetime import date, timedelta
from decimal import Decimal
from functools import partial
from typing import Annotated
from zoneinfo import ZoneInfo

from pydantic import Field
from pydantic.dataclasses import dataclass as read_dataclass

from jobs.rules.geodesic import Place
from jobs.rules.public_holidays import UnknownRegion, public_holidays
from jobs.rules.slots_request import Address, Booking, Crew, SlotRequest
from jobs.rules.travel import Minutes, TravelSettings
from office.rules.calendar import WEEKDAYS, Calendar, CalendarFile, DateText, InstantText, WeekHours
from office.rules.reading import STRICT, BadInput, NotNegative, read_json
from office.rules.worktime import microseconds_of

DAYS_AHEAD = 1100
"""How far from `now` a day may lie."""

Name = Annotated[str, Field(min_length=1, max_length=200)]
VisitMinutes = Annotated[int, Field(ge=1, le=1440)]


@read_dataclass(frozen=True, config=STRICT)
class BookingFile:
    place: Name
    start: InstantText
    end: InstantText


@read_dataclass(frozen=True, config=STRICT)
class CrewFile:
    name: Name
    home: Name
    hours: WeekHours | None = None
    leave: list[DateText] = field(default_factory=list)
    bookings: Annotated[list[BookingFile], Field(max_length=10_000)] = field(default_factory=list)
    minutes: VisitMinutes | None = None


@read_dataclass(frozen=True, config=STRICT)
class Region:
    """ISO 3166-1 alpha-2, and the part of ISO 3166-2 after the dash."""

    country: Name
    subdivision: Name | None = None


@read_dataclass(frozen=True, config=STRICT)
class TimedFile:
    """`start` and `end` are written `from` and `to`."""

    start: Annotated[Name, Field(alias="from")]
    end: Annotated[Name, Field(alias="to")]
    minutes: Minutes


@read_dataclass(frozen=True, config=STRICT)
class RequestFile:
    """REQUEST as it is written."""

    now: InstantText
    place: Name
    minutes: VisitMinutes
    days: Annotated[list[DateText], Field(min_length=1, max_length=400)]
    places: Annotated[dict[Name, Place], Field(max_length=20_000)]
    calendar: CalendarFile
    crews: Annotated[list[CrewFile], Field(min_length=1, max_length=200)]
    holidays_of: Region | None = None
    notice_hours: Annotated[NotNegative, Field(le=10_000)] = Decimal(0)
    arrival_window_minutes: Annotated[int, Field(ge=0, le=720)] = 30
    every_minutes: Annotated[int, Field(ge=1, le=720)] = 30
    needs_daylight: bool = False
    most: Annotated[int, Field(ge=1, le=10_000)] = 20
    travel: TravelSettings = field(default_factory=TravelSettings)
    timed: Annotated[list[TimedFile], Field(max_length=10_000)] = field(default_factory=list)


def read_request(source: str) -> SlotRequest:
    """The request in a REQUEST file; raises `BadInput`."""
    return request_of(read_json(source, RequestFile), source)


def request_of(written: RequestFile, source: str = "request") -> SlotRequest:
    """With every name looked up; raises `BadInput` for one that is not there, and for what does not fit together."""
    at = partial(_address, written.places, source)
    _check_days(written, source)
    closed = frozenset(written.calendar.holidays) | _public_holidays(written, source)
    return SlotRequest(
        at=at("place", written.place),
        minutes=written.minutes,
        days=tuple(written.days),
        crews=_crews(written, closed, source),
        now=written.now,
        notice=timedelta(microseconds=microseconds_of(written.notice_hours)),
        arrival_window=written.arrival_window_minutes,
        every=written.every_minutes,
        needs_daylight=written.needs_daylight,
        most=written.most,
        travel=written.travel,
        timed=_timed(written, source),
    )


def _address(places: Mapping[str, Place], source: str, path: str, name: str) -> Address:
    if name not in places:
        raise BadInput(source, path, f"expected one of the places, found {name!r}")
    return Address(name, places[name])


def _check_days(written: RequestFile, source: str) -> None:
    today = written.now.astimezone(ZoneInfo(written.calendar.zone)).date()
    for number, day in enumerate(written.days):
        if abs(day - today) > timedelta(days=DAYS_AHEAD):
            raise BadInput(source, f"days[{number}]", f"expected a date within {DAYS_AHEAD} days of now, found {day}")


def _public_holidays(written: RequestFile, source: str) -> frozenset[date]:
    if written.holidays_of is None:
        return frozenset()
    first, last = min(written.days).year, max(written.days).year
    try:
        found = public_holidays(written.holidays_of.country, written.holidays_of.subdivision, first, last)
    except UnknownRegion as error:
        raise BadInput(source, "holidays_of", str(error)) from None
    return frozenset(found)


def _crews(written: RequestFile, closed: frozenset[date], source: str) -> tuple[Crew, ...]:
    names = [crew.name for crew in written.crews]
    for number, name in enumerate(names):
        if name in names[:number]:
            raise BadInput(source, f"crews[{number}].name", f"expected each crew once, found {name!r} again")
    return tuple(_crew(written, number, closed, source) for number in range(len(names)))


def _crew(written: RequestFile, number: int, closed: frozenset[date], source: str) -> Crew:
    crew, path = written.crews[number], f"crews[{number}]"
    at = partial(_address, written.places, source)
    hours = crew.hours or written.calendar.hours
    spans = tuple(tuple(getattr(hours, day)) for day in WEEKDAYS)
    calendar = Calendar(written.calendar.zone, spans, closed | frozenset(crew.leave))
    bookings = []
    for place, booking in enumerate(crew.bookings):
        if booking.end <= booking.start:
            raise BadInput(source, f"{path}.bookings[{place}].end", "expected an end after the start")
        address = at(f"{path}.bookings[{place}].place", booking.place)
        bookings.append(Booking(address, booking.start, booking.end))
    return Crew(crew.name, at(f"{path}.home", crew.home), calendar, tuple(bookings), crew.minutes)


def _timed(written: RequestFile, source: str) -> dict[tuple[Place, Place], int]:
    at = partial(_address, written.places, source)
    return {
        (at(f"timed[{n}].from", trip.start).place, at(f"timed[{n}].to", trip.end).place): trip.minutes
        for n, trip in enumerate(written.timed)
    }
