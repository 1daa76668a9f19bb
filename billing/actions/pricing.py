"""Pricing a shoot: the card in force, the facts of the job, and lines that name things as people do."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal

from django.utils.translation import gettext as _

from billing.models import RateCard
from billing.rules.bill import Bill, Rate, bill, deposit_net
from billing.rules.card import Card, Job, NotOnCard
from billing.rules.pricing import Line, Priced, price
from billing.rules.tax import TaxRounding
from jobs.models import Client, Shoot
from office.errors import Refused
from office.models import Office

from .job_facts import OrderedJob, cautions_of, ordered_job
from .rate_cards import card_of

OWN_WORDS = frozenset({"area", "levels", "short_notice", "weekend", "minimum", "volume", "travel", "rounding"})
"""Line codes that the pricing rules give by themselves, so no add-on's name may take their place."""


@dataclass(frozen=True)
class PricedShoot:
    """What a shoot costs under a card now; `lines` sum to `priced.net`."""

    rate_card: RateCard
    job: Job
    priced: Priced
    lines: tuple[Line, ...]
    cautions: list[str]
    deposit_percent: Decimal
    deposit: Bill


def local_day(now: datetime) -> date:
    """The date in the office's zone, by which cards, taxes and papers are dated."""
    return Office.the().day_of(now)


def card_in_force(client: Client | None, now: datetime) -> RateCard:
    """The card for an order of this client today; their own goes before the one for everybody."""
    found = RateCard.objects.in_force(local_day(now), client)
    if found is None:
        raise Refused(_("No rate card is in force yet: make one that begins today or earlier."))
    return found


def price_shoot(*, shoot: Shoot, rate_card: RateCard, now: datetime) -> PricedShoot:
    """The shoot under the card; refused where the card has no price for what is ordered."""
    card = card_of(RateCard.objects.with_rows().get(pk=rate_card.pk), local_day(now))
    facts = ordered_job(shoot=shoot, unit=card.area_unit, now=now)
    priced = priced_or_refused(card, facts.job)
    percent = Office.the().deposit_percent
    return PricedShoot(
        rate_card=rate_card,
        job=facts.job,
        priced=priced,
        lines=_lines(shoot, card, facts, priced),
        cautions=_cautions(card, facts),
        deposit_percent=percent,
        deposit=deposit_of(priced, percent, TaxRounding(card.tax_rounding)),
    )


def priced_or_refused(card: Card, job: Job) -> Priced:
    """The job under the card; where it has no price for something, refused in a sentence."""
    try:
        return price(card, job)
    except NotOnCard as refusal:
        facts = {"number": card.number, "path": refusal.path, "expected": refusal.expected}
        raise Refused(_("Rate card %(number)d has no price for this. %(path)s: %(expected)s") % facts) from None


def deposit_of(priced: Priced, percent: Decimal, rounding: TaxRounding) -> Bill:
    """What is asked for in advance, with its taxes."""
    rates = [Rate(tax.name, tax.percent) for tax in priced.taxes]
    return bill([deposit_net(priced.net, percent, priced.currency)], rates, priced.currency, rounding=rounding)


def named(lines: Iterable[Line], package: str, add_ons: Mapping[str, str]) -> tuple[Line, ...]:
    """The lines with the office's own name of the package, and of add-ons by code, in place of their codes."""
    names = {code: name for code, name in add_ons.items() if code not in OWN_WORDS} | {"package": package}
    return tuple(replace(line, text=names.get(line.code, line.text)) for line in lines)


def _lines(shoot: Shoot, card: Card, facts: OrderedJob, priced: Priced) -> tuple[Line, ...]:
    extras = {extra.add_on.code: extra.add_on.name for extra in shoot.add_ons.select_related("add_on")}
    lines = named(priced.lines, shoot.package.name, extras)
    return lines if facts.has_distance or not card.travel else _saying_distance_is_assumed(lines)


def _saying_distance_is_assumed(lines: tuple[Line, ...]) -> tuple[Line, ...]:
    """The travel line with that said in its reason; a line of zero where travel cost nothing."""
    assumed = _("Distance not known yet, reckoned as 0 km")
    if any(line.code == "travel" for line in lines):
        return tuple(replace(line, why=f"{assumed}: {line.why}") if line.code == "travel" else line for line in lines)
    zero = Decimal(0)
    travel = Line("travel", _("Travel"), Decimal(1), zero, zero, assumed)
    before = [line for line in lines if line.code != "rounding"]
    return (*before, travel, *lines[len(before) :])


def _cautions(card: Card, facts: OrderedJob) -> list[str]:
    time_matters = bool(card.short_notice or card.weekend_percent)
    return cautions_of(facts, time_matters=time_matters, distance_matters=bool(card.travel))
