"""A visit held for the weather: crew and time stay kept, and by a named moment the office says yes or moves it."""

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from jobs.models import BUSY_STATES, Shoot, ShootState
from office.actions.actors import Actor
from office.actions.events import record
from office.actions.states import locked
from office.errors import Refused

from .messages import tell_client_it_goes_ahead, tell_client_of_weather


@transaction.atomic
def hold_for_weather(*, shoot: Shoot, note: str, decide_at: datetime, by: Actor, now: datetime) -> Shoot:
    """Keep the time, tell a client who was promised it, and put the decision on the desk when it is due."""
    shoot = locked(shoot)
    if shoot.state not in BUSY_STATES or shoot.starts_at is None:
        raise Refused(_("Only a visit that is to come, with a time, can wait for the weather."))
    if not now < decide_at <= shoot.starts_at:
        raise Refused(_("Decide between now and the arrival window."), field="decide_at")
    shoot.weather_note, shoot.weather_decide_at = note, decide_at
    shoot.save(update_fields=["weather_note", "weather_decide_at"])
    text = _("holds the visit for the weather: %s") % note
    record(by=by, now=now, verb="weather-hold", text=text, subject=shoot, job=shoot.number)
    if shoot.state == ShootState.CONFIRMED:
        tell_client_of_weather(shoot=shoot, now=now)
    return shoot


@transaction.atomic
def go_ahead(*, shoot: Shoot, by: Actor, now: datetime) -> Shoot:
    """The weather allows it: the visit stands as it was agreed."""
    shoot = locked(shoot)
    if shoot.weather_decide_at is None:
        raise Refused(_("This visit does not wait for the weather."))
    shoot.weather_note, shoot.weather_decide_at = "", None
    shoot.save(update_fields=["weather_note", "weather_decide_at"])
    record(by=by, now=now, verb="weather-good", text=_("lets the visit go ahead"), subject=shoot, job=shoot.number)
    if shoot.state == ShootState.CONFIRMED:
        tell_client_it_goes_ahead(shoot=shoot, now=now)
    return shoot
