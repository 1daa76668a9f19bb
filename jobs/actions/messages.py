"""What the client is written about the visit. Each message is a notice in the outbox, kept on the shoot's own list."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from jobs.models import CrewMember, DiaryRules, MessageKind, Shoot, ShootState, VisitMessage
from jobs.rules.busy import busy_times
from jobs.rules.drives import Drive
from jobs.rules.reminders import reminder_at
from office.actions.actors import Actor
from office.actions.events import record
from office.actions.notices import Attachment, withdraw_notices, write_notice
from office.actions.states import locked
from office.errors import Refused
from office.models import Notice, Office

from .booking import AROUND, held_of
from .calendars import working_days
from .fees import plain
from .places import surroundings
from .preparation import preparation_of, preparation_sheet

REMINDS_AHEAD = timedelta(days=14)
EARLIEST_ON_WAY = timedelta(hours=4)


def tell_client_of_visit(*, shoot: Shoot, now: datetime, moved: bool = False) -> Notice:
    """The arrival window and how to prepare the house; of an older word still unsent nothing is sent."""
    withdraw_notices(key_prefix=f"visit:{shoot.pk}:")
    return _write(
        shoot, MessageKind.MOVED if moved else MessageKind.CONFIRMED, "visit_confirmed",
        f"visit:{shoot.pk}:{shoot.calendar_sequence}", now, [preparation_sheet(shoot)],
        moved=moved, preparation=preparation_of(shoot.package),
    )  # fmt: skip


def tell_client_visit_is_off(*, shoot: Shoot, now: datetime) -> Notice:
    for kind in ("visit", "visit-reminder", "visit-weather"):
        withdraw_notices(key_prefix=f"{kind}:{shoot.pk}:")
    fee = plain(shoot.fee_percent or Decimal(0))
    return _write(shoot, MessageKind.OFF, "visit_off", f"visit-off:{shoot.pk}", now, fee=fee)


def tell_client_of_weather(*, shoot: Shoot, now: datetime) -> Notice:
    """The visit may have to be moved for the weather; by when the office will say."""
    key = f"visit-weather:{shoot.pk}:{now:%Y%m%d%H%M%S}"
    return _write(shoot, MessageKind.WEATHER, "visit_weather", key, now)


def tell_client_it_goes_ahead(*, shoot: Shoot, now: datetime) -> Notice:
    withdraw_notices(key_prefix=f"visit-weather:{shoot.pk}:")
    key = f"visit-ahead:{shoot.pk}:{now:%Y%m%d%H%M%S}"
    return _write(shoot, MessageKind.GOES_AHEAD, "visit_goes_ahead", key, now)


@transaction.atomic
def say_on_our_way(*, shoot: Shoot, by: Actor, now: datetime) -> Notice:
    """The crew has left for the house: the client learns about when it will be there, once."""
    shoot = locked(shoot)
    if shoot.state != ShootState.CONFIRMED:
        raise Refused(_("Only a confirmed visit can be on its way."))
    if not by.person.is_owner and not shoot.members.filter(person=by.person).exists():
        raise Refused(_("You are not on the crew of this visit."))
    if not shoot.starts_at - EARLIEST_ON_WAY <= now <= shoot.ends_at:
        raise Refused(_("It is not the time of this visit: the client would be misled."))
    if shoot.on_way_at:
        raise Refused(_("The client was told already that you are on your way."))
    shoot.on_way_at = now
    shoot.save(update_fields=["on_way_at"])
    drive = drive_to(shoot, by)
    about = max(shoot.starts_at, now + timedelta(minutes=drive.minutes)) if drive else shoot.starts_at
    record(by=by, now=now, verb="on-way", text=_("set out for the visit"), subject=shoot, job=shoot.number)
    key = f"visit-on-way:{shoot.pk}:{shoot.starts_at:%Y%m%d%H%M}"
    return _write(shoot, MessageKind.ON_WAY, "visit_on_way", key, now, about=about, crew=list(shoot.crew.all()))


def drive_to(shoot: Shoot, by: Actor) -> Drive | None:
    """The drive of the one who sets out, from where their diary has them before; None for somebody not on the crew."""
    members = CrewMember.objects.standing(shoot.starts_at - AROUND, shoot.starts_at + AROUND).filter(person=by.person)
    around = surroundings()
    day = busy_times([held_of(member.shoot, around.office) for member in members], around.home, around.drives)
    return next(
        (around.drives.drive(busy.came_from, busy.held.spot) for busy in day if busy.held.key == shoot.pk), None
    )


def remind_clients(now: datetime) -> int:
    """Remind of every confirmed visit whose last working day before has begun, once for each time it is set to.

    A client who was told of this very time since then needs no reminder.
    """
    office, rules = Office.the(), DiaryRules.the()
    today = office.day_of(now)
    calendar = working_days(office, rules, today - REMINDS_AHEAD, today + REMINDS_AHEAD).office_calendar
    if calendar is None:
        return 0
    due = [
        shoot
        for shoot in Shoot.objects.to_remind(now, now + REMINDS_AHEAD)
        if reminder_at(shoot.starts_at, calendar) <= now
    ]
    return sum(_remind(shoot, reminder_at(shoot.starts_at, calendar), now) for shoot in due)


@transaction.atomic
def _remind(shoot: Shoot, due_at: datetime, now: datetime) -> bool:
    shoot = locked(shoot)
    if shoot.state != ShootState.CONFIRMED or shoot.reminded_for == shoot.starts_at:
        return False
    shoot.reminded_for = shoot.starts_at
    shoot.save(update_fields=["reminded_for"])
    told = shoot.messages.filter(kind__in=(MessageKind.CONFIRMED, MessageKind.MOVED)).last()
    if told and told.written_at >= due_at:
        return False
    key = f"visit-reminder:{shoot.pk}:{shoot.starts_at:%Y%m%d%H%M}"
    _write(
        shoot, MessageKind.REMINDER, "visit_reminder", key, now, preparation=preparation_of(shoot.package)
    )  # fmt: skip
    return True


def _write(
    shoot: Shoot, kind: MessageKind, template: str, key: str, now: datetime,
    enclosures: Sequence[Attachment] = (), **context: Any,
) -> Notice:  # fmt: skip
    notice = write_notice(
        key=key,
        template=template,
        to_name=shoot.client.name,
        to_address=shoot.client.email,
        now=now,
        job=shoot.number,
        enclosures=enclosures,
        shoot=shoot,
        **context,
    )
    VisitMessage.objects.get_or_create(notice=notice, defaults={"shoot": shoot, "kind": kind, "written_at": now})
    return notice
