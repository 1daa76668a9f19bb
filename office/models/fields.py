"""Fields with the program's own conventions."""

from functools import cache
from typing import Any
from zoneinfo import available_timezones

from django.core.exceptions import ValidationError
from django.db import models
from django.utils.translation import gettext_lazy as _


class MoneyField(models.DecimalField):
    """An amount in its row's currency; room for four minor digits, the most ISO 4217 knows."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("max_digits", 18)
        kwargs.setdefault("decimal_places", 4)
        super().__init__(*args, **kwargs)


class AreaField(models.DecimalField):
    """Floor area in square metres."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("max_digits", 10)
        kwargs.setdefault("decimal_places", 4)
        super().__init__(*args, **kwargs)


class LinkField(models.URLField):
    """An address on the web; typed without a scheme, it is taken as https."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 500)
        super().__init__(*args, **kwargs)

    def formfield(self, **kwargs: Any) -> Any:
        return super().formfield(**{"assume_scheme": "https", **kwargs})


@cache
def zones() -> frozenset[str]:
    return frozenset(available_timezones())


def check_zone(value: str) -> None:
    if value not in zones():
        raise ValidationError(_("%(zone)s is not a time zone such as America/Chicago."), params={"zone": value})


class ZoneField(models.CharField):
    """An IANA time zone name."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 64)
        super().__init__(*args, **kwargs)
        self.validators = [*self.validators, check_zone]


def office_week() -> dict[str, list[list[str]]]:
    """Monday to Friday, nine to five: a start that each office changes."""
    return {day: [["09:00", "17:00"]] for day in ("mon", "tue", "wed", "thu", "fri")}
