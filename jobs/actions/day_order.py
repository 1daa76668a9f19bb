"""A better order for somebody's day: proposed, looked at, and then accepted by the owner or not.

A confirmed visit keeps its window unless the owner says that its client may be asked to move; that client is told.
"""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db import transaction
from django.utils.translation import gettext as _

from jobs.models import BUSY_STATES, CrewMember, DiaryRules, Shoot, ShootState
from jobs.rules.day_plan import DayVisit, Drive, best_day
from jobs.rules.drives import Spot
from office.actions.actors import Actor
from office.actions.events import record
from office.errors import Refused
from office.models import Office, Person

from .calendars import working_days
from .places import drives_of, home_spot, spot_of
from .shoots import Timing, set_times

A_DAY = 24 * 60


@dataclass(frozen=True)
class Move:
    """One visit of the day in the proposed order, with the time it has and the time it would get."""

    shoot: Shoot
    starts_at: datetime
    drive_minutes: int

    @property
    def moves(self) -> bool:
        return self.starts_at != self.shoot.starts_at

    @property
    def window_end(self) -> datetime:
        return self.starts_at + (self.shoot.window_end - self.shoot.starts_at)

    @property
    def ends_at(self) -> datetime:
        return self.starts_at + (self.shoot.ends_at - self.shoot.starts_at)


@dataclass(frozen=True)
class DayOrder:
    """The day as it stands and as it could be; `proposed` is empty where nothing is gained.

    `travel` and `travel_now` are minutes of driving from home to home; `fits` says whether the visits can be served
    within the person's hours at all.
    """

    person: Person
    day: date
    standing: tuple[Move, ...]
    proposed: tuple[Move, ...]
    travel: int
    travel_now: int
    fits: bool

    @property
    def saves(self) -> int:
        return self.travel_now - self.travel

    @property
    def token(self) -> str:
        """What was looked at, so that nothing else is accepted."""
        return ";".join(f"{move.shoot.pk}@{move.starts_at:%Y%m%d%H%M}" for move in self.proposed)

    @property
    def told(self) -> list[Shoot]:
        """Confirmed visits that would move."""
        return [move.shoot for move in self.proposed if move.moves and move.shoot.state == ShootState.CONFIRMED]


def day_order(*, person: Person, day: date, may_move: Collection[int], now: datetime) -> DayOrder:
    """The person's day on a local date of the office; `may_move` holds confirmed shoots whose clients may be asked."""
    office, rules = Office.the(), DiaryRules.the()
    shoots = _visits(person, day, ZoneInfo(office.zone))
    drive = _drive_between(shoots, office, rules)
    visits = [_day_visit(shoot, day, ZoneInfo(office.zone), may_move, now) for shoot in shoots]
    plan = best_day(visits, *_hours(person, day, office, rules), drive)
    standing = _moves([(shoot, shoot.starts_at) for shoot in shoots], drive)
    proposed: tuple[Move, ...] = ()
    if plan and plan.saves:
        by_key = {shoot.pk: shoot for shoot in shoots}
        proposed = _moves([(by_key[p.key], _moment(day, p.begins, ZoneInfo(office.zone))) for p in plan.order], drive)
    return DayOrder(
        person=person,
        day=day,
        standing=standing,
        proposed=proposed,
        travel=plan.travel if plan else 0,
        travel_now=_driven(standing, drive),
        fits=plan is not None,
    )


@transaction.atomic
def accept_order(
    *, person: Person, day: date, may_move: Collection[int], token: str, by: Actor, now: datetime
) -> DayOrder:
    """Move the visits as the owner saw it proposed; refused when the day has changed since."""
    order = day_order(person=person, day=day, may_move=may_move, now=now)
    if not order.proposed or order.token != token:
        raise Refused(_("The day has changed since you looked at it. Look again."))
    timings = [
        Timing(move.shoot, move.starts_at, move.window_end, move.ends_at, list(move.shoot.crew.all()))
        for move in order.proposed
        if move.moves
    ]
    set_times(timings=timings, by=by, now=now)
    text = _("put the day of %(person)s in a better order: %(saves)d minutes less driving") % {
        "person": person, "saves": order.saves,
    }  # fmt: skip
    record(by=by, now=now, verb="day-ordered", text=text, subject=person, day=day.isoformat())
    return order


def _visits(person: Person, day: date, zone: ZoneInfo) -> list[Shoot]:
    start = datetime.combine(day, time(), zone)
    end = datetime.combine(day + timedelta(days=1), time(), zone) - timedelta.resolution
    members = CrewMember.objects.standing(start, end).filter(person=person)
    return list(
        Shoot.objects.with_people().filter(pk__in=[member.shoot_id for member in members]).order_by("starts_at", "pk")
    )


def _day_visit(shoot: Shoot, day: date, zone: ZoneInfo, may_move: Collection[int], now: datetime) -> DayVisit:
    """Of two people on one visit the other's day would move too, so it stays; so does what has begun."""
    to_come = shoot.state in BUSY_STATES and shoot.starts_at > now and len(shoot.crew.all()) == 1
    free = to_come and (shoot.state == ShootState.PENCILLED or shoot.pk in may_move)
    hold = int((shoot.ends_at - shoot.starts_at).total_seconds()) // 60
    return DayVisit(shoot.pk, _minute(day, shoot.starts_at, zone), hold, free)


def _hours(person: Person, day: date, office: Office, rules: DiaryRules) -> tuple[int, int]:
    """From the first opening to the last closing of the person's weekday; the whole day for who has no hours."""
    calendar = working_days(office, rules, day, day).calendar(person)
    spans = calendar.hours[day.weekday()] if calendar else ()
    return (spans[0].opens, spans[-1].closes) if spans else (0, A_DAY)


def _drive_between(shoots: list[Shoot], office: Office, rules: DiaryRules) -> Drive:
    drives = drives_of(rules)
    spots: dict[int | None, Spot] = {None: home_spot(office)} | {shoot.pk: spot_of(shoot.property) for shoot in shoots}
    return lambda one, other: drives.minutes(spots[one], spots[other])


def _moves(times: list[tuple[Shoot, datetime]], drive: Drive) -> tuple[Move, ...]:
    before: list[int | None] = [None, *(shoot.pk for shoot, _at in times)]
    return tuple(
        Move(shoot, at, drive(came_from, shoot.pk)) for came_from, (shoot, at) in zip(before, times, strict=False)
    )


def _driven(moves: tuple[Move, ...], drive: Drive) -> int:
    return sum(move.drive_minutes for move in moves) + (drive(moves[-1].shoot.pk, None) if moves else 0)


def _minute(day: date, at: datetime, zone: ZoneInfo) -> int:
    """Minutes after midnight by the face of the clock."""
    return int((at.astimezone(zone).replace(tzinfo=None) - datetime.combine(day, time())).total_seconds()) // 60


def _moment(day: date, minute: int, zone: ZoneInfo) -> datetime:
    return (datetime.combine(day, time()) + timedelta(minutes=minute)).replace(tzinfo=zone)
