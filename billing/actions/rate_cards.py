"""Rate cards: from their rows to the CARD file of the terminal contracts, and to the card that the rules read."""

from datetime import date
from decimal import Decimal
from typing import Any

from billing.models import AddOnPricing, CardAddOn, CardPackage, CardTravel, RateCard, TaxRate
from billing.rules.card import Card, card_from_json
from office.rules.money import minor_units
from office.rules.money_format import plain, shortest


def card_of(rate_card: RateCard, on_day: date) -> Card:
    """The card as the pricing rules read it, with the taxes in force that day; load it `with_rows`."""
    return card_from_json(card_json(rate_card, on_day), str(rate_card))


def card_json(rate_card: RateCard, on_day: date) -> dict[str, Any]:
    """The CARD file's object, with the taxes in force that day."""
    money = _Money(rate_card.currency)
    return {
        "number": rate_card.number,
        "from": rate_card.starts_on.isoformat(),
        "currency": rate_card.currency,
        "area_unit": rate_card.area_unit,
        "packages": {row.package.code: _package(row, money) for row in rate_card.packages.all()},
        "add_ons": {row.add_on.code: _add_on(row, money) for row in rate_card.add_ons.all()},
        "travel": [_travel(row, money) for row in rate_card.travel.all()],
        "short_notice": [
            {"under_hours": shortest(row.under_hours), "percent": shortest(row.percent)}
            for row in rate_card.short_notice.all()
        ],
        "weekend_percent": shortest(rate_card.weekend_percent),
        "minimum": money(rate_card.minimum),
        "client_volume": [
            {"from_shoots": row.from_shoots, "percent_off": shortest(row.percent_off)}
            for row in rate_card.volume.all()
        ],
        "round_net_to": money(rate_card.round_net_to),
        "tax": [{"name": rate.name, "percent": shortest(rate.percent)} for rate in TaxRate.objects.on(on_day)],
        "tax_rounding": rate_card.tax_rounding,
    }  # fmt: skip


def _package(row: CardPackage, money: "_Money") -> dict[str, Any]:
    bands = [{"up_to": _or_null(band.up_to), "per_unit": money(band.per_unit)} for band in row.bands.all()]
    return {
        "base": money(row.base),
        "includes_area": shortest(row.includes_area),
        "includes_levels": row.includes_levels,
        "area_bands": bands,
        "per_extra_level": money(row.per_extra_level),
    }


def _add_on(row: CardAddOn, money: "_Money") -> dict[str, str]:
    if row.pricing == AddOnPricing.PERCENT:
        return {"percent": shortest(row.amount)}
    least = {} if row.at_least is None else {"at_least": money(row.at_least)}
    return {row.pricing: money(row.amount)} | least


def _travel(row: CardTravel, money: "_Money") -> dict[str, str | None]:
    fee = {"up_to_km": _or_null(row.up_to_km), "fee": money(row.fee)}
    if row.per_km_beyond is None or row.beyond_km is None:
        return fee
    return fee | {"per_km_beyond": money(row.per_km_beyond), "beyond_km": shortest(row.beyond_km)}


def _or_null(value: Decimal | None) -> str | None:
    return None if value is None else shortest(value)


class _Money:
    """A stored amount with the places of its currency, and more only where it has them: 180.00, 0.0605."""

    def __init__(self, currency: str) -> None:
        self._places = minor_units(currency)

    def __call__(self, value: Decimal) -> str:
        short = Decimal(shortest(value))
        if -int(short.as_tuple().exponent) >= self._places:
            return plain(short)
        return plain(short.quantize(Decimal(1).scaleb(-self._places)))
