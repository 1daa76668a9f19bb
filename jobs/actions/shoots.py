"""The visit: pencilled, confirmed, captured, closed; or cancelled, or no access."""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from jobs.models import AddOn, Client, Package, Property, Shoot, ShootAddOn, ShootState
from office.actions.actors import PROGRAM, Actor
from office.actions.events import record
from office.actions.numbering import next_number
from office.actions.states import locked, move
from office.errors import Refused
from office.models import Office, Person

from .booking import hold_crew, release_crew
from .mails import tell_client_of_visit, tell_client_visit_is_off
from .tasks import make_editing_tasks


@transaction.atomic
def pencil_shoot(
    *, client: Client, property: Property, package: Package, add_ons: Mapping[AddOn, int],
    by: Actor, now: datetime, notes: str = "", wished_days: str = "", hold_until: datetime | None = None,
) -> Shoot:  # fmt: skip
    """Take an order: a shoot without a time yet, held until `hold_until` (the office's own span when not said)."""
    office = Office.the()
    year = now.astimezone(ZoneInfo(office.zone)).year
    shoot = Shoot.objects.create(
        number=f"S-{year}-{next_number('shoot', year):04d}",
        client=client,
        property=property,
        package=package,
        notes=notes,
        wished_days=wished_days,
        ordered_at=now,
        hold_until=hold_until or now + timedelta(hours=office.hold_hours),
    )
    ShootAddOn.objects.bulk_create(
        ShootAddOn(shoot=shoot, add_on=add_on, quantity=quantity) for add_on, quantity in add_ons.items()
    )
    text = _("pencilled %(package)s for %(client)s") % {"package": package, "client": client}
    record(by=by, now=now, verb="shoot-pencilled", text=text, subject=shoot, job=shoot.number)
    return shoot


@transaction.atomic
def set_time(
    *, shoot: Shoot, starts_at: datetime, window_end: datetime, ends_at: datetime, crew: Sequence[Person],
    by: Actor, now: datetime,
) -> Shoot:  # fmt: skip
    """Give the visit its arrival window, its end and its crew; refused where somebody is busy then."""
    shoot = locked(shoot)
    _check_times(shoot, starts_at, window_end, ends_at, crew)
    hold_crew(shoot=shoot, crew=crew, busy_from=starts_at, busy_until=ends_at)
    moved = shoot.starts_at is not None and (shoot.starts_at, shoot.window_end) != (starts_at, window_end)
    shoot.starts_at, shoot.window_end, shoot.ends_at = starts_at, window_end, ends_at
    shoot.save(update_fields=["starts_at", "window_end", "ends_at"])
    _count_calendar_change(shoot)
    names = ", ".join(str(person) for person in crew)
    text = (_("moved the visit; crew: %s") if moved else _("set the visit's time; crew: %s")) % names
    record(
        by=by, now=now, verb="shoot-timed", text=text, subject=shoot, job=shoot.number, starts_at=starts_at.isoformat()
    )
    if moved and shoot.state == ShootState.CONFIRMED:
        tell_client_of_visit(shoot=shoot, now=now)
    return shoot


@transaction.atomic
def confirm_shoot(*, shoot: Shoot, by: Actor, now: datetime) -> Shoot:
    """Promise the visit to the client; it needs a time and a crew."""
    shoot = locked(shoot)
    if shoot.starts_at is None or not shoot.members.exists():
        raise Refused(_("Set a time and a crew first; then the visit can be confirmed."))
    move(shoot, ShootState.CONFIRMED, confirmed_at=now, hold_until=None)
    _count_calendar_change(shoot)
    record(by=by, now=now, verb="shoot-confirmed", text=_("confirmed the visit"), subject=shoot, job=shoot.number)
    tell_client_of_visit(shoot=shoot, now=now)
    return shoot


@transaction.atomic
def note_captured(*, shoot: Shoot, by: Actor, now: datetime) -> Shoot:
    """The crew has captured the house: the crew is free again and the editing tasks appear."""
    shoot = locked(shoot)
    if not shoot.stations.exists():
        raise Refused(_("Log the walk first: there is no station yet."))
    move(shoot, ShootState.CAPTURED, captured_at=now)
    count = make_editing_tasks(shoot=shoot, now=now)
    text = _("captured the house: %(stations)d stations, %(tasks)d editing tasks") % {
        "stations": shoot.stations.count(), "tasks": count,
    }  # fmt: skip
    record(by=by, now=now, verb="shoot-captured", text=text, subject=shoot, job=shoot.number)
    return shoot


@transaction.atomic
def close_shoot(*, shoot: Shoot, by: Actor, now: datetime) -> Shoot:
    """Nothing is left to do on this job."""
    shoot = move(locked(shoot), ShootState.CLOSED, closed_at=now)
    record(by=by, now=now, verb="shoot-closed", text=_("closed the job"), subject=shoot, job=shoot.number)
    return shoot


@transaction.atomic
def cancel_shoot(*, shoot: Shoot, why: str, by: Actor, now: datetime) -> Shoot:
    """Call the visit off, free the crew and tell the client if the visit had been promised."""
    shoot = locked(shoot)
    promised = shoot.state == ShootState.CONFIRMED
    move(shoot, ShootState.CANCELLED, ended_why=why, hold_until=None)
    release_crew(shoot=shoot)
    _count_calendar_change(shoot)
    record(by=by, now=now, verb="shoot-cancelled", text=_("cancelled: %s") % why, subject=shoot, job=shoot.number)
    if promised:
        tell_client_visit_is_off(shoot=shoot, now=now)
    return shoot


@transaction.atomic
def note_no_access(*, shoot: Shoot, why: str, by: Actor, now: datetime) -> Shoot:
    """The crew stood before a closed door: a wasted visit that may be charged."""
    shoot = move(locked(shoot), ShootState.NO_ACCESS, ended_why=why)
    release_crew(shoot=shoot)
    _count_calendar_change(shoot)
    record(by=by, now=now, verb="shoot-no-access", text=_("no access: %s") % why, subject=shoot, job=shoot.number)
    return shoot


def lapse_holds(now: datetime) -> int:
    """Cancel pencilled shoots whose hold has run out; each in its own transaction, so one failure stops no other."""
    shoots = list(Shoot.objects.held_past(now))
    for shoot in shoots:
        _lapse(shoot, now)
    return len(shoots)


@transaction.atomic
def _lapse(shoot: Shoot, now: datetime) -> None:
    held = Shoot.objects.held_past(now).select_for_update().filter(pk=shoot.pk).first()
    if held:
        cancelled = cancel_shoot(shoot=held, why=_("the hold ran out"), by=PROGRAM, now=now)
        tell_client_visit_is_off(shoot=cancelled, now=now)


@transaction.atomic
def set_tour_links(*, shoot: Shoot, fields: dict[str, str], by: Actor, now: datetime) -> Shoot:
    """Where the capture and the tour are, as the crew's own upload gave them."""
    shoot = locked(shoot)
    for name in ("capture_url", "tour_branded_url", "tour_unbranded_url"):
        setattr(shoot, name, fields[name])
    shoot.save(update_fields=["capture_url", "tour_branded_url", "tour_unbranded_url"])
    record(by=by, now=now, verb="links-set", text=_("set the links of the tour"), subject=shoot, job=shoot.number)
    return shoot


def _check_times(
    shoot: Shoot, starts_at: datetime, window_end: datetime, ends_at: datetime, crew: Sequence[Person]
) -> None:
    if shoot.state not in {ShootState.PENCILLED, ShootState.CONFIRMED}:
        raise Refused(_("A %s shoot cannot be moved.") % shoot.get_state_display().lower())
    if not 1 <= len(crew) <= 2:
        raise Refused(_("A crew is one or two people."), field="crew")
    if not starts_at <= window_end < ends_at:
        raise Refused(_("The crew must leave after the arrival window ends."), field="minutes")


def _count_calendar_change(shoot: Shoot) -> None:
    """Calendars take an event's newest SEQUENCE (RFC 5545 §3.8.7.4)."""
    Shoot.objects.filter(pk=shoot.pk).update(calendar_sequence=F("calendar_sequence") + 1)
    shoot.calendar_sequence += 1
