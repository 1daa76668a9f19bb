"""Quotes: offered, then accepted, declined, lapsed or withdrawn.

The crew reads a job's history too, so the log's sentences name no amounts; those stand in the details.

Whoever changes a quote locks its shoot first and the quote after it, always in this order.
"""

from datetime import datetime, timedelta

from django.db import transaction
from django.db.models.functions import Coalesce
from django.utils.translation import gettext as _

from billing.models import Quote, QuoteLine, QuoteState, QuoteTax, RateCard
from billing.rules.card import job_to_json
from jobs.models import Shoot, ShootState
from office.actions.actors import PROGRAM, Actor
from office.actions.events import record
from office.actions.notices import withdraw_notices
from office.actions.numbering import next_number
from office.actions.states import locked, move
from office.errors import Refused, WrongState
from office.models import Office

from .holds import go_ahead, hold_as_usual, hold_for_offer
from .invoices import bill_deposit, drop_drafts
from .mails import tell_client_of_quote, tell_client_quote_has_lapsed, tell_client_what_follows, tell_office_of_refusal
from .parties import buyer_of, seller_of
from .pricing import PricedShoot, card_in_force, local_day, price_shoot

QUOTABLE = {ShootState.PENCILLED, ShootState.CONFIRMED, ShootState.CAPTURED}


@transaction.atomic
def offer_quote(*, shoot: Shoot, by: Actor, now: datetime) -> Quote:
    """Price the shoot under the card in force, freeze that card, and mail the offer with its link."""
    shoot = locked(shoot)
    _check_quotable(shoot)
    priced = price_shoot(shoot=shoot, rate_card=_frozen_card(shoot, now), now=now)
    quote = _written(shoot, priced, now)
    hold_for_offer(shoot, quote.valid_until, now)
    text = _("offered %s") % quote.number
    record(by=by, now=now, verb="quote-offered", text=text, subject=quote, job=shoot.number, total=str(quote.total))
    tell_client_of_quote(quote=quote, by=by, now=now)
    return quote


@transaction.atomic
def accept_quote(
    *, quote: Quote, by: Actor, now: datetime, name: str = "", note: str = "", from_network: str = ""
) -> Quote:
    """The client's yes, by link or told to the office; a second one is refused and changes nothing."""
    shoot, quote = _held(quote)
    _check_open(quote, shoot, now)
    _answer(quote, QuoteState.ACCEPTED, name or by.name, note, from_network, now)
    text = _("accepted %s") % quote.number
    record(by=by, now=now, verb="quote-accepted", text=text, subject=quote, job=shoot.number, name=quote.answered_by)
    go_ahead(shoot, by, now)
    deposit = bill_deposit(quote=quote, by=by, now=now) if quote.deposit else None
    tell_client_what_follows(quote=quote, deposit=deposit, now=now)
    return quote


@transaction.atomic
def decline_quote(
    *, quote: Quote, by: Actor, now: datetime, name: str = "", note: str = "", from_network: str = ""
) -> Quote:
    """The client's no."""
    shoot, quote = _held(quote)
    _check_open(quote, shoot, now)
    _answer(quote, QuoteState.DECLINED, name or by.name, note, from_network, now)
    hold_as_usual(shoot, now)
    text = _("declined %s") % quote.number + (f": {note}" if note else "")
    record(by=by, now=now, verb="quote-declined", text=text, subject=quote, job=shoot.number, name=quote.answered_by)
    tell_office_of_refusal(quote=quote, now=now)
    return quote


@transaction.atomic
def withdraw_quote(*, quote: Quote, by: Actor, now: datetime) -> Quote:
    """Take an offer back, or give up an accepted one of which nothing is invoiced yet."""
    shoot, quote = _held(quote)
    if quote.state == QuoteState.ACCEPTED:
        drop_drafts(quote=quote, by=by, now=now)
    move(quote, QuoteState.WITHDRAWN)
    hold_as_usual(shoot, now)
    withdraw_notices(key_prefix=f"quote:{quote.pk}:")
    record(
        by=by, now=now, verb="quote-withdrawn", text=_("withdrew %s") % quote.number, subject=quote, job=shoot.number
    )
    return quote


def lapse_quotes(now: datetime) -> int:
    """Let offers end that have run out, each in its own transaction, so that one failure stops no other."""
    quotes = list(Quote.objects.past_their_end(now))
    for quote in quotes:
        _lapse(quote, now)
    return len(quotes)


@transaction.atomic
def _lapse(quote: Quote, now: datetime) -> None:
    shoot, quote = _held(quote)
    if not Quote.objects.past_their_end(now).filter(pk=quote.pk).exists():
        return
    ran_out = quote.valid_until <= now and shoot.state in QUOTABLE
    move(quote, QuoteState.LAPSED)
    text = (_("%s ran out") if ran_out else _("%s ended with the visit it was for")) % quote.number
    record(by=PROGRAM, now=now, verb="quote-lapsed", text=text, subject=quote, job=shoot.number)
    if ran_out:
        hold_as_usual(shoot, now)
        tell_client_quote_has_lapsed(quote=quote, now=now)


def _held(quote: Quote) -> tuple[Shoot, Quote]:
    shoot = locked(quote.shoot)
    return shoot, locked(quote)


def _check_quotable(shoot: Shoot) -> None:
    if shoot.state not in QUOTABLE:
        raise WrongState(_("A %s shoot cannot be quoted.") % shoot.get_state_display().lower())
    standing = shoot.quotes.standing().first()
    if standing:
        facts = {"number": standing.number, "state": standing.get_state_display().lower()}
        raise Refused(_("%(number)s is %(state)s; withdraw it before you offer another.") % facts)


def _check_open(quote: Quote, shoot: Shoot, now: datetime) -> None:
    if quote.state != QuoteState.OFFERED:
        facts = {"number": quote.number, "state": quote.get_state_display().lower()}
        raise WrongState(_("%(number)s is %(state)s already; nothing was changed.") % facts)
    if shoot.state not in QUOTABLE:
        raise WrongState(_("The visit that this quote is for will not take place."))
    if quote.valid_until <= now:
        raise WrongState(_("This quote has run out. Ask us for a new one."))


def _frozen_card(shoot: Shoot, now: datetime) -> RateCard:
    """The card in force, frozen before its rows are read, so that nobody changes it in between."""
    card = card_in_force(shoot.client, now)
    RateCard.objects.filter(pk=card.pk).update(frozen_at=Coalesce("frozen_at", now))
    return card


def _written(shoot: Shoot, shown: PricedShoot, now: datetime) -> Quote:
    office, priced = Office.the(), shown.priced
    year = local_day(now).year
    quote = Quote.objects.create(
        number=f"Q-{year}-{next_number('quote', year):04d}",
        shoot=shoot,
        client=shoot.client,
        card=shown.rate_card,
        offered_at=now,
        valid_until=_end_of_offer(shoot, office, now),
        ordered=job_to_json(shown.job),
        currency=priced.currency,
        net=priced.net,
        total=priced.total,
        tax_rounding=shown.rate_card.tax_rounding,
        deposit_percent=shown.deposit_percent,
        deposit=shown.deposit.total,
        seller=seller_of(office),
        buyer=buyer_of(shoot.client, office),
        terms=office.quote_terms,
        cautions=shown.cautions,
    )
    QuoteLine.objects.bulk_create(
        QuoteLine(quote=quote, position=position, **vars(line)) for position, line in enumerate(shown.lines, 1)
    )
    QuoteTax.objects.bulk_create(QuoteTax(quote=quote, **vars(tax)) for tax in priced.taxes)
    return quote


def _end_of_offer(shoot: Shoot, office: Office, now: datetime) -> datetime:
    """So many days from now, but not later than the visit itself begins."""
    end = now + timedelta(days=office.quote_days)
    return min(end, shoot.starts_at) if shoot.starts_at and shoot.starts_at > now else end


def _answer(quote: Quote, state: QuoteState, name: str, note: str, from_network: str, now: datetime) -> None:
    move(
        quote, state, answered_at=now, answered_by=name[:160], answer_note=note[:300], answered_from=from_network[:50]
    )  # fmt: skip
