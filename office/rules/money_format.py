"""Money and areas as the office writes them, by the locale data of the Unicode CLDR."""

from decimal import ROUND_HALF_UP, Decimal

from babel.numbers import format_currency, format_decimal

from .money import rounded
from .units import AREA_WORDS, AreaUnit


def format_money(amount: Decimal, currency: str, locale: str) -> str:
    """ "$1,234.50": rounded half up, with the currency's ISO 4217 digits."""
    return format_currency(rounded(amount, currency), currency, locale=locale, currency_digits=False)


def format_area(area: Decimal, unit: AreaUnit, locale: str, places: int = 0) -> str:
    """ "2,450 sq ft": half up to `places`."""
    shown = area.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)
    return f"{format_decimal(shown, locale=locale)} {AREA_WORDS[unit]}"
