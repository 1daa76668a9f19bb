"""The visit: pencilled, confirmed, captured, closed; or cancelled, or no access."""

from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from django.core.files.base import ContentFile
from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from jobs.models import BUSY_STATES, AddOn, Client, NoAccessNote, Package, Property, Shoot, ShootAddOn, ShootState
from jobs.rules.late_fee import Wish
from office.actions.actors import PROGRAM, Actor
from office.actions.events import record
from office.actions.numbering import next_number
from office.actions.states import locked, move
from office.errors import Refused
from office.models import Office, Person

from .booking import hold_crew, release_crew
from .calendar_visits import invite_crew, uninvite
from .estimates import estimates_of, keep_past_visit
from .fees import cancelling_costs, charge, fee_rule, moving_costs
from .messages import tell_client_of_visit, tell_client_visit_is_off
from .tasks import make_editing_tasks

LONGEST = timedelta(hours=24)


@transaction.atomic
def pencil_shoot(
    *, client: Client, property: Property, package: Package, add_ons: Mapping[AddOn, int],
    by: Actor, now: datetime, notes: str = "", wished_days: str = "", hold_until: datetime | None = None,
) -> Shoot:  # fmt: skip
    """Take an order: a shoot without a time yet, held until `hold_until` (the office's own span when not said)."""
    office = Office.the()
    year = office.day_of(now).year
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


@dataclass(frozen=True)
class Timing:
    """A time and a crew for a visit, and at whose wish."""

    shoot: Shoot
    starts_at: datetime
    window_end: datetime
    ends_at: datetime
    crew: Sequence[Person]
    wish: Wish = Wish.OFFICE


@transaction.atomic
def set_time(
    *, shoot: Shoot, starts_at: datetime, window_end: datetime, ends_at: datetime, crew: Sequence[Person],
    by: Actor, now: datetime, wish: Wish = Wish.OFFICE,
) -> Shoot:  # fmt: skip
    """Give the visit its arrival window, its end and its crew; refused where somebody is busy or driving then.

    Moving a confirmed visit late at the client's wish costs what the office's fee rule says.
    """
    (shoot,) = set_times(timings=[Timing(shoot, starts_at, window_end, ends_at, crew, wish)], by=by, now=now)
    return shoot


@transaction.atomic
def set_times(*, timings: Sequence[Timing], by: Actor, now: datetime) -> list[Shoot]:
    """Time several visits at once, so that two can change places; all of them or, when one is refused, none."""
    before = [locked(timing.shoot) for timing in sorted(timings, key=lambda timing: timing.shoot.pk)]
    was = {shoot.pk: copy(shoot) for shoot in before}
    for timing in timings:
        _check_times(was[timing.shoot.pk], timing)
        _store_times(timing)
    return [_settle(timing, was[timing.shoot.pk], by, now) for timing in timings]


def _settle(timing: Timing, was: Shoot, by: Actor, now: datetime) -> Shoot:
    """Hold the crew for the time that is stored, and say so to everybody whom it concerns."""
    shoot = Shoot.objects.select_related("property", "package", "client").get(pk=was.pk)
    moved = was.starts_at is not None and (was.starts_at, was.window_end) != (shoot.starts_at, shoot.window_end)
    left_out = list(shoot.crew.exclude(pk__in=[person.pk for person in timing.crew]))
    hold_crew(shoot=shoot, crew=timing.crew, was_at=was.starts_at, now=now)
    _keep_estimate(shoot, len(timing.crew))
    _record_time(shoot, timing.crew, moved, by, now)
    if moved and (percent := moving_costs(was, timing.wish, now)):
        charge(shoot=shoot, percent=percent, why=_("moved late at the client's wish"), by=by, now=now)
    _count_calendar_change(shoot)
    uninvite(shoot=shoot, people=left_out, now=now)
    invite_crew(shoot=shoot, now=now)
    if moved and shoot.state == ShootState.CONFIRMED:
        tell_client_of_visit(shoot=shoot, now=now, moved=True)
    return shoot


def _store_times(timing: Timing) -> None:
    """A new time ends a weather hold and an earlier word to the client that the crew is on its way."""
    Shoot.objects.filter(pk=timing.shoot.pk).update(
        starts_at=timing.starts_at,
        window_end=timing.window_end,
        ends_at=timing.ends_at,
        weather_decide_at=None,
        weather_note="",
        on_way_at=None,
    )


def _keep_estimate(shoot: Shoot, crew: int) -> None:
    """What was estimated for this crew, so that later it can be told how well it held."""
    minutes = estimates_of(shoot).of(crew).minutes
    shoot.estimated_p50, shoot.estimated_p80 = minutes.p50, minutes.p80
    shoot.save(update_fields=["estimated_p50", "estimated_p80"])


def _record_time(shoot: Shoot, crew: Sequence[Person], moved: bool, by: Actor, now: datetime) -> None:
    text = _("moved the visit; crew: %s") if moved else _("set the visit's time; crew: %s")
    record(
        by=by, now=now, verb="shoot-timed", text=text % ", ".join(str(person) for person in crew), subject=shoot,
        job=shoot.number, starts_at=shoot.starts_at.isoformat(),
    )  # fmt: skip


@transaction.atomic
def confirm_shoot(*, shoot: Shoot, by: Actor, now: datetime) -> Shoot:
    """Promise the visit to the client; it needs a time and a crew."""
    shoot = locked(shoot)
    if shoot.starts_at is None or not shoot.members.exists():
        raise Refused(_("Set a time and a crew first; then the visit can be confirmed."))
    move(shoot, ShootState.CONFIRMED, confirmed_at=now, hold_until=None)
    _count_calendar_change(shoot)
    record(by=by, now=now, verb="shoot-confirmed", text=_("confirmed the visit"), subject=shoot, job=shoot.number)
    invite_crew(shoot=shoot, now=now)
    tell_client_of_visit(shoot=shoot, now=now)
    return shoot


@transaction.atomic
def note_captured(*, shoot: Shoot, by: Actor, now: datetime) -> Shoot:
    """The crew has captured the house: the editing tasks appear, and estimates learn from the visit."""
    shoot = locked(shoot)
    if not shoot.stations.exists():
        raise Refused(_("Log the walk first: there is no station yet."))
    move(shoot, ShootState.CAPTURED, captured_at=now)
    count = make_editing_tasks(shoot=shoot, now=now)
    text = _("captured the house: %(stations)d stations, %(tasks)d editing tasks") % {
        "stations": shoot.stations.count(), "tasks": count,
    }  # fmt: skip
    record(by=by, now=now, verb="shoot-captured", text=text, subject=shoot, job=shoot.number)
    keep_past_visit(shoot=shoot)
    return shoot


@transaction.atomic
def close_shoot(*, shoot: Shoot, by: Actor, now: datetime) -> Shoot:
    """Nothing is left to do on this job."""
    shoot = move(locked(shoot), ShootState.CLOSED, closed_at=now)
    record(by=by, now=now, verb="shoot-closed", text=_("closed the job"), subject=shoot, job=shoot.number)
    return shoot


@transaction.atomic
def cancel_shoot(*, shoot: Shoot, why: str, by: Actor, now: datetime, wish: Wish = Wish.OFFICE) -> Shoot:
    """Call the visit off, free the crew and tell the client if the visit had been promised.

    Late at the client's wish, it costs what the office's fee rule says.
    """
    shoot = locked(shoot)
    promised, percent = shoot.state == ShootState.CONFIRMED, cancelling_costs(shoot, wish, now)
    move(shoot, ShootState.CANCELLED, ended_why=why, hold_until=None, weather_decide_at=None)
    release_crew(shoot=shoot)
    _count_calendar_change(shoot)
    record(by=by, now=now, verb="shoot-cancelled", text=_("cancelled: %s") % why, subject=shoot, job=shoot.number)
    if percent:
        charge(shoot=shoot, percent=percent, why=_("cancelled late at the client's wish"), by=by, now=now)
    if shoot.starts_at:
        uninvite(shoot=shoot, people=shoot.crew.all(), now=now)
    if promised:
        tell_client_visit_is_off(shoot=shoot, now=now)
    return shoot


@transaction.atomic
def note_no_access(
    *, shoot: Shoot, why: str, by: Actor, now: datetime, tried: Sequence[str] = (), waited_minutes: int = 0,
    photo: bytes | None = None, at_fault: bool = True,
) -> Shoot:  # fmt: skip
    """The crew stood before a closed door: what was tried, a photo of it, and what the wasted visit costs.

    `at_fault` says that it is the client's; `photo` is a picture as `jobs.actions.pictures` cleaned it.
    """
    shoot = move(locked(shoot), ShootState.NO_ACCESS, ended_why=why, weather_decide_at=None)
    release_crew(shoot=shoot)
    _count_calendar_change(shoot)
    note = NoAccessNote(shoot=shoot, tried=list(tried), waited_minutes=waited_minutes, noted_at=now, noted_by=by.person)
    if photo:
        note.photo.save(f"{shoot.number}.jpg", ContentFile(photo), save=False)
    note.save()
    record(by=by, now=now, verb="shoot-no-access", text=_("no access: %s") % why, subject=shoot, job=shoot.number)
    percent = fee_rule().no_access if at_fault else Decimal(0)
    charge(shoot=shoot, percent=percent, why=_("nobody let us in: %s") % why, by=by, now=now)
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


def _check_times(shoot: Shoot, timing: Timing) -> None:
    if shoot.state not in BUSY_STATES:
        raise Refused(_("A %s shoot cannot be moved.") % shoot.get_state_display().lower())
    if not 1 <= len(timing.crew) <= 2:
        raise Refused(_("A crew is one or two people."), field="crew")
    if not timing.starts_at <= timing.window_end < timing.ends_at:
        raise Refused(_("The crew must leave after the arrival window ends."), field="minutes")
    if timing.ends_at - timing.starts_at > LONGEST:
        raise Refused(_("A visit takes no longer than a day."), field="minutes")


def _count_calendar_change(shoot: Shoot) -> None:
    """Calendars take an event's newest SEQUENCE (RFC 5545 §3.8.7.4)."""
    Shoot.objects.filter(pk=shoot.pk).update(calendar_sequence=F("calendar_sequence") + 1)
    shoot.calendar_sequence += 1
