"""Three invented houses, priced under a card while it is being written."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal

from django.utils.translation import gettext_lazy as _

from billing.rules.card import Card, Job, NotOnCard
from billing.rules.pricing import Priced, price
from office.rules.money import half_up
from office.rules.units import AreaUnit, converted_area

WEDNESDAY = datetime(2027, 3, 3, 9, tzinfo=UTC)
SATURDAY = datetime(2027, 3, 6, 9, tzinfo=UTC)


@dataclass(frozen=True)
class House:
    """`shoots` are the client's in the last 90 days."""

    name: str
    square_metres: Decimal
    levels: int
    km: Decimal
    hours_notice: Decimal
    starts_at: datetime
    shoots: int
    text: str


HOUSES = (
    House(
        _("A flat"), Decimal(75), 1, Decimal(6), Decimal(120), WEDNESDAY, 0,
        _("one level, in town, ordered five days ahead"),
    ),
    House(
        _("A family house"), Decimal(230), 2, Decimal(18), Decimal(72), WEDNESDAY, 6,
        _("two levels, 18 km away, a client with six shoots lately"),
    ),
    House(
        _("A large house"), Decimal(465), 4, Decimal(70), Decimal(20), SATURDAY, 0,
        _("four levels, 70 km away, wanted for Saturday at 20 hours' notice"),
    ),
)  # fmt: skip


@dataclass(frozen=True)
class Sample:
    """A house and, by the name of each package, its price or why it has none."""

    house: House
    area: Decimal
    prices: tuple[tuple[str, Priced | None, str], ...]


def samples(card: Card, names: Mapping[str, str]) -> list[Sample]:
    """Each house under each package of the card, before tax and without add-ons; `names` by package code."""
    return [_sample(card, house, names) for house in HOUSES]


def _sample(card: Card, house: House, names: Mapping[str, str]) -> Sample:
    step = Decimal(10) if card.area_unit == AreaUnit.SQFT else Decimal(1)
    area = half_up(converted_area(house.square_metres, AreaUnit.M2, card.area_unit), step)
    prices = ((names.get(code, code), *_priced(card, house, area, code)) for code in card.packages)
    return Sample(house, area, tuple(prices))


def _priced(card: Card, house: House, area: Decimal, package: str) -> tuple[Priced | None, str]:
    job = Job(
        package=package, area=area, area_unit=card.area_unit, levels=house.levels, add_ons=(), distance_km=house.km,
        hours_notice=house.hours_notice, starts_at=house.starts_at, shoots_last_90_days=house.shoots,
    )  # fmt: skip
    try:
        return price(card, job), ""
    except NotOnCard as refusal:
        return None, refusal.expected
