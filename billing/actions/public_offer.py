"""What the order page offers: the card for everyone in force today, with the names of packages and add-ons.

A price is shown at every keystroke, so this is kept in the cache; whoever changes a card or a tax forgets it.
"""

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.core.cache import cache
from django.db import transaction

from billing.models import RateCard
from billing.rules.card import Card, card_from_json
from jobs.models import AddOn, Package

from .rate_cards import card_json

KEY = "public-offer"
KEPT_SECONDS = 600


@dataclass(frozen=True)
class PublicOffer:
    """`packages` are (code, name, description), `add_ons` (code, name); only what the card prices."""

    card: Card
    packages: tuple[tuple[str, str, str], ...]
    add_ons: tuple[tuple[str, str], ...]

    def package_name(self, code: str) -> str:
        return next(name for known, name, _description in self.packages if known == code)


def public_offer(today: date) -> PublicOffer | None:
    """The offer of the office's local date; None while no card for everyone is in force."""
    kept = cache.get(KEY)
    if kept is None or kept["day"] != today:
        kept = {"day": today, **_read(today)}
        cache.set(KEY, kept, KEPT_SECONDS)
    if kept["card"] is None:
        return None
    return PublicOffer(card_from_json(kept["card"]), kept["packages"], kept["add_ons"])


def forget_public_offer() -> None:
    """Once this transaction is through, the next price is read anew."""
    transaction.on_commit(lambda: cache.delete(KEY))


def _read(today: date) -> dict[str, Any]:
    found = RateCard.objects.with_rows().in_force(today)
    if found is None:
        return {"card": None, "packages": (), "add_ons": ()}
    card = card_json(found, today)
    packages = Package.objects.filter(offered=True, code__in=card["packages"])
    add_ons = AddOn.objects.filter(offered=True, code__in=card["add_ons"])
    return {
        "card": card,
        "packages": tuple(packages.values_list("code", "name", "description")),
        "add_ons": tuple(add_ons.values_list("code", "name")),
    }
