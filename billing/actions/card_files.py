"""Rate cards as files: the CARD of the price command becomes rows, and rows become the file again."""

from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from billing.models import (
    AddOnPricing,
    CardAddOn,
    CardAreaBand,
    CardPackage,
    CardShortNotice,
    CardTravel,
    CardVolume,
    RateCard,
    TaxRate,
)
from billing.rules import card as rules
from billing.rules.card import Card, card_to_json
from jobs.models import AddOn, Client, Package
from office.actions.actors import Actor
from office.actions.events import record
from office.errors import Refused
from office.rules.reading import BadInput, parse_json

from .rate_cards import card_of


def card_file(rate_card: RateCard) -> dict[str, Any]:
    """The card as the file that the price command reads."""
    return card_to_json(card_of(rate_card, rate_card.starts_on))


@transaction.atomic
def import_card(*, text: str, source: str, by: Actor, now: datetime, client: Client | None = None) -> RateCard:
    """A new card from a file, under the next number; refused by key path where it does not fit."""
    try:
        card = parse_json(text, Card, source)
    except BadInput as refusal:
        raise Refused(str(refusal), field="card") from None
    rate_card = _stored(card, client)
    _store_packages(rate_card, card)
    _store_add_ons(rate_card, card)
    _store_surcharges(rate_card, card)
    _store_taxes(card)
    text = _("brought in %s from a file") % rate_card
    record(by=by, now=now, verb="card-imported", text=text, subject=rate_card)
    return rate_card


def next_card_number() -> int:
    """One more than the highest; the unique column settles a race."""
    return (RateCard.objects.aggregate(last=Max("number"))["last"] or 0) + 1


def _stored(card: Card, client: Client | None) -> RateCard:
    return RateCard.objects.create(
        number=next_card_number(),
        client=client,
        starts_on=card.starts_on,
        currency=card.currency,
        area_unit=card.area_unit,
        weekend_percent=card.weekend_percent,
        minimum=card.minimum,
        round_net_to=card.round_net_to,
        tax_rounding=card.tax_rounding,
    )


def _store_packages(rate_card: RateCard, card: Card) -> None:
    packages = {package.code: package for package in Package.objects.all()}
    for code, priced in card.packages.items():
        if code not in packages:
            raise Refused(_("packages.%s: expected the code of a package of this office.") % code, field="card")
        row = CardPackage.objects.create(
            card=rate_card, package=packages[code], base=priced.base, includes_area=priced.includes_area,
            includes_levels=priced.includes_levels, per_extra_level=priced.per_extra_level,
        )  # fmt: skip
        CardAreaBand.objects.bulk_create(
            CardAreaBand(card_package=row, up_to=band.up_to, per_unit=band.per_unit) for band in priced.area_bands
        )


def _store_add_ons(rate_card: RateCard, card: Card) -> None:
    add_ons = {add_on.code: add_on for add_on in AddOn.objects.all()}
    for code, priced in card.add_ons.items():
        if code not in add_ons:
            raise Refused(_("add_ons.%s: expected the code of an add-on of this office.") % code, field="card")
        pricing, amount = _pricing(priced)
        CardAddOn.objects.create(
            card=rate_card, add_on=add_ons[code], pricing=pricing, amount=amount, at_least=priced.at_least
        )


def _pricing(priced: rules.AddOn) -> tuple[AddOnPricing, Any]:
    if priced.fixed is not None:
        return AddOnPricing.FIXED, priced.fixed
    if priced.percent is not None:
        return AddOnPricing.PERCENT, priced.percent
    return AddOnPricing.PER_UNIT_AREA, priced.per_unit_area


def _store_surcharges(rate_card: RateCard, card: Card) -> None:
    CardTravel.objects.bulk_create(
        CardTravel(
            card=rate_card, up_to_km=row.up_to_km, fee=row.fee, per_km_beyond=row.per_km_beyond, beyond_km=row.beyond_km
        )
        for row in card.travel
    )
    CardShortNotice.objects.bulk_create(
        CardShortNotice(card=rate_card, under_hours=row.under_hours, percent=row.percent) for row in card.short_notice
    )
    CardVolume.objects.bulk_create(
        CardVolume(card=rate_card, from_shoots=row.from_shoots, percent_off=row.percent_off)
        for row in card.client_volume
    )


def _store_taxes(card: Card) -> None:
    """Taxes belong to the office and its dates, so a rate that holds already is not written again."""
    for tax in card.tax:
        if not TaxRate.objects.on(card.starts_on).filter(name=tax.name, percent=tax.percent).exists():
            TaxRate.objects.create(name=tax.name, percent=tax.percent, starts_on=card.starts_on)
