"""What a late change of a visit may cost the client, by the office's own rule.

Free until some hours before the arrival window begins, then a percentage of the price. Common practice, no source:
free until 24 to 48 hours before, then 25 to 50 %; no access is charged as a call-out.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from enum import StrEnum


class Wish(StrEnum):
    """Whose wish a change is; only the client's own can cost."""

    CLIENT = "client"
    OFFICE = "office"
    WEATHER = "weather"


@dataclass(frozen=True)
class FeeRule:
    """Hours before the arrival window, and percentages of the price."""

    free_hours: int
    moved: Decimal
    cancelled: Decimal
    no_access: Decimal


def is_late(rule: FeeRule, starts_at: datetime, now: datetime) -> bool:
    """Whether `now` is less than the free hours before the arrival window; at exactly that many it is still free."""
    return starts_at - now < timedelta(hours=rule.free_hours)


def fee_for_moving(rule: FeeRule, starts_at: datetime, now: datetime, wish: Wish) -> Decimal:
    return _late(rule, starts_at, now, wish, rule.moved)


def fee_for_cancelling(rule: FeeRule, starts_at: datetime, now: datetime, wish: Wish) -> Decimal:
    return _late(rule, starts_at, now, wish, rule.cancelled)


def _late(rule: FeeRule, starts_at: datetime, now: datetime, wish: Wish, percent: Decimal) -> Decimal:
    return percent if wish == Wish.CLIENT and is_late(rule, starts_at, now) else Decimal(0)
