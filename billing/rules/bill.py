"""What is billed now of what was agreed: totals that add up to the cent over a deposit and the bill after it.

Amounts are in the currency's main unit, rounded to its minor unit; percentages are percent.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from office.rules.money import rounded

from .tax import ZERO, TaxRounding


@dataclass(frozen=True)
class Rate:
    """A tax the office adds."""

    name: str
    percent: Decimal


@dataclass(frozen=True)
class TaxDue:
    """A tax on a base."""

    name: str
    percent: Decimal
    base: Decimal
    amount: Decimal


@dataclass(frozen=True)
class Bill:
    """Net and taxes come to the total, exactly."""

    net: Decimal
    taxes: tuple[TaxDue, ...]

    @property
    def total(self) -> Decimal:
        return sum((tax.amount for tax in self.taxes), self.net)


def bill(
    amounts: Sequence[Decimal],
    rates: Iterable[Rate],
    currency: str,
    *,
    rounding: TaxRounding = TaxRounding.INVOICE,
    deducted: Sequence[Bill] = (),
) -> Bill:
    """The bill of lines with these net amounts, less earlier bills, which go off net and taxes alike.

    So a deposit and the bill that deducts it come to what one bill for everything would have come to.
    """
    whole = sum(amounts, ZERO)
    off = sum((earlier.net for earlier in deducted), ZERO)
    bases = [whole] if rounding is TaxRounding.INVOICE else amounts
    taxes = tuple(_tax_due(rate, bases, whole - off, currency, deducted) for rate in rates)
    return Bill(rounded(whole - off, currency), taxes)


def _tax_due(rate: Rate, bases: Iterable[Decimal], base: Decimal, currency: str, deducted: Iterable[Bill]) -> TaxDue:
    whole = sum((rounded(part * rate.percent / 100, currency) for part in bases), ZERO)
    off = sum((_amount_of(rate, earlier) for earlier in deducted), ZERO)
    return TaxDue(rate.name, rate.percent, rounded(base, currency), rounded(whole - off, currency))


def _amount_of(rate: Rate, earlier: Bill) -> Decimal:
    return sum((tax.amount for tax in earlier.taxes if (tax.name, tax.percent) == (rate.name, rate.percent)), ZERO)


def deposit_net(net: Decimal, percent: Decimal, currency: str) -> Decimal:
    """The part of a net that is asked for in advance."""
    return rounded(net * percent / 100, currency)
