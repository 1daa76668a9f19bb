"""Other invented jobs at other stages, so that the desk, the diary and the lists are not empty."""

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from billing.actions.quotes import offer_quote
from deliverables.demo.cast import ZONE, Cast
from jobs.actions.clients import add_client
from jobs.actions.properties import add_property
from jobs.actions.shoots import confirm_shoot, pencil_shoot, set_time
from jobs.models import Client, Property, Shoot
from office.rules.units import AreaUnit, converted_area

HOUR = timedelta(hours=1)


@dataclass(frozen=True)
class Order:
    """An invented order: who, where, how large, which package, and on which day from now the visit is, if any."""

    client: str
    street: str
    square_feet: int
    levels: int
    package: str
    in_days: int | None
    at: time
    confirmed: bool


ORDERS = (
    Order("Benedikt Aas", "8 Ferry Lane", 1420, 1, "tour", 1, time(9), True),
    Order("Colette Abara-Fitzwilliam", "112 Quarry Road", 3180, 3, "both", 1, time(13), True),
    Order("Dmitri Vance", "5 Orchard Steps, rear house", 2050, 2, "plan", 2, time(10), False),
    Order("Esme Whitlock", "61 Heron Street", 990, 1, "tour", None, time(9), False),
)


def add_other_jobs(cast: Cast, now: datetime) -> list[Shoot]:
    """Take the orders, set their times, offer a quote for the last one."""
    shoots = [_take(order, cast, now) for order in ORDERS]
    offer_quote(shoot=shoots[-1], by=cast.by_owner, now=now)
    return shoots


def _take(order: Order, cast: Cast, now: datetime) -> Shoot:
    by = cast.by_owner
    shoot = pencil_shoot(
        client=_client(order, cast, now), property=_house(order, cast, now), package=cast.packages[order.package],
        add_ons={}, by=by, now=now, wished_days="" if order.in_days else "any morning next week",
    )  # fmt: skip
    if order.in_days is None:
        return shoot
    start = datetime.combine((now + timedelta(days=order.in_days)).date(), order.at, ZoneInfo(ZONE))
    visit = {"starts_at": start, "window_end": start + HOUR / 2, "ends_at": start + 2 * HOUR}
    shoot = set_time(shoot=shoot, crew=[cast.scanner], by=by, now=now, **visit)
    return confirm_shoot(shoot=shoot, by=by, now=now) if order.confirmed else shoot


def _client(order: Order, cast: Cast, now: datetime) -> Client:
    first = order.client.split(" ")[0].lower()
    return add_client(fields={"name": order.client, "email": f"{first}@clients.example"}, by=cast.by_owner, now=now)


def _house(order: Order, cast: Cast, now: datetime) -> Property:
    area = converted_area(Decimal(order.square_feet), AreaUnit.SQFT, AreaUnit.M2)
    fields = {
        "street": order.street, "town": "Harrowfield", "region": "IA", "postcode": "50999", "zone": ZONE,
        "area_m2": round(area, 4), "level_count": order.levels,
    }  # fmt: skip
    return add_property(fields=fields, by=cast.by_owner, now=now)
