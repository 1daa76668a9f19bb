"""The rate card and the job: what the pricing rules read.

Areas are in the unit named beside them, money in the card's currency, distances in km, notice in hours.
A `Card` that exists is a sound one: its bands rise and leave no gap, and every net it can ask for can be paid.
"""

import json
import re
from collections.abc import Collection, Mapping
from datetime import datetime
from decimal import Decimal
from itertools import pairwise
from reprlib import repr as shown
from typing import Annotated, Any, Literal, Self

from pydantic import (
    AfterValidator,
    AwareDatetime,
    BeforeValidator,
    Field,
    PlainSerializer,
    TypeAdapter,
    ValidationError,
    model_validator,
)
from pydantic.dataclasses import dataclass
from pydantic_core import InitErrorDetails, PydanticCustomError

from office.rules.calendar import DateText
from office.rules.money import minor_units, smallest
from office.rules.money_format import plain
from office.rules.reading import STRICT, NotNegative, Positive, parse_json, read_json
from office.rules.units import AreaUnit

_OFFSET_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d(\.\d+)?)?(Z|[+-]\d\d(:?\d\d)?)", re.ASCII)
_HUNDRED = Decimal(100)
SATURDAY = 5


class NotOnCard(ValueError):
    """The job asks for what the card does not price: `path` is the key in the job, `row` its place among many."""

    def __init__(self, path: str, expected: str, row: int | None = None) -> None:
        self.path, self.expected, self.row = path, expected, row
        super().__init__(f"{path}: {expected}")


def _wrong(expected: str, *place: str | int) -> ValidationError:
    """A refusal that names the key at `place` below the value being checked."""
    error = PydanticCustomError("value_error", "{error}", {"error": expected})
    return ValidationError.from_exception_data("", [InitErrorDetails(type=error, loc=place, input=None)])


def _known_currency(code: str) -> str:
    minor_units(code)
    return code


def _given(value: object) -> object:
    if value is None:
        raise ValueError("expected a decimal in a string, or no such key; found null")
    return value


def _offset_time(value: object) -> object:
    if isinstance(value, datetime):
        return value
    try:
        if isinstance(value, str) and _OFFSET_TIME.fullmatch(value):
            return datetime.fromisoformat(value)
    except ValueError:
        pass
    raise ValueError(f"expected a time with its offset such as 2027-03-06T09:00:00-06:00, found {shown(value)}")


def _part_of_the_whole(percent: Decimal) -> Decimal:
    if percent > _HUNDRED:
        raise ValueError(f"expected 100 or less, found {plain(percent)}")
    return percent


Figure = Annotated[NotNegative, PlainSerializer(plain)]
"""Money, area, distance, hours or percent: zero or more."""
Step = Annotated[Positive, PlainSerializer(plain)]
PartPercent = Annotated[Figure, AfterValidator(_part_of_the_whole)]
MaybeFigure = Annotated[Figure | None, BeforeValidator(_given)]
"""A key that may be left out, but not be null."""
Count = Annotated[int, Field(ge=0, le=1_000_000)]
AtLeastOne = Annotated[int, Field(ge=1, le=1_000_000)]
CurrencyCode = Annotated[str, AfterValidator(_known_currency)]
OffsetTime = Annotated[AwareDatetime, BeforeValidator(_offset_time)]
"""An instant that keeps the offset it was written in: the weekend is that of the place."""


@dataclass(frozen=True, config=STRICT)
class AreaBand:
    """A price for each unit of area up to a total area; None: without end."""

    up_to: Figure | None
    per_unit: Figure


def _rising(bands: tuple[AreaBand, ...]) -> tuple[AreaBand, ...]:
    for number, (band, following) in enumerate(pairwise(bands)):
        if band.up_to is None:
            raise _wrong("expected an area, only the last band is without end", number, "up_to")
        if following.up_to is not None and following.up_to <= band.up_to:
            expected = f"expected more than {plain(band.up_to)} of the band before, found {plain(following.up_to)}"
            raise _wrong(expected, number + 1, "up_to")
    if bands and bands[-1].up_to is not None:
        raise _wrong("expected null, the last band is without end", len(bands) - 1, "up_to")
    return bands


@dataclass(frozen=True, config=STRICT)
class Package:
    """A base price with the area and levels it includes, and what goes beyond. No bands: area is not charged."""

    base: Figure
    includes_area: Figure
    includes_levels: Count
    area_bands: Annotated[tuple[AreaBand, ...], AfterValidator(_rising)]
    per_extra_level: Figure


@dataclass(frozen=True, config=STRICT)
class AddOn:
    """An extra charged in one of three ways: each, by the unit of the whole area, or in percent of the house lines."""

    fixed: MaybeFigure = None
    per_unit_area: MaybeFigure = None
    percent: MaybeFigure = None
    at_least: MaybeFigure = None

    @model_validator(mode="after")
    def _charged_in_one_way(self) -> Self:
        ways = [way for way in (self.fixed, self.per_unit_area, self.percent) if way is not None]
        if len(ways) != 1:
            raise ValueError(f"expected one of fixed, per_unit_area and percent, found {len(ways) or 'none'}")
        if self.at_least is not None and self.per_unit_area is None:
            raise _wrong("expected only beside per_unit_area", "at_least")
        return self


@dataclass(frozen=True, config=STRICT)
class TravelRow:
    """A fee up to a distance (None: any), and what each km beyond a second distance adds to it."""

    up_to_km: Figure | None
    fee: Figure
    per_km_beyond: MaybeFigure = None
    beyond_km: MaybeFigure = None

    @model_validator(mode="after")
    def _beyond_is_whole(self) -> Self:
        if self.per_km_beyond is not None and self.beyond_km is None:
            raise _wrong("expected this key beside per_km_beyond", "beyond_km")
        if self.beyond_km is not None and self.per_km_beyond is None:
            raise _wrong("expected this key beside beyond_km", "per_km_beyond")
        return self


@dataclass(frozen=True, config=STRICT)
class NoticeRow:
    """A surcharge for a shoot ordered less than so many hours ahead."""

    under_hours: Figure
    percent: Figure


@dataclass(frozen=True, config=STRICT)
class VolumeRow:
    """A discount for a client with at least so many shoots in the last 90 days."""

    from_shoots: Count
    percent_off: PartPercent


@dataclass(frozen=True, config=STRICT)
class Tax:
    """A tax on the net."""

    name: str
    percent: Figure


@dataclass(frozen=True, config=STRICT)
class Card:
    """A rate card: every price of the office, from a day on, in one currency and one unit of area."""

    number: AtLeastOne
    starts_on: Annotated[DateText, Field(alias="from")]
    currency: CurrencyCode
    area_unit: AreaUnit
    packages: Mapping[str, Package]
    add_ons: Mapping[str, AddOn]
    travel: tuple[TravelRow, ...]
    short_notice: tuple[NoticeRow, ...]
    weekend_percent: Figure
    minimum: Figure
    client_volume: tuple[VolumeRow, ...]
    round_net_to: Step
    tax: tuple[Tax, ...]
    tax_rounding: Literal["invoice", "line"]

    @model_validator(mode="after")
    def _nets_can_be_paid(self) -> Self:
        coin = smallest(self.currency)
        if self.round_net_to % coin and coin % self.round_net_to:
            found = plain(self.round_net_to)
            raise _wrong(f"expected a multiple of {plain(coin)} {self.currency}, found {found}", "round_net_to")
        return self


@dataclass(frozen=True, config=STRICT)
class AddOnOrder:
    """So many of one add-on."""

    code: str
    quantity: AtLeastOne


def _each_once(orders: tuple[AddOnOrder, ...]) -> tuple[AddOnOrder, ...]:
    seen: set[str] = set()
    for number, order in enumerate(orders):
        if order.code in seen:
            raise _wrong(f"expected each add-on once, found {shown(order.code)} again", number, "code")
        seen.add(order.code)
    return orders


AddOnOrders = Annotated[tuple[AddOnOrder, ...], AfterValidator(_each_once)]


@dataclass(frozen=True, config=STRICT)
class Job:
    """What is to be priced: the house, the order and the visit. `starts_at` keeps the offset of the place."""

    package: str
    area: Figure
    area_unit: AreaUnit
    levels: AtLeastOne
    add_ons: AddOnOrders
    distance_km: Figure
    hours_notice: Figure
    starts_at: OffsetTime
    shoots_last_90_days: Count


def unlisted(path: str, known: Collection[str], found: str, row: int | None = None) -> NotOnCard:
    """The refusal of a package or an add-on that is not among the card's."""
    expected = f"expected one of {', '.join(known)}" if known else "expected one that the card has, it has none"
    return NotOnCard(path, f"{expected}, found {shown(found)}", row)


def too_far(card: Card, distance_km: Decimal, row: int | None = None) -> NotOnCard:
    """The refusal of a distance that no travel row reaches."""
    furthest = max(travel.up_to_km for travel in card.travel if travel.up_to_km is not None)
    expected = f"expected {plain(furthest)} or less, the end of the card's travel rows, found {plain(distance_km)}"
    return NotOnCard("distance_km", expected, row)


_CARD: TypeAdapter[Card] = TypeAdapter(Card)
_JOB: TypeAdapter[Job] = TypeAdapter(Job)


def on_weekend(starts_at: datetime) -> bool:
    """Whether it is Saturday or Sunday in the offset of the time itself."""
    return starts_at.weekday() >= SATURDAY


def read_card(source: str) -> Card:
    """The rate card in a JSON file, `-` for standard input; raises `BadInput`."""
    return read_json(source, Card)


def read_job(source: str) -> Job:
    """The job in a JSON file, `-` for standard input; raises `BadInput`."""
    return read_json(source, Job)


def card_from_json(data: Mapping[str, Any], source: str = "rate card") -> Card:
    """A card from the object that `card_to_json` gives; raises `BadInput`, naming `source`."""
    return parse_json(json.dumps(data), Card, source)


def job_from_json(data: Mapping[str, Any], source: str = "job") -> Job:
    """A job from the object that `job_to_json` gives; raises `BadInput`, naming `source`."""
    return parse_json(json.dumps(data), Job, source)


def card_to_json(card: Card) -> dict[str, Any]:
    """The card as the object its file holds."""
    return _as_json(_CARD, card)


def job_to_json(job: Job) -> dict[str, Any]:
    """The job as the object its file holds."""
    return _as_json(_JOB, job)


def _as_json(adapter: TypeAdapter[Any], value: object) -> dict[str, Any]:
    # Keys that may be left out default to None; a null that means "without end" has no default and stays.
    return dict(adapter.dump_python(value, mode="json", by_alias=True, exclude_defaults=True))
