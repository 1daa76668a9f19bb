"""Public holidays of a country, or of one of its subdivisions, as the holidays library knows them."""

from collections.abc import Mapping
from datetime import date
from functools import lru_cache
from types import MappingProxyType


class UnknownRegion(ValueError):
    """The library knows no such country or subdivision."""


@lru_cache(maxsize=256)
def public_holidays(country: str, subdivision: str | None, first_year: int, last_year: int) -> Mapping[date, str]:
    """Dates off work and their names, observed days included; raises `UnknownRegion`.

    `country` is an ISO 3166-1 alpha-2 code, `subdivision` the part of an ISO 3166-2 code after the dash.
    """
    from holidays import country_holidays

    try:
        found = country_holidays(country, subdiv=subdivision, years=range(first_year, last_year + 1))
    except NotImplementedError:
        region = country if subdivision is None else f"{country}-{subdivision}"
        raise UnknownRegion(f"expected a country (and part of it) with known holidays, found {region!r}") from None
    return MappingProxyType({day: found[day] for day in sorted(found) if first_year <= day.year <= last_year})
