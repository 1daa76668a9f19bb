"""The diary drawn: each person's days as strips of hours, with visits and the drives between them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from jobs.actions.calendars import WorkingDays, working_days
from jobs.models import BUSY_STATES, CrewMember, DiaryRules, Shoot
from jobs.rules.strip import Bar, Drawn, Scale, Span, drawn, scale_of
from office.models import Office, Person
from office.rules.calendar import Calendar
from office.rules.calendar import Span as Hours
from office.rules.date_format import format_clock

ON_A_DAY, ON_A_WEEK = 1000, 168


@dataclass(frozen=True)
class Visit:
    """One visit in one person's day. `minutes` after midnight lets the page reckon where it is moved to."""

    shoot: Shoot
    member: CrewMember
    span: Span
    drawing: Drawn

    @property
    def may_move(self) -> bool:
        return self.shoot.state in BUSY_STATES

    @property
    def crew_keys(self) -> str:
        return ",".join(str(person.pk) for person in self.shoot.crew.all())

    @property
    def drive_there(self) -> int:
        return self.span.begins - self.span.leaves

    @property
    def drive_back(self) -> int:
        return self.span.back - self.span.ends

    @property
    def window_minutes(self) -> int:
        return self.span.window_end - self.span.begins

    @property
    def planned_minutes(self) -> int:
        return self.span.ends - self.span.window_end


@dataclass(frozen=True)
class Cell:
    """One person's day: where they work, why not, and what they do."""

    day: date
    open_bars: tuple[Bar, ...]
    away: str
    visits: tuple[Visit, ...]


@dataclass(frozen=True)
class Row:
    person: Person
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class Board:
    """People against days; every strip has the same scale."""

    days: tuple[date, ...]
    scale: Scale
    rows: tuple[Row, ...]
    working: WorkingDays

    @property
    def ticks(self) -> list[tuple[float, int]]:
        """On a narrow strip every third hour is enough."""
        step = 1 if self.scale.width == ON_A_DAY else 3
        return [(x, hour) for x, hour in self.scale.hours() if hour % step == 0]

    @property
    def closed(self) -> list[tuple[date, str]]:
        return [(day, self.working.closed[day]) for day in self.days if day in self.working.closed]


def board_of(office: Office, days: Sequence[date]) -> Board:
    """Everybody at work, and whoever has a visit on one of the days."""
    working = working_days(office, DiaryRules.the(), days[0], days[-1])
    held = _held(days, ZoneInfo(office.zone))
    people = [person for person in Person.objects.order_by("name", "pk") if person.is_active or person.pk in held]
    calendars = {person.pk: working.calendar(person) for person in people}
    spans = [span for by_day in held.values() for visits in by_day.values() for _member, span in visits]
    hours = [span for calendar in calendars.values() for day in days for span in _hours(calendar, day)]
    scale = scale_of(spans, hours, ON_A_DAY if len(days) == 1 else ON_A_WEEK)

    def cell(person: Person, day: date) -> Cell:
        hours, away = _hours(calendars[person.pk], day), working.why_away(person, day)
        return _cell(day, held.get(person.pk, {}), hours, away, scale, office)

    rows = tuple(Row(person, tuple(cell(person, day) for day in days)) for person in people)
    return Board(tuple(days), scale, rows, working)


Held = dict[date, list[tuple[CrewMember, Span]]]


def _held(days: Sequence[date], zone: ZoneInfo) -> dict[int, Held]:
    """By person and local date, in the order of the clock."""
    start = datetime.combine(days[0], time(), zone)
    end = datetime.combine(days[-1] + timedelta(days=1), time(), zone) - timedelta.resolution
    members = (
        CrewMember.objects.standing(start, end)
        .select_related("shoot__client", "shoot__package")
        .prefetch_related("shoot__crew")
    )
    found: dict[int, Held] = {}
    for member in members:
        day = member.shoot.starts_at.astimezone(zone).date()
        found.setdefault(member.person_id, {}).setdefault(day, []).append((member, _span(member, day, zone)))
    return found


def _span(member: CrewMember, day: date, zone: ZoneInfo) -> Span:
    shoot = member.shoot
    moments = (
        member.busy_from or shoot.starts_at, shoot.starts_at, shoot.window_end, shoot.ends_at,
        member.busy_until or shoot.ends_at,
    )  # fmt: skip
    return Span(*(minute_of(day, moment, zone) for moment in moments))


def _hours(calendar: Calendar | None, day: date) -> tuple[Hours, ...]:
    return calendar.hours[day.weekday()] if calendar and day not in calendar.holidays else ()


def _cell(day: date, held: Held, hours: Sequence[Hours], away: str, scale: Scale, office: Office) -> Cell:
    visits = [
        Visit(member.shoot, member, span, drawn(scale, span, _labels(member.shoot, office)))
        for member, span in held.get(day, [])
    ]
    return Cell(day, tuple(scale.bar(span.opens, span.closes) for span in hours), away, tuple(visits))


def _labels(shoot: Shoot, office: Office) -> list[str]:
    """The fullest first."""
    clock, street = format_clock(shoot.starts_at, office.zone, office.locale), shoot.property.street
    return [f"{clock} {street}", street, clock]


def minute_of(day: date, at: datetime, zone: ZoneInfo) -> int:
    """Minutes after a date's midnight, by the face of the clock."""
    return int((at.astimezone(zone).replace(tzinfo=None) - datetime.combine(day, time())).total_seconds()) // 60
