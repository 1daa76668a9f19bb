"""A deposit and the bill that deducts it come to exactly what one bill for everything comes to."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from billing.rules.bill import Rate, bill, deposit_net
from billing.rules.tax import TaxRounding

CURRENCIES = {"USD": 2, "JPY": 0, "KWD": 3}
RATES = st.lists(
    st.decimals(0, 30, places=4), min_size=0, max_size=3
).map(lambda percents: [Rate(f"Tax {number}", percent) for number, percent in enumerate(percents)])  # fmt: skip


@st.composite
def agreed(draw):
    currency = draw(st.sampled_from(sorted(CURRENCIES)))
    amount = st.decimals(-5_000, 50_000, places=CURRENCIES[currency])
    return currency, draw(st.lists(amount, min_size=1, max_size=6))


@given(agreed(), RATES, st.sampled_from(TaxRounding), st.decimals(0, 100, places=2))
def test_deposit_and_balance_come_to_the_whole(work, rates, rounding, percent):
    currency, amounts = work
    whole = bill(amounts, rates, currency, rounding=rounding)
    deposit = bill([deposit_net(whole.net, percent, currency)], rates, currency, rounding=rounding)
    balance = bill(amounts, rates, currency, rounding=rounding, deducted=[deposit])
    assert deposit.net + balance.net == whole.net
    assert deposit.total + balance.total == whole.total
    for one, other, both in zip(deposit.taxes, balance.taxes, whole.taxes, strict=True):
        assert one.amount + other.amount == both.amount


@given(agreed(), RATES, st.sampled_from(TaxRounding))
def test_net_and_taxes_come_to_the_total(work, rates, rounding):
    currency, amounts = work
    found = bill(amounts, rates, currency, rounding=rounding)
    assert found.net == sum(amounts)
    assert found.total == found.net + sum(tax.amount for tax in found.taxes)


# common practice: 3 × 33.33 at 20 %: per line 20.01, per invoice 20.00; 3 × 10.12: 6.06 and 6.07
@pytest.mark.parametrize(
    ("price", "rounding", "tax"),
    [
        ("33.33", "line", "20.01"),
        ("33.33", "invoice", "20.00"),
        ("10.12", "line", "6.06"),
        ("10.12", "invoice", "6.07"),
    ],
)
def test_tax_is_rounded_by_line_or_once(price, rounding, tax):
    found = bill([Decimal(price)] * 3, [Rate("VAT", Decimal(20))], "GBP", rounding=TaxRounding(rounding))
    assert found.taxes[0].amount == Decimal(tax)


def test_the_cent_that_rounding_would_lose_stays():
    """Half of 0.30 at 5 %: each half alone would bear 0.01, together 0.02 (0.015 half up)."""
    rate = [Rate("Tax", Decimal(5))]
    deposit = bill([deposit_net(Decimal("0.30"), Decimal(50), "USD")], rate, "USD")
    balance = bill([Decimal("0.30")], rate, "USD", deducted=[deposit])
    assert (deposit.total, balance.total) == (Decimal("0.16"), Decimal("0.16"))
    odd = bill([deposit_net(Decimal("0.10"), Decimal(50), "USD")], rate, "USD")
    rest = bill([Decimal("0.10")], rate, "USD", deducted=[odd])
    assert (odd.total, rest.total) == (Decimal("0.05"), Decimal("0.06"))
