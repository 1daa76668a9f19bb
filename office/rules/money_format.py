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
AREA_STEP = {AreaUnit.SQFT: Decimal(1), AreaUnit.M2: Decimal("0.01")}
LETTER_BESIDE_DIGIT = re.compile(r"(?<=[^\W\d_])(?=\d)|(?<=\d)(?=[^\W\d_])")
"""Where a currency written in letters meets the amount; CLDR puts a space there (UTS #35, currencySpacing)."""


def format_money(amount: Decimal, currency: str, locale: str = ENGLISH) -> str:
    """An amount to the currency's minor unit, "$1,234.50" or "1.234,50 €"; raises `UnknownCurrency`."""
    return format_rate(rounded(amount, currency), currency, locale)


@lru_cache(maxsize=4096)
def format_rate(rate: Decimal, currency: str, locale: str = ENGLISH) -> str:
    """A price for one unit with every digit it has, "$0.06" or "$0.045"; raises `UnknownCurrency`."""
    known = _locale(locale)
    pattern = _pattern(known.currency_formats["standard"], minor_units(currency))
    text = pattern.apply(rate, known, currency=currency, currency_digits=False, decimal_quantization=False)
    return LETTER_BESIDE_DIGIT.sub("\N{NO-BREAK SPACE}", text)


def format_number(value: Decimal, locale: str = ENGLISH) -> str:
    """A plain number with the locale's separators and every digit it has, "2,450" or "31.4"."""
    return _number(value, locale, 0)


def format_area(area: Decimal, unit: AreaUnit, locale: str = ENGLISH) -> str:
    """An area in its own unit, to whole square feet (ANSI Z765) or hundredths of a square metre: "2,450 sq ft"."""
    step = AREA_STEP[unit]
    return f"{_number(half_up(area, step), locale, -int(step.as_tuple().exponent))} {AREA_WORDS[unit]}"


def plain(value: Decimal) -> str:
    """The decimal text of the terminal contracts: every digit kept, never an exponent."""
    return format(value, "f")


def shortest(value: Decimal) -> str:
    """Decimal text without an exponent and without zeros that say nothing: 950 for 950.00."""
    text = plain(value)
    return text.rstrip("0").rstrip(".") if "." in text else text


@lru_cache(maxsize=4096)
def _number(value: Decimal, locale: str, least_places: int) -> str:
    known = _locale(locale)
    pattern = _pattern(known.decimal_formats[None], least_places)
    return str(pattern.apply(value, known, decimal_quantization=False))


@lru_cache(maxsize=64)
def _locale(name: str) -> Locale:
    return Locale.parse(name)


@lru_cache(maxsize=256)
def _pattern(pattern: NumberPattern, least_places: int) -> NumberPattern:
    """A locale's pattern with at least so many digits after the point, and more when the number has more."""
    pattern = copy(pattern)
    pattern.frac_prec = (least_places, least_places)
    return pattern
