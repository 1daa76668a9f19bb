"""True-ups: the price difference when the measured area is not the stated one. The owner accepts or waives it."""

from dataclasses import replace
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from billing.models import InvoiceKind, InvoiceState, Quote, QuoteState, RateCard, TrueUp, TrueUpState
from billing.rules.card import Job, job_from_json
from jobs.models import Shoot
from office.actions.actors import Actor
from office.actions.events import record
from office.actions.states import locked, move
from office.errors import Refused
from office.models import Office
from office.rules.money_format import format_area
from office.rules.units import AreaUnit, converted_area

from .invoice_lines import append_lines, left_to_invoice, reckon
from .job_facts import area_in
from .pricing import local_day, priced_or_refused
from .rate_cards import card_of


@transaction.atomic
def propose_true_up(*, shoot: Shoot, measured_area_m2: Decimal, by: Actor, now: datetime) -> TrueUp | None:
    """What the measured area changes under the same card; None where it is within tolerance or changes nothing.

    A second measurement takes the place of a proposal that nobody has answered.
    """
    locked(shoot)
    quote = shoot.quotes.filter(state=QuoteState.ACCEPTED).first()
    if quote is None or _is_answered(quote):
        return None
    TrueUp.objects.filter(quote=quote, state=TrueUpState.PROPOSED).delete()
    stated = _stated_area_m2(quote)
    if not _calls_for_true_up(stated, measured_area_m2):
        return None
    difference = _price_difference(quote, measured_area_m2)
    if not difference:
        return None
    true_up = TrueUp.objects.create(
        quote=quote, stated_area_m2=stated, measured_area_m2=measured_area_m2, difference=difference,
        why=_why(quote, stated, measured_area_m2), proposed_at=now,
    )  # fmt: skip
    text = _("proposed a true-up: %s") % true_up.why
    record(by=by, now=now, verb="true-up-proposed", text=text, subject=true_up, job=shoot.number)
    return true_up


@transaction.atomic
def accept_true_up(*, true_up: TrueUp, by: Actor, now: datetime) -> TrueUp:
    """Bill the difference: on the draft where there is one, else on the next invoice of the job."""
    true_up = _held(true_up)
    _refuse_refund(true_up)
    move(true_up, TrueUpState.ACCEPTED, answered_at=now)
    text = _("accepted the true-up")
    record(by=by, now=now, verb="true-up-accepted", text=text, subject=true_up, job=true_up.quote.shoot.number)
    _put_on_draft(true_up.quote, now)
    return true_up


@transaction.atomic
def waive_true_up(*, true_up: TrueUp, by: Actor, now: datetime) -> TrueUp:
    """Let the quoted price stand."""
    true_up = move(_held(true_up), TrueUpState.WAIVED, answered_at=now)
    text = _("waived the true-up")
    record(by=by, now=now, verb="true-up-waived", text=text, subject=true_up, job=true_up.quote.shoot.number)
    return true_up


def _held(true_up: TrueUp) -> TrueUp:
    locked(true_up.quote.shoot)
    return locked(true_up)


def _refuse_refund(true_up: TrueUp) -> None:
    """An invoice is never below zero, so what is invoiced already cannot come down by one."""
    invoiced = true_up.quote.invoices.filter(kind=InvoiceKind.WORK, number__isnull=False)
    if true_up.difference < 0 and invoiced.exists():
        raise Refused(_("The work is invoiced already. Waive this, and settle the difference with the client by hand."))


def _is_answered(quote: Quote) -> bool:
    return TrueUp.objects.filter(quote=quote).exclude(state=TrueUpState.PROPOSED).exists()


def _ordered(quote: Quote) -> Job:
    return job_from_json(quote.ordered, quote.number)


def _stated_area_m2(quote: Quote) -> Decimal:
    job = _ordered(quote)
    return round(converted_area(job.area, job.area_unit, AreaUnit.M2), 4)


def _calls_for_true_up(stated: Decimal, measured: Decimal) -> bool:
    return abs(measured - stated) * 100 > stated * Office.the().area_tolerance_percent


def _price_difference(quote: Quote, measured: Decimal) -> Decimal:
    """Net, under the card of the quote; whole job against whole job, so that minimum and discount take their part."""
    card = card_of(RateCard.objects.with_rows().get(pk=quote.card_id), local_day(quote.offered_at))
    job = _ordered(quote)
    return priced_or_refused(card, replace(job, area=area_in(measured, job.area_unit))).net - quote.net


def _why(quote: Quote, stated: Decimal, measured: Decimal) -> str:
    unit, locale = AreaUnit(_ordered(quote).area_unit), Office.the().locale
    facts = {
        "measured": format_area(area_in(measured, unit), unit, locale),
        "stated": format_area(area_in(stated, unit), unit, locale),
        "card": quote.card.number,
    }
    return _("Measured %(measured)s, stated %(stated)s; the same rate card %(card)d") % facts


def _put_on_draft(quote: Quote, now: datetime) -> None:
    draft = quote.invoices.filter(state=InvoiceState.DRAFT).first()
    if draft:
        append_lines(draft, left_to_invoice(Quote.objects.get(pk=quote.pk)))
        reckon(draft, local_day(now))
