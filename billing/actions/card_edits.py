"""Making, changing and following rate cards. A card that a quote has used is never changed, only followed."""

from datetime import datetime, timedelta

from django.db import transaction
from django.utils.translation import gettext as _

from billing.models import RateCard
from billing.rules.card import Card
from jobs.models import Client
from office.actions.actors import Actor
from office.actions.events import record
from office.actions.states import locked
from office.errors import WrongState

from .card_files import header_of, numbered, store_rows
from .pricing import local_day
from .public_offer import forget_public_offer
from .rate_cards import card_of


@transaction.atomic
def make_card(*, card: Card, name: str, client: Client | None, by: Actor, now: datetime) -> RateCard:
    """A new card, under the next number."""
    rate_card = numbered(RateCard(name=name, client=client, **header_of(card)))
    store_rows(rate_card, card)
    record(by=by, now=now, verb="card-made", text=_("made %s") % rate_card, subject=rate_card)
    forget_public_offer()
    return rate_card


@transaction.atomic
def change_card(
    *, rate_card: RateCard, card: Card, name: str, client: Client | None, by: Actor, now: datetime
) -> RateCard:
    """Write a card anew that no quote has used yet."""
    rate_card = locked(rate_card)
    refuse_if_frozen(rate_card)
    fields = {"name": name, "client": client, **header_of(card)}
    for field, value in fields.items():
        setattr(rate_card, field, value)
    rate_card.save(update_fields=list(fields))
    store_rows(rate_card, card)
    record(by=by, now=now, verb="card-changed", text=_("changed %s") % rate_card, subject=rate_card)
    forget_public_offer()
    return rate_card


@transaction.atomic
def follow_card(*, rate_card: RateCard, by: Actor, now: datetime) -> RateCard:
    """The next card: a copy under a new number, from tomorrow or the day after the old one begins."""
    old = RateCard.objects.with_rows().get(pk=rate_card.pk)
    starts_on = max(local_day(now), old.starts_on) + timedelta(days=1)
    card = card_of(old, old.starts_on)
    following = numbered(RateCard(name=old.name, client=old.client, **header_of(card) | {"starts_on": starts_on}))
    store_rows(following, card)
    text = _("made %(next)s to follow %(card)s") % {"next": following, "card": old}
    record(by=by, now=now, verb="card-followed", text=text, subject=following)
    return following


def refuse_if_frozen(rate_card: RateCard) -> None:
    if rate_card.frozen_at:
        raise WrongState(_("%s has been quoted, so it no longer changes. Make the next card.") % rate_card)
