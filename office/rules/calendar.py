"""A working calendar: a zone, the hours of each weekday and the days closed, and how all that is written.

Times of day are whole minutes after local midnight; a day ends at minute 1440, written "24:00".
"""

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from itertools import pairwise
from typing import Annotated, Any, NamedTuple
from zoneinfo import ZoneInfo

from pydantic import AfterValidator, BeforeValidator, PlainValidator
from pydantic.dataclasses import dataclass as read_dataclass

from office.rules.reading import STRICT, BadInput, parse_json, read_json

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
FIRST_YEAR, LAST_YEAR = 1900, 2999
_TIME = re.compile(r"([01]\d|2[0-3]):([0-5]\d)|24:00", re.ASCII)
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_INSTANT = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d(\.\d{1,6})?)?(Z|[+-]\d\d:\d\d)", re.ASCII)


class Span(NamedTuple):
    """Open from `opens` up to, not including, `closes`; minutes after midnight."""

    opens: int
    closes: int

    def __str__(self) -> str:
        return "–".join(f"{minutes // 60:02}:{minutes % 60:02}" for minutes in self)


@dataclass(frozen=True)
class Calendar:
    """When somebody works.

    `zone` is an IANA name; `hours` has seven entries, Monday first, each the day's spans in order and
    apart; a date in `holidays` is closed wholly. Raises `ValueError` when it cannot be that.
    """

    zone: str
    hours: tuple[tuple[Span, ...], ...]
    holidays: frozenset[date] = frozenset()

    def __post_init__(self) -> None:
        known_zone(self.zone)
        if len(self.hours) != len(WEEKDAYS):
            raise ValueError("expected the hours of seven days, Monday first")
        for spans in self.hours:
            if in_order(spans) != list(spans) or any(not 0 <= span.opens < span.closes <= 1440 for span in spans):
                raise ValueError("expected spans in order, each opening before it closes")

    @property
    def tz(self) -> ZoneInfo:
        return ZoneInfo(self.zone)

    @property
    def minutes_a_week(self) -> int:
        """By the face of the clock; a week with a clock change may hold more or less."""
        return sum(span.closes - span.opens for spans in self.hours for span in spans)


def known_zone(name: str) -> str:
    """`name` when the tz database has it; raises `ValueError`."""
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        raise ValueError("expected an IANA time zone such as America/Chicago") from None
    return name


def in_order(spans: Sequence[Span]) -> list[Span]:
    """The spans of a day by opening; raises `ValueError` when two overlap."""
    ordered = sorted(spans)
    for before, after in pairwise(ordered):
        if after.opens < before.closes:
            raise ValueError(f"expected spans that do not overlap, found {before} and {after}")
    return ordered


def span_from_text(value: object) -> Span:
    """["09:00", "17:00"] as a span; raises `ValueError`."""
    if not (isinstance(value, list | tuple) and len(value) == 2):
        raise ValueError('expected an opening and a closing such as ["09:00", "17:00"]')
    span = Span(*(_minutes(text) for text in value))
    if span.opens >= span.closes:
        raise ValueError(f'expected a closing after the opening, found {span}; a day ends at "24:00"')
    return span


def _minutes(value: object) -> int:
    if not (isinstance(value, str) and _TIME.fullmatch(value)):
        raise ValueError(f'expected times of day such as "09:00", found {str(value)[:40]!r}')
    return int(value[:2]) * 60 + int(value[3:])


def date_from_text(value: object) -> date:
    """ "2026-11-26" as a date; raises `ValueError`."""
    if isinstance(value, str) and _DATE.fullmatch(value):
        try:
            return date.fromisoformat(value)
        except ValueError:
            pass
    raise ValueError(f'expected a date such as "2026-11-26", found {str(value)[:40]!r}')


def instant_from_text(value: object) -> datetime:
    """ "2026-11-25T15:00:00-06:00" as an aware datetime; raises `ValueError`, also for years nobody works in."""
    if isinstance(value, str) and _INSTANT.fullmatch(value):
        try:
            found = datetime.fromisoformat(value)
        except ValueError:
            pass
        else:
            return known_instant(found)
    raise ValueError(f"expected a time with its offset such as 2026-11-25T15:00:00-06:00, found {str(value)[:40]!r}")


def known_instant(at: datetime) -> datetime:
    """`at` when it is aware and of a year that is reckoned with; raises `ValueError`."""
    if at.tzinfo is None or at.utcoffset() is None:
        raise ValueError("expected a time with its offset")
    if not FIRST_YEAR <= at.year <= LAST_YEAR:
        raise ValueError(f"expected a year from {FIRST_YEAR} to {LAST_YEAR}, found {at.year}")
    return at.astimezone(UTC)


Zone = Annotated[str, AfterValidator(known_zone)]
DaySpans = Annotated[list[Annotated[Span, PlainValidator(span_from_text)]], AfterValidator(in_order)]
DateText = Annotated[date, BeforeValidator(date_from_text)]
InstantText = Annotated[datetime, BeforeValidator(instant_from_text)]


@read_dataclass(frozen=True, config=STRICT)
class WeekHours:
    """Hours by weekday; a day that is missing is closed."""

    mon: DaySpans = field(default_factory=list)
    tue: DaySpans = field(default_factory=list)
    wed: DaySpans = field(default_factory=list)
    thu: DaySpans = field(default_factory=list)
    fri: DaySpans = field(default_factory=list)
    sat: DaySpans = field(default_factory=list)
    sun: DaySpans = field(default_factory=list)


def _ever_open(hours: WeekHours) -> WeekHours:
    if not any(getattr(hours, day) for day in WEEKDAYS):
        raise ValueError("expected at least one opening in the week")
    return hours


@read_dataclass(frozen=True, config=STRICT)
class CalendarFile:
    """CALENDAR as it is written."""

    zone: Zone
    hours: Annotated[WeekHours, AfterValidator(_ever_open)]
    holidays: list[DateText]

    def calendar(self) -> Calendar:
        return Calendar(
            zone=self.zone,
            hours=tuple(tuple(getattr(self.hours, day)) for day in WEEKDAYS),
            holidays=frozenset(self.holidays),
        )


def read_calendar(source: str) -> Calendar:
    """The calendar in a CALENDAR file; raises `BadInput`."""
    return read_json(source, CalendarFile).calendar()


def calendar_of(zone: str, hours: Mapping[str, Any], holidays: Sequence[str], source: str = "hours") -> Calendar:
    """The calendar of hours and days closed that are stored as CALENDAR writes them; raises `BadInput`."""
    try:
        text = json.dumps({"zone": zone, "hours": hours, "holidays": list(holidays)})
    except TypeError:
        raise BadInput(source, "", "expected hours and days closed as JSON holds them") from None
    return parse_json(text, CalendarFile, source).calendar()
