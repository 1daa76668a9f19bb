"""What is priced of a shoot: the facts of the house, the order and the visit, and what they leave open."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from billing.rules.card import AddOnOrder, Job
from jobs.models import Client, Property, Shoot
from jobs.rules.geodesic import Place
from jobs.rules.travel import TravelSettings, trip
from office.models import Office
from office.rules.money import half_up
from office.rules.money_format import shortest
from office.rules.units import AreaUnit, converted_area

TRAILING = timedelta(days=90)
WELL_AHEAD = timedelta(weeks=8)
"""How far ahead an order without a time is reckoned to be, always on a weekday."""
HOUR = timedelta(hours=1)
HUNDREDTH = Decimal("0.01")


@dataclass(frozen=True)
class OrderedJob:
    """The facts as the pricing rules read them, and whether time and distance are known or assumed."""

    job: Job
    has_time: bool
    has_distance: bool


def ordered_job(*, shoot: Shoot, unit: AreaUnit, now: datetime) -> OrderedJob:
    """The facts of a shoot, its area in `unit`, the unit of the rate card."""
    starts_at = shoot.starts_at or weekday_well_ahead(now)
    distance = distance_km(Office.the(), shoot.property)
    job = Job(
        package=shoot.package.code,
        area=area_in(shoot.property.area_m2, unit),
        area_unit=unit,
        levels=shoot.property.level_count,
        add_ons=tuple(
            AddOnOrder(code=extra.add_on.code, quantity=extra.quantity)
            for extra in shoot.add_ons.select_related("add_on").order_by("pk")
        ),
        distance_km=distance or Decimal(0),
        hours_notice=hours_between(now, starts_at),
        starts_at=starts_at.astimezone(ZoneInfo(shoot.property.zone)),
        shoots_last_90_days=shoots_lately(shoot.client, now, apart_from=shoot),
    )
    return OrderedJob(job, has_time=shoot.starts_at is not None, has_distance=distance is not None)


def area_in(square_metres: Decimal, unit: AreaUnit) -> Decimal:
    """A stored area in `unit`; square feet to the hundredth, which is what was typed before it was stored."""
    if unit == AreaUnit.M2:
        return Decimal(shortest(square_metres))
    return Decimal(shortest(half_up(converted_area(square_metres, AreaUnit.M2, unit), HUNDREDTH)))


def distance_km(office: Office, house: Property) -> Decimal | None:
    """Road kilometres from the office; None when it or the property has no coordinates."""
    if None in (office.latitude, office.longitude, house.latitude, house.longitude):
        return None
    return trip(_place(office), _place(house), TravelSettings()).km


def hours_between(start: datetime, end: datetime) -> Decimal:
    """Hours to the hundredth, never below zero."""
    return half_up(max(Decimal((end - start) / HOUR), Decimal(0)), HUNDREDTH)


def weekday_well_ahead(now: datetime) -> datetime:
    """A moment far enough away for no short notice, on a weekday in any zone."""
    then = now + WELL_AHEAD
    return then + timedelta(days=2 - then.weekday())


def shoots_lately(client: Client, now: datetime, *, apart_from: Shoot) -> int:
    """The client's visits of the last 90 days."""
    return Shoot.objects.exclude(pk=apart_from.pk).of_client_since(client, now - TRAILING, now)


def _place(row: Office | Property) -> Place:
    return Place(latitude=float(row.latitude), longitude=float(row.longitude))


def cautions_of(facts: OrderedJob, *, time_matters: bool, distance_matters: bool) -> list[str]:
    """What a price rests on, a sentence each."""
    cautions = [_("Areas are approximate, as stated when ordering; the price follows the area that is measured.")]
    if time_matters and not facts.has_time:
        cautions.append(
            _("No time is set yet: priced for a weekday, ordered well ahead. A weekend or short notice may cost more.")
        )
    if distance_matters and not facts.has_distance:
        cautions.append(_("The distance is not known yet: no travel beyond the office's surroundings is reckoned."))
    return cautions
