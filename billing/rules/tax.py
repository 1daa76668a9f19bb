"""Tax and invoice totals, after EN 16931-1 (BR-CO-10 to BR-CO-17).

Amounts are in the currency's main unit, already rounded to its minor unit; percentages are percent (20, not 0.20).
VAT goes by category, one rate a line. Other taxes (sales tax, GST beside PST) have no category; a line may bear
several.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import Protocol

from office.rules.money import half_up, rounded

ZERO = Decimal(0)


class TaxRounding(StrEnum):
    """Round once per rate, or each line and then add up; the rate card says which."""

    INVOICE = "invoice"
    LINE = "line"


class Allowed(StrEnum):
    """What percent a category may have."""

    ABOVE_ZERO = "above zero"
    ZERO_ONLY = "zero"
    ZERO_OR_MORE = "zero or more"


class Needs(StrEnum):
    """What a category asks of a party's numbers."""

    NOTHING = "nothing"
    VAT_NUMBER = "a VAT number"
    VAT_OR_TAX_NUMBER = "a VAT or tax number"
    VAT_OR_REGISTRATION_NUMBER = "a VAT or registration number"


@dataclass(frozen=True)
class TaxCategory:
    """One category of VAT. `reason` is the usual exemption text; `own_reason` that each invoice must give its own."""

    code: str
    text: str
    percent: Allowed
    seller: Needs
    buyer: Needs = Needs.NOTHING
    reason: str = ""
    own_reason: bool = False

    @property
    def has_reason(self) -> bool:
        return bool(self.reason) or self.own_reason


TAX_CATEGORIES = {
    category.code: category
    for category in (
        TaxCategory("S", "standard rate", Allowed.ABOVE_ZERO, Needs.VAT_OR_TAX_NUMBER),
        TaxCategory("Z", "zero rated", Allowed.ZERO_ONLY, Needs.VAT_OR_TAX_NUMBER),
        TaxCategory("E", "exempt", Allowed.ZERO_ONLY, Needs.VAT_OR_TAX_NUMBER, own_reason=True),
        TaxCategory(
            "AE", "reverse charge", Allowed.ZERO_ONLY, Needs.VAT_OR_TAX_NUMBER,
            Needs.VAT_OR_REGISTRATION_NUMBER, "Reverse charge",
        ),
        TaxCategory(
            "K", "intra-community supply", Allowed.ZERO_ONLY, Needs.VAT_NUMBER,
            Needs.VAT_NUMBER, "Intra-community supply",
        ),
        TaxCategory("G", "export outside the EU", Allowed.ZERO_ONLY, Needs.VAT_NUMBER, reason="Export outside the EU"),
        TaxCategory("O", "outside the scope of VAT", Allowed.ZERO_ONLY, Needs.NOTHING, reason="Not subject to VAT"),
        TaxCategory("L", "Canary Islands tax (IGIC)", Allowed.ZERO_OR_MORE, Needs.VAT_OR_TAX_NUMBER),
        TaxCategory("M", "Ceuta and Melilla tax (IPSI)", Allowed.ZERO_OR_MORE, Needs.VAT_OR_TAX_NUMBER),
    )
}  # fmt: skip
"""Categories of EN 16931 (BT-151, a part of UN/ECE code list 5305) and what the rules BR-S-…, BR-Z-… ask of each."""


class BadTax(ValueError):
    """A rate that its category does not allow."""


class Inconsistent(ValueError):
    """Figures that do not add up."""


@dataclass(frozen=True)
class TaxRate:
    """A tax as it stands on a line; `category` None is a tax other than VAT. Raises `BadTax`."""

    name: str
    percent: Decimal
    category: str | None
    reason: str = ""

    def __post_init__(self) -> None:
        if not self.percent.is_finite() or self.percent < 0:
            raise BadTax(f"{self.name}: a percentage of zero or more is expected, not {self.percent}")
        if self.category is not None:
            _check_category(self, self.category)

    @property
    def is_vat(self) -> bool:
        return self.category is not None

    @property
    def label(self) -> str:
        """Name and percent as a person writes them: Sales tax 7.25 %."""
        return f"{self.name} {self.percent.normalize():f} %"

    @property
    def group(self) -> tuple[str, Decimal]:
        """What is added up together: VAT by category and percent, any other tax by name and percent."""
        return (f"VAT {self.category}" if self.is_vat else self.name, self.percent)

    @property
    def exemption_reason(self) -> str:
        """The text that must stand on the invoice when no tax is charged; empty for a rate that charges it."""
        return self.reason or (TAX_CATEGORIES[self.category].reason if self.category else "")


def _check_category(rate: TaxRate, code: str) -> None:
    category = TAX_CATEGORIES.get(code)
    if category is None:
        raise BadTax(f"{code!r} is not one of the tax categories {', '.join(TAX_CATEGORIES)}")
    if category.percent is Allowed.ABOVE_ZERO and not rate.percent:
        raise BadTax(f"{category.text}: the percentage must be above zero")
    if category.percent is Allowed.ZERO_ONLY and rate.percent:
        raise BadTax(f"{category.text}: the percentage must be zero, not {rate.percent}")
    if category.own_reason and not rate.reason.strip():
        raise BadTax(f"{category.text}: the reason must be given")
    if rate.reason and not category.has_reason:
        raise BadTax(f"{category.text}: no exemption reason belongs here")


OUTSIDE_SCOPE = TaxRate("Not subject to VAT", ZERO, "O")


@dataclass(frozen=True)
class Adjustment:
    """An allowance (taken off) or a charge (put on), on a line or on the whole document."""

    amount: Decimal
    text: str
    is_charge: bool = False
    taxes: tuple[TaxRate, ...] = ()

    @property
    def net(self) -> Decimal:
        """The amount with its sign: a charge adds, an allowance takes away."""
        return self.amount if self.is_charge else -self.amount


class Taxed(Protocol):
    """Whatever has a net amount and bears taxes: lines and adjustments."""

    @property
    def net(self) -> Decimal: ...
    @property
    def taxes(self) -> tuple[TaxRate, ...]: ...


@dataclass(frozen=True)
class TaxSubtotal:
    """One row of the tax breakdown: BT-116 and BT-117."""

    rate: TaxRate
    taxable: Decimal
    tax: Decimal


@dataclass(frozen=True)
class InvoiceTotals:
    """The totals of an invoice; they add up or `Inconsistent` is raised.

    lines BT-106, allowances BT-107, charges BT-108, net BT-109, tax BT-110, gross BT-112, prepaid BT-113,
    rounding BT-114, due BT-115.
    """

    lines: Decimal
    allowances: Decimal
    charges: Decimal
    net: Decimal
    tax: Decimal
    gross: Decimal
    prepaid: Decimal
    rounding: Decimal
    due: Decimal
    breakdown: tuple[TaxSubtotal, ...] = ()

    def __post_init__(self) -> None:
        _must_equal("net", self.net, self.lines - self.allowances + self.charges)  # BR-CO-13
        _must_equal("tax", self.tax, sum((row.tax for row in self.breakdown), ZERO))  # BR-CO-14
        _must_equal("gross", self.gross, self.net + self.tax)  # BR-CO-15
        _must_equal("due", self.due, self.gross - self.prepaid + self.rounding)  # BR-CO-16


def _must_equal(name: str, stated: Decimal, computed: Decimal) -> None:
    if stated != computed:
        raise Inconsistent(f"{name} is {stated} but adds up to {computed}")


def line_net(
    quantity: Decimal,
    unit_price: Decimal,
    currency: str,
    *,
    price_base_quantity: Decimal = Decimal(1),
    adjustments: Iterable[Adjustment] = (),
) -> Decimal:
    """A line's net amount, BT-131; `unit_price` is the price of `price_base_quantity` units."""
    if price_base_quantity <= 0:
        raise Inconsistent(f"a price holds for a quantity above zero, not {price_base_quantity}")
    # Multiply before dividing: a third of a price times three is the price.
    gross = quantity * unit_price / price_base_quantity
    return rounded(gross + sum((adjustment.net for adjustment in adjustments), ZERO), currency)


def invoice_totals(
    lines: Sequence[Taxed],
    currency: str,
    *,
    adjustments: Sequence[Adjustment] = (),
    prepaid: Decimal = ZERO,
    payable_step: Decimal | None = None,
    tax_rounding: TaxRounding = TaxRounding.INVOICE,
) -> InvoiceTotals:
    """All totals of an invoice from its lines' net amounts.

    `payable_step` rounds what is due to a multiple (0.05, 1) as some currencies' cash does. Raises `Inconsistent`
    when an amount is finer than the currency's minor unit.
    """
    _check_minor_unit((*(line.net for line in lines), *(each.amount for each in adjustments), prepaid), currency)
    breakdown = tax_breakdown((*lines, *adjustments), currency, tax_rounding)
    line_sum = sum((line.net for line in lines), ZERO)
    allowances = sum((each.amount for each in adjustments if not each.is_charge), ZERO)
    charges = sum((each.amount for each in adjustments if each.is_charge), ZERO)
    net, tax = line_sum - allowances + charges, sum((row.tax for row in breakdown), ZERO)
    payable = net + tax - prepaid
    due = half_up(payable, payable_step) if payable_step else payable
    return InvoiceTotals(
        lines=rounded(line_sum, currency),
        allowances=rounded(allowances, currency),
        charges=rounded(charges, currency),
        net=rounded(net, currency),
        tax=rounded(tax, currency),
        gross=rounded(net + tax, currency),
        prepaid=rounded(prepaid, currency),
        rounding=rounded(due - payable, currency),
        due=rounded(due, currency),
        breakdown=breakdown,
    )


def tax_breakdown(parts: Iterable[Taxed], currency: str, tax_rounding: TaxRounding) -> tuple[TaxSubtotal, ...]:
    """One row per rate, in order of first appearance."""
    groups: dict[tuple[str, Decimal], tuple[TaxRate, list[Decimal]]] = {}
    for part in parts:
        for rate in part.taxes:
            groups.setdefault(rate.group, (rate, []))[1].append(part.net)
    return tuple(_subtotal(rate, amounts, currency, tax_rounding) for rate, amounts in groups.values())


def _subtotal(rate: TaxRate, amounts: list[Decimal], currency: str, tax_rounding: TaxRounding) -> TaxSubtotal:
    taxable = sum(amounts, ZERO)
    bases = amounts if tax_rounding is TaxRounding.LINE else [taxable]
    tax = sum((rounded(base * rate.percent / 100, currency) for base in bases), ZERO)
    return TaxSubtotal(rate, rounded(taxable, currency), tax)


def _check_minor_unit(amounts: Iterable[Decimal], currency: str) -> None:
    for amount in amounts:
        if amount != rounded(amount, currency):
            raise Inconsistent(f"{amount} is finer than the minor unit of {currency}")
