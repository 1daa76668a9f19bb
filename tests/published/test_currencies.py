"""Currencies against ISO 4217, and how amounts are written against CLDR by way of Babel."""

import csv
from decimal import Decimal

import pytest
from babel.numbers import format_currency, format_decimal, get_currency_precision
from hypothesis import given
from hypothesis import strategies as st

from office.rules.money import UnknownCurrency, minor_units, rounded, smallest
from office.rules.money_format import format_area, format_money, format_number, format_rate, plain, shortest
from office.rules.units import AreaUnit

LOCALES = ("en_US", "en_GB", "de_DE", "de_CH", "fr_FR", "sv_SE", "ja_JP", "hi_IN", "pt_BR", "pl_PL")
AMOUNTS = st.decimals(-(10**9), 10**9, places=3)
NBSP = "\N{NO-BREAK SPACE}"


def test_minor_units_of_every_currency(checks):
    with (checks / "currencies" / "iso4217_minor_units.csv").open(newline="", encoding="utf-8") as file:
        listed = {row["code"]: int(row["minor_units"]) for row in csv.DictReader(file)}  # ISO 4217 list of 2026-01-01
    assert len(listed) == 165
    assert {code: minor_units(code) for code in listed} == listed


@pytest.mark.parametrize(
    ("code", "digits", "coin"), [("USD", 2, "0.01"), ("JPY", 0, "1"), ("KWD", 3, "0.001"), ("CLF", 4, "0.0001")]
)  # ISO 4217
def test_the_smallest_amount(code, digits, coin):
    assert (minor_units(code), smallest(code)) == (digits, Decimal(coin))


@pytest.mark.parametrize("code", ["", "usd", "US", "USDD", "840", "ABC", "XAU", "XXX"])  # XAU and XXX: minor unit N.A.
def test_what_nothing_can_be_priced_in(code):
    with pytest.raises(UnknownCurrency):
        minor_units(code)


@pytest.mark.parametrize("locale", LOCALES)
@given(amount=AMOUNTS, currency=st.sampled_from(["USD", "EUR", "GBP", "JPY", "INR", "BRL", "CAD", "KRW"]))
def test_an_amount_is_written_as_cldr_has_it(locale, amount, currency):
    exact = rounded(amount, currency)
    assert get_currency_precision(currency) == minor_units(currency)
    assert format_money(amount, currency, locale).replace(NBSP, "") == (
        format_currency(exact, currency, locale=locale).replace(NBSP, "")
    )


@pytest.mark.parametrize(
    ("amount", "currency", "locale", "written"),
    [
        ("1234.5", "USD", "en_US", "$1,234.50"),  # CLDR en: ¤#,##0.00
        ("-1234.5", "USD", "en_US", "-$1,234.50"),
        ("1234.5", "EUR", "de_DE", f"1.234,50{NBSP}€"),  # CLDR de: #,##0.00 ¤
        ("1234.565", "KWD", "en_US", f"KWD{NBSP}1,234.565"),  # UTS #35 currencySpacing: a space after letters
        ("12345678", "INR", "hi_IN", "₹1,23,45,678.00"),  # CLDR hi: groups of two
        ("0.005", "USD", "en_US", "$0.01"),
        ("0.5", "JPY", "en_US", "¥1"),
        ("5.25", "ALL", "en_US", f"ALL{NBSP}5.25"),  # ISO 4217: 2 digits; CLDR shows the lek without
    ],
)
def test_amounts_as_people_read_them(amount, currency, locale, written):
    assert format_money(Decimal(amount), currency, locale) == written


@pytest.mark.parametrize(
    ("rate", "written"),
    [
        ("0.0600", "$0.06"),
        ("0.045", "$0.045"),
        ("60", "$60.00"),
        ("1234.50000001", "$1,234.50000001"),
        ("1E-7", "$0.0000001"),
    ],
)
def test_a_rate_keeps_every_digit_it_has(rate, written):
    assert format_rate(Decimal(rate), "USD") == written


@pytest.mark.parametrize("locale", LOCALES)
@given(value=st.decimals(0, 10**15, places=2))
def test_a_number_is_written_as_cldr_has_it(locale, value):
    assert format_number(value, locale) == format_decimal(value, locale=locale)


@pytest.mark.parametrize(
    ("area", "unit", "locale", "written"),
    [
        ("2450.5", AreaUnit.SQFT, "en_US", "2,451 sq ft"),  # ANSI Z765: to the nearest whole square foot
        ("2450.49", AreaUnit.SQFT, "en_US", "2,450 sq ft"),
        ("227.6125", AreaUnit.M2, "en_GB", "227.61 m²"),
        ("227.615", AreaUnit.M2, "de_DE", "227,62 m²"),
        ("80", AreaUnit.M2, "en_GB", "80.00 m²"),
    ],
)
def test_areas_as_people_read_them(area, unit, locale, written):
    assert format_area(Decimal(area), unit, locale) == written


@given(st.decimals(-(10**12), 10**12))
def test_decimal_texts_have_no_exponent_and_keep_their_value(value):
    for text in (plain(value), shortest(value)):
        assert "E" not in text
        assert Decimal(text) == value


@pytest.mark.parametrize(
    ("value", "text", "short"),
    [("950.00", "950.00", "950"), ("1E+3", "1000", "1000"), ("0.0600", "0.0600", "0.06"), ("0.0", "0.0", "0")],
)
def test_decimal_texts(value, text, short):
    assert (plain(Decimal(value)), shortest(Decimal(value))) == (text, short)
