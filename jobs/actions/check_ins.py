"""Who is on site and until when. Whoever does not check out in time is missed: on the desk, and by a notice."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction
from django.utils.translation import gettext as _

from jobs.models import CheckIn, DiaryRules, Shoot, ShootState
from office.actions.actors import Actor
from office.actions.events import record
from office.actions.notices import withdraw_notices, write_notice
from office.actions.states import locked
from office.errors import Refused
from office.models import Person, Role

from .estimates import keep_past_visit

EARLIEST = timedelta(hours=12)
LONGEST_STAY_MINUTES = 480


@dataclass(frozen=True)
class Missed:
    """Somebody who should be out and has not said so; `check_in` is None for a visit nobody checked in to."""

    shoot: Shoot
    check_in: CheckIn | None
    due_out_at: datetime

    @property
    def who(self) -> str:
        return (
            str(self.check_in.person) if self.check_in else ", ".join(str(person) for person in self.shoot.crew.all())
        )

    @property
    def phones(self) -> list[str]:
        people = [self.check_in.person] if self.check_in else self.shoot.crew.all()
        return [person.phone for person in people if person.phone]

    @property
    def key(self) -> str:
        """One for each time that somebody was due out, so that a longer stay is missed anew."""
        subject = f"in:{self.check_in.pk}" if self.check_in else f"visit:{self.shoot.pk}"
        return f"not-out:{subject}:{self.due_out_at:%Y%m%d%H%M}"


@transaction.atomic
def check_in(*, shoot: Shoot, by: Actor, now: datetime) -> CheckIn:
    """The acting person has arrived; they are expected out when the planned minutes have passed."""
    shoot = locked(shoot)
    _refuse_unless_theirs(shoot, by, now)
    elsewhere = CheckIn.objects.open().filter(person=by.person).select_related("shoot__property").first()
    if elsewhere:
        raise Refused(_("You are still checked in at %s. Check out there first.") % elsewhere.shoot)
    planned = timedelta(minutes=shoot.planned_minutes() or 0)
    row = CheckIn.objects.create(shoot=shoot, person=by.person, arrived_at=now, due_out_at=now + planned)
    record(by=by, now=now, verb="checked-in", text=_("arrived on site"), subject=shoot, job=shoot.number)
    return row


@transaction.atomic
def check_out(*, shoot: Shoot, by: Actor, now: datetime, person: Person | None = None) -> CheckIn:
    """The acting person has left; the owner may say so of somebody they have spoken to."""
    shoot = locked(shoot)
    row = _open(shoot, person or by.person)
    row.left_at = max(now, row.arrived_at)
    row.save(update_fields=["left_at"])
    withdraw_notices(key_prefix=f"not-out:in:{row.pk}:")
    text = _("left the site") if row.person == by.person else _("noted that %s has left the site") % row.person
    record(by=by, now=now, verb="checked-out", text=text, subject=shoot, job=shoot.number)
    keep_past_visit(shoot=shoot)
    return row


@transaction.atomic
def stay_longer(*, shoot: Shoot, minutes: int, by: Actor, now: datetime) -> CheckIn:
    """The acting person needs more time, counted from now or from when they were expected out."""
    shoot = locked(shoot)
    row = _open(shoot, by.person)
    if not 1 <= minutes <= LONGEST_STAY_MINUTES:
        raise Refused(_("Expected 1 to %d minutes.") % LONGEST_STAY_MINUTES, field="minutes")
    row.due_out_at = max(now, row.due_out_at) + timedelta(minutes=minutes)
    row.save(update_fields=["due_out_at"])
    withdraw_notices(key_prefix=f"not-out:in:{row.pk}:")
    text = _("stays %d minutes longer") % minutes
    record(by=by, now=now, verb="stays-longer", text=text, subject=shoot, job=shoot.number)
    return row


def missed_people(now: datetime) -> Iterator[Missed]:
    """Everybody past their expected end by more than the office's limit."""
    limit = now - timedelta(minutes=DiaryRules.the().check_out_limit)
    for row in CheckIn.objects.due_before(limit):
        yield Missed(row.shoot, row, row.due_out_at)
    for shoot in Shoot.objects.never_checked_in(limit).select_related("property").prefetch_related("crew"):
        yield Missed(shoot, None, shoot.ends_at)


def watch_the_crew(now: datetime) -> int:
    """Tell the owners, and whom the office named, of everybody who is missed; once for each time they were due out."""
    return sum(_tell(missed, now) for missed in missed_people(now))


@transaction.atomic
def _tell(missed: Missed, now: datetime) -> int:
    recipients = _watchers()
    for number, (name, address) in enumerate(recipients):
        write_notice(
            key=f"{missed.key}:{number}", template="crew_not_out", to_name=name, to_address=address, now=now,
            job=missed.shoot.number, missed=missed, shoot=missed.shoot,
        )  # fmt: skip
    return len(recipients)


def _watchers() -> list[tuple[str, str]]:
    rules = DiaryRules.the()
    owners = Person.objects.filter(role=Role.OWNER, is_active=True).order_by("pk").values_list("name", "email")
    return [*owners, *([(rules.watch_name, rules.watch_email)] if rules.watch_email else [])]


def _open(shoot: Shoot, person: Person) -> CheckIn:
    row = CheckIn.objects.open().select_for_update().filter(shoot=shoot, person=person).first()
    if row is None:
        raise Refused(_("%s is not checked in here.") % person)
    return row


def _refuse_unless_theirs(shoot: Shoot, by: Actor, now: datetime) -> None:
    if shoot.state != ShootState.CONFIRMED:
        raise Refused(_("One checks in to a confirmed visit; this one is %s.") % shoot.get_state_display().lower())
    if not shoot.members.filter(person=by.person).exists():
        raise Refused(_("You are not on the crew of this visit."))
    if now < shoot.starts_at - EARLIEST:
        raise Refused(_("This visit is not today."))
