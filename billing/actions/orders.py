"""Orders by the public order page: a price while typing, and an order that somebody of the office takes up."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from billing.models import PlacedOrder
from billing.rules.card import AddOnOrder, Job, NotOnCard
from billing.rules.lines import Line
from billing.rules.pricing import Priced, price
from jobs.actions.clients import find_or_add_client
from jobs.actions.properties import add_property
from jobs.actions.shoots import pencil_shoot
from jobs.models import AddOn, Package, Shoot
from office.actions.actors import Actor
from office.actions.events import record
from office.models import Office

from .job_facts import OrderedJob, area_in, cautions_of, hours_between, weekday_well_ahead
from .mails import tell_client_of_order
from .pricing import local_day, named
from .public_offer import PublicOffer, public_offer


@dataclass(frozen=True)
class WantedHouse:
    """What the price of an order rests on; codes of package and add-ons."""

    package: str
    add_ons: tuple[str, ...]
    area_m2: Decimal
    levels: int


@dataclass(frozen=True)
class PublicPrice:
    """The price shown to a visitor; no `priced` means "we will call you"."""

    priced: Priced | None
    lines: tuple[Line, ...] = ()
    cautions: tuple[str, ...] = ()


WE_CALL = PublicPrice(None)


def public_price(office: Office, offer: PublicOffer | None, house: WantedHouse, now: datetime) -> PublicPrice:
    """The house under the card for everyone; asks the database nothing, for it runs at every keystroke.

    A house beyond the office's largest area or most levels is not priced by itself.
    """
    if offer is None or house.area_m2 > office.largest_area_m2 or house.levels > office.most_levels:
        return WE_CALL
    job = _job(offer, house, now)
    try:
        priced = price(offer.card, job)
    except NotOnCard:
        return WE_CALL
    card = offer.card
    cautions = cautions_of(
        OrderedJob(job, has_time=False, has_distance=False),
        time_matters=bool(card.short_notice or card.weekend_percent), distance_matters=bool(card.travel),
    )  # fmt: skip
    return PublicPrice(
        priced, named(priced.lines, offer.package_name(house.package), dict(offer.add_ons)), tuple(cautions)
    )


def _job(offer: PublicOffer, house: WantedHouse, now: datetime) -> Job:
    starts_at = weekday_well_ahead(now)
    return Job(
        package=house.package,
        area=area_in(house.area_m2, offer.card.area_unit),
        area_unit=offer.card.area_unit,
        levels=house.levels,
        add_ons=tuple(AddOnOrder(code=code, quantity=1) for code in house.add_ons),
        distance_km=Decimal(0),
        hours_notice=hours_between(now, starts_at),
        starts_at=starts_at,
        shoots_last_90_days=0,
    )


@transaction.atomic
def place_order(
    *, wanted: WantedHouse, client: dict[str, Any], address: dict[str, Any], wished_days: str, notes: str,
    by: Actor, now: datetime,
) -> Shoot:  # fmt: skip
    """Pencil the order for the client with this email; of one that we know already nothing changes."""
    office = Office.the()
    shown = public_price(office, public_offer(local_day(now)), wanted, now)
    found = find_or_add_client(fields=client, by=by, now=now)
    house = add_property(fields=_property(wanted, address, office), by=by, now=now)
    shoot = pencil_shoot(
        client=found,
        property=house,
        package=Package.objects.get(code=wanted.package),
        add_ons=dict.fromkeys(_add_ons(wanted.add_ons), 1),
        notes=_notes(client, notes),
        wished_days=wished_days,
        by=by,
        now=now,
    )
    order = _kept(shoot, shown, now)
    record(by=by, now=now, verb="order-placed", text=_("ordered on the order page"), subject=shoot, job=shoot.number)
    tell_client_of_order(order=order, to_name=client["name"], now=now)
    return shoot


def _property(wanted: WantedHouse, address: dict[str, Any], office: Office) -> dict[str, Any]:
    fields = {"zone": office.zone, "country": office.country}
    return {**address, **fields, "area_m2": wanted.area_m2, "level_count": wanted.levels}


def _add_ons(codes: Sequence[str]) -> list[AddOn]:
    return list(AddOn.objects.filter(code__in=codes))


def _notes(client: dict[str, Any], notes: str) -> str:
    """The visitor's own words, and who they said they are: the client of that email may be written otherwise."""
    contact = ", ".join(client[name] for name in ("name", "company", "phone") if client[name])
    return "\n".join(filter(None, (notes, _("Ordered on the order page by %s.") % contact)))


def _kept(shoot: Shoot, shown: PublicPrice, now: datetime) -> PlacedOrder:
    priced = shown.priced
    return PlacedOrder.objects.create(
        shoot=shoot,
        placed_at=now,
        shown_total=priced.total if priced else None,
        shown_currency=priced.currency if priced else "",
    )
