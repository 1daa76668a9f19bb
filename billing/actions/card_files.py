"""Rate cards as files: the CARD of the price command becomes rows, and rows become the file again."""

from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from typing import Any, TypeVar

from django.core.exceptions import ValidationError
from django.db import IntegrityError, models, transaction
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
from billing.rules.card import Card
from jobs.models import AddOn, Client, Package
from office.actions.actors import Actor
from office.actions.events import record
from office.errors import Refused
from office.rules.money_format import shortest
from office.rules.reading import BadInput, parse_json

from .public_offer import forget_public_offer
from .taxes import refuse_overlap

M = TypeVar("M", bound=models.Model)
T = TypeVar("T")


@transaction.atomic
def import_card(*, text: str, source: str, by: Actor, now: datetime, client: Client | None = None) -> RateCard:
    """A new card from a file, under the next number; refused by key path where it does not fit."""
    try:
        card = parse_json(text, Card, source)
    except BadInput as refusal:
        raise Refused(str(refusal), field="card") from None
    header = RateCard(number=next_card_number(), client=client, **header_of(card))
    rate_card = numbered(_checked(header, "", {"starts_on": "from"}))
    store_rows(rate_card, card)
    _store_taxes(card)
    said = _("brought in %s from a file") % rate_card
    record(by=by, now=now, verb="card-imported", text=said, subject=rate_card)
    forget_public_offer()
    return rate_card


def next_card_number() -> int:
    """One more than the highest; the unique column settles a race."""
    return (RateCard.objects.aggregate(last=Max("number"))["last"] or 0) + 1


def numbered(rate_card: RateCard) -> RateCard:
    """Stored under the next number, which somebody else may take at the same moment."""
    rate_card.number = next_card_number()
    try:
        with transaction.atomic():
            rate_card.save(force_insert=True)
    except IntegrityError:
        raise Refused(_("Somebody else has just made a card. Send it again.")) from None
    return rate_card


def header_of(card: Card) -> dict[str, Any]:
    """The fields of the card's own row."""
    names = ("starts_on", "currency", "area_unit", "weekend_percent", "minimum", "round_net_to", "tax_rounding")
    return {name: getattr(card, name) for name in names}


def store_rows(rate_card: RateCard, card: Card) -> None:
    """Write every price of the card anew; refused by key path where the office has no such package or add-on."""
    for rows in (rate_card.packages, rate_card.add_ons, rate_card.travel, rate_card.short_notice, rate_card.volume):
        rows.all().delete()
    _store_packages(rate_card, card)
    _store_add_ons(rate_card, card)
    _store_all("travel", card.travel, lambda at, row: CardTravel(card=rate_card, position=at, **vars(row)))
    _store_all(
        "short_notice", card.short_notice, lambda at, row: CardShortNotice(card=rate_card, position=at, **vars(row))
    )
    _store_all(
        "client_volume", card.client_volume, lambda at, row: CardVolume(card=rate_card, position=at, **vars(row))
    )


def _store_packages(rate_card: RateCard, card: Card) -> None:
    packages = {package.code: package for package in Package.objects.all()}
    for code, priced in card.packages.items():
        path = f"packages.{code}"
        fields = {name: value for name, value in vars(priced).items() if name != "area_bands"}
        row = CardPackage(card=rate_card, package=_known(packages, code, path), **fields)
        _checked(row, path).save(force_insert=True)
        _store_all(f"{path}.area_bands", priced.area_bands, lambda _at, band, row=row: _band(row, band))


def _band(row: CardPackage, band: rules.AreaBand) -> CardAreaBand:
    return CardAreaBand(card_package=row, up_to=band.up_to, per_unit=band.per_unit)


def _store_add_ons(rate_card: RateCard, card: Card) -> None:
    add_ons = {add_on.code: add_on for add_on in AddOn.objects.all()}
    for code, priced in card.add_ons.items():
        path, pricing = f"add_ons.{code}", _pricing(priced)
        row = CardAddOn(
            card=rate_card, add_on=_known(add_ons, code, path), pricing=pricing, amount=getattr(priced, pricing),
            at_least=priced.at_least,
        )  # fmt: skip
        _checked(row, path, {"amount": pricing}).save(force_insert=True)


def _pricing(priced: rules.AddOn) -> AddOnPricing:
    return next(way for way in AddOnPricing if getattr(priced, way) is not None)


def _store_all(path: str, rows: Iterable[Any], made: Callable[[int, Any], models.Model]) -> None:
    for at, row in enumerate(rows):
        _checked(made(at, row), f"{path}[{at}]").save(force_insert=True)


def _known(rows: Mapping[str, T], code: str, path: str) -> T:
    if code not in rows:
        facts = {"path": path, "known": ", ".join(rows) or _("none yet")}
        raise Refused(_("%(path)s: expected a code that this office has: %(known)s") % facts, field="card")
    return rows[code]


def _checked(row: M, path: str, keys: Mapping[str, str] | None = None) -> M:
    """The row, if its columns can hold what it has; `keys` are the file's names where they differ."""
    relations = [field.name for field in row._meta.fields if field.is_relation]
    try:
        row.clean_fields(exclude=relations)
    except ValidationError as error:
        name, (said, *_more) = next(iter(error.message_dict.items()))
        key = (keys or {}).get(name, name)
        raise Refused(f"{f'{path}.{key}'.lstrip('.')}: {said}", field="card") from None
    return row


def _store_taxes(card: Card) -> None:
    """Taxes are the office's own, with their days: one that holds already is not written again, nor set against."""
    for at, tax in enumerate(card.tax):
        path, held = f"tax[{at}]", TaxRate.objects.on(card.starts_on).filter(name=tax.name).first()
        if tax.name in {earlier.name for earlier in card.tax[:at]}:
            raise Refused(_("%s.name: expected each tax once") % path, field="card")
        if held is None:
            _store_tax(path, TaxRate(name=tax.name, percent=tax.percent, starts_on=card.starts_on))
        elif held.percent != tax.percent:
            facts = {"path": path, "own": shortest(held.percent), "name": tax.name}
            raise Refused(
                _("%(path)s.percent: expected %(own)s, which is %(name)s of this office on that day") % facts,
                field="card",
            )


def _store_tax(path: str, rate: TaxRate) -> None:
    _checked(rate, path)
    try:
        refuse_overlap(rate)
    except Refused as refusal:
        raise Refused(f"{path}: {refusal.message}", field="card") from None
    rate.save(force_insert=True)
