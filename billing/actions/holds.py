"""How long a pencilled shoot is kept, as its quote comes and goes.

While an offer stands the shoot is held for it; once accepted it is confirmed when it has a time and a crew, and
otherwise held without an end until somebody gives it a time; once the offer is declined, lapsed or withdrawn it is
held for the office's usual span and then given up by itself. The caller has locked the shoot.
"""

from datetime import datetime, timedelta

from jobs.actions.shoots import confirm_shoot
from jobs.models import Shoot, ShootState
from office.actions.actors import Actor
from office.models import Office


def hold_for_offer(shoot: Shoot, valid_until: datetime, now: datetime) -> None:
    """At least as long as the offer and the usual span after it; a visit with a time not beyond its beginning."""
    until = valid_until + usual_hold()
    if shoot.starts_at and shoot.starts_at > now:
        until = min(until, shoot.starts_at)
    if shoot.hold_until is None or shoot.hold_until < until:
        _set_hold(shoot, until)


def hold_as_usual(shoot: Shoot, now: datetime) -> None:
    _set_hold(shoot, now + usual_hold())


def go_ahead(shoot: Shoot, by: Actor, now: datetime) -> None:
    """The client has said yes."""
    if shoot.state == ShootState.PENCILLED and shoot.starts_at and shoot.members.exists():
        confirm_shoot(shoot=shoot, by=by, now=now)
    else:
        _set_hold(shoot, None)


def usual_hold() -> timedelta:
    return timedelta(hours=Office.the().hold_hours)


def _set_hold(shoot: Shoot, until: datetime | None) -> None:
    if shoot.state == ShootState.PENCILLED:
        shoot.hold_until = until
        shoot.save(update_fields=["hold_until"])
