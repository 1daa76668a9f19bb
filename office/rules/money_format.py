"""Money, rates and areas as people read them.

The look (symbol, separators, order) is the locale's, from CLDR by way of Babel. The digits after the point are
ISO 4217's: CLDR shows some currencies with fewer digits than they have, and a bill may not hide what is owed.
"""

import re
from copy import copy
from decimal import Decimal
from functools import lru_cache

from babel import Locale
from babel.numbers import NumberPattern

from office.rules.money import half_up, minor_units, rounded
from office.rules.units import AREA_WORDS, AreaUnit

ENGLISH = "en_US"
MOST_PLACES = 18
LETTER_BESIDE_DIGIT = re.compile(r"(?<=[^\W\d_])(?=\d)|(?<=\d)(?=[^\W\d_])")
"""Where a currency written in letters meets the amount; CLDR puts a space there (UTS #35, currencySpacing)."""
AREA_STEP = {AreaUnit.SQFT: Decimal(1), AreaUnit.M2: Decimal("0.01")}


def format_money(amount: Decimal, currency: str, locale: str = ENGLISH) -> str:
    """An amount to the currency's minor unit, "$1,234.50" or "1.234,50 €"; raises `UnknownCurrency`."""
    places = minor_units(currency)
    return _with_currency(rounded(amount, currency), currency, locale, places, places)


def format_rate(rate: Decimal, currency: str, locale: str = ENGLISH) -> str:
    """A price for one unit with every digit it has, "$0.06" or "$0.045"; raises `UnknownCurrency`."""
    return _with_currency(rate, currency, locale, minor_units(currency), MOST_PLACES)


def format_number(value: Decimal, locale: str = ENGLISH) -> str:
    """A plain number with the locale's separators and every digit it has, "2,450" or "31.4"."""
    return str(_number_pattern(locale, 0, MOST_PLACES).apply(value, locale))


def format_area(area: Decimal, unit: AreaUnit, locale: str = ENGLISH) -> str:
    """An area in its own unit, whole square feet (ANSI Z765) or hundredths of a square metre: "2,450 sq ft"."""
    step = AREA_STEP[unit]
    places = -int(step.as_tuple().exponent)
    return f"{_number_pattern(locale, places, places).apply(half_up(area, step), locale)} {AREA_WORDS[unit]}"


def plain(value: Decimal) -> str:
    """The decimal text of the terminal contracts: every digit kept, never an exponent."""
    return format(value, "f")


def shortest(value: Decimal) -> str:
    """Decimal text without an exponent and without zeros that say nothing: 950 for 950.00."""
    text = plain(value)
    return text.rstrip("0").rstrip(".") if "." in text else text


def _with_currency(value: Decimal, currency: str, locale: str, least: int, most: int) -> str:
    text = _money_pattern(locale, least, most).apply(value, locale, currency=currency, currency_digits=False)
    return LETTER_BESIDE_DIGIT.sub("\N{NO-BREAK SPACE}", text)


@lru_cache(maxsize=64)
def _money_pattern(locale: str, least: int, most: int) -> NumberPattern:
    return _with_places(Locale.parse(locale).currency_formats["standard"], least, most)


@lru_cache(maxsize=64)
def _number_pattern(locale: str, least: int, most: int) -> NumberPattern:
    return _with_places(Locale.parse(locale).decimal_formats[None], least, most)


def _with_places(pattern: NumberPattern, least: int, most: int) -> NumberPattern:
    pattern = copy(pattern)
    pattern.frac_prec = (least, most)
    return pattern
