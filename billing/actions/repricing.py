"""Past jobs under another card: what they brought, what they would bring, and for whom that changes."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

from django.utils.translation import gettext as _

from billing.models import Quote, QuoteState, RateCard
from billing.rules.card import Card, Job, job_from_json
from billing.rules.revenue import Earned, Revenue, band_of, by_group, in_all, more_and_less
from office.models import Office
from office.rules.money import minor_units
from office.rules.units import AreaUnit, converted_area

from .rate_cards import card_of

MOST_CLIENTS = 10


@dataclass(frozen=True)
class PastJob:
    """An accepted quote as it was priced: net before tax."""

    job: Job
    net: Decimal
    client: int
    client_name: str


@dataclass(frozen=True)
class Repricing:
    """Groups are package codes; `ends` of area bands in the card's unit, None beyond; levels; clients by key.

    `left_out` counts the jobs that the card cannot price, by reason.
    """

    card: Card
    everything: Revenue
    packages: tuple[Revenue, ...]
    areas: tuple[Revenue, ...]
    ends: tuple[Decimal, ...]
    levels: tuple[Revenue, ...]
    clients: tuple[Revenue, ...]
    names: dict[int, str]
    left_out: dict[str, int] = field(default_factory=dict)

    @property
    def more(self) -> list[Revenue]:
        return more_and_less(self.clients, MOST_CLIENTS)[0]

    @property
    def less(self) -> list[Revenue]:
        return more_and_less(self.clients, MOST_CLIENTS)[1]


def reprice_past(*, rate_card: RateCard, first_day: date, last_day: date) -> Repricing:
    """Every quote accepted in the period, both days inclusive, under `rate_card`, which need not have begun."""
    card = card_of(RateCard.objects.with_rows().get(pk=rate_card.pk), rate_card.starts_on)
    past, other_currency = _past_jobs(card, first_day, last_day)
    reasons = [_why_not(card, row.job) for row in past]
    priced = [row for row, reason in zip(past, reasons, strict=True) if not reason]
    left_out = Counter(reason for reason in reasons if reason)
    if other_currency:
        left_out[_("quoted in another currency")] = other_currency
    return _compared(card, priced, dict(left_out))


def _past_jobs(card: Card, first_day: date, last_day: date) -> tuple[list[PastJob], int]:
    office = Office.the()
    accepted = Quote.objects.filter(
        state=QuoteState.ACCEPTED,
        answered_at__gte=office.midnight(first_day),
        answered_at__lt=office.midnight(last_day + timedelta(days=1)),
    )
    rows = accepted.filter(currency=card.currency).order_by("pk")
    columns = rows.values_list("ordered", "net", "client_id", "client__name", "client__company")
    past = [
        PastJob(job_from_json(ordered), net, client, f"{name}, {company}" if company else name)
        for ordered, net, client, name, company in columns.iterator()
    ]
    return past, accepted.exclude(currency=card.currency).count()


def _compared(card: Card, past: Sequence[PastJob], left_out: dict[str, int]) -> Repricing:
    earned = _earned(card, past)
    ends = sorted({band.up_to for package in card.packages.values() for band in package.area_bands if band.up_to})
    areas = by_group(earned, [band_of(_area(card, row.job), ends) for row in past])
    return Repricing(
        card=card,
        everything=in_all(earned),
        packages=by_group(earned, [row.job.package for row in past]),
        areas=tuple(sorted(areas, key=lambda row: (row.group is None, row.group))),
        ends=tuple(ends),
        levels=tuple(sorted(by_group(earned, [row.job.levels for row in past]), key=lambda row: row.group)),
        clients=by_group(earned, [row.client for row in past]),
        names={row.client: row.client_name for row in past},
        left_out=left_out,
    )


def _earned(card: Card, past: Sequence[PastJob]) -> list[Earned]:
    # numpy takes a while to load, and only this page needs it.
    from billing.rules.job_columns import columns_of
    from billing.rules.reprice import reprice

    if not past:
        return []
    nets = reprice(card, columns_of([row.job for row in past])).net.tolist()
    places = -minor_units(card.currency)
    return [Earned(row.net, Decimal(net).scaleb(places)) for row, net in zip(past, nets, strict=True)]


def _why_not(card: Card, job: Job) -> str:
    """Why the card has no price for a job, or nothing."""
    if job.package not in card.packages:
        return _("the card has no package %s") % job.package
    lacking = next((order.code for order in job.add_ons if order.code not in card.add_ons), None)
    if lacking:
        return _("the card has no add-on %s") % lacking
    reached = [row.up_to_km for row in card.travel]
    if reached and None not in reached and job.distance_km > max(reached):
        return _("farther than the card's travel rows reach")
    return ""


def _area(card: Card, job: Job) -> Decimal:
    return converted_area(job.area, AreaUnit(job.area_unit), card.area_unit)
