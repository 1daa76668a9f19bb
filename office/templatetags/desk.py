"""Template tags that every floor's pages use."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any
from uuid import uuid4

from django import template
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from office.models import Stateful
from office.rules.date_format import format_clock, format_day, format_moment, format_span
from office.rules.marks import mark_of
from office.rules.money_format import format_area, format_money
from office.rules.units import AreaUnit, converted_area

register = template.Library()


@register.simple_tag
def once() -> SafeString:
    """The hidden key by which a form that is sent twice counts once."""
    return format_html('<input type="hidden" name="once" value="{}">', uuid4())


@register.inclusion_tag("parts/state.html")
def state(row: Stateful) -> dict[str, str]:
    """A row's state as a word and a shape."""
    return _marked(row.state, row.get_state_display())


@register.inclusion_tag("parts/state.html")
def mark(code: str, word: str) -> dict[str, str]:
    """Any other word with its shape: `mark "must" "Must"`."""
    return _marked(code, word)


def _marked(code: str, word: str) -> dict[str, str]:
    found = mark_of(code)
    return {"word": word, "shape": found.shape, "look": found.look}


@register.inclusion_tag("parts/action_button.html", takes_context=True)
def action_button(context: dict[str, Any], url: str, label: str, style: str = "secondary") -> dict[str, Any]:
    """One action as a form of its own with one button."""
    return {"url": url, "label": label, "style": style, "csrf_token": context.get("csrf_token")}


@register.simple_tag(takes_context=True)
def money(context: dict[str, Any], amount: Decimal | None, currency: str = "") -> str:
    """An amount as the office writes it."""
    if amount is None:
        return "–"
    office = context["office"]
    return format_money(amount, currency or office.currency, office.locale)


@register.simple_tag(takes_context=True)
def area(context: dict[str, Any], square_metres: Decimal | None) -> str:
    """A stored area in the office's unit, whole."""
    if square_metres is None:
        return "–"
    office = context["office"]
    unit = AreaUnit(office.area_unit)
    return format_area(converted_area(square_metres, AreaUnit.M2, unit), unit, office.locale)


@register.simple_tag(takes_context=True)
def moment(context: dict[str, Any], at: datetime | None, zone: str = "") -> str:
    """A date and time in a zone (the office's when not said), as the office writes it."""
    if at is None:
        return "–"
    office = context["office"]
    return format_moment(at, zone or office.zone, office.locale)


@register.simple_tag(takes_context=True)
def day(context: dict[str, Any], value: date | datetime | None) -> str:
    """A date as the office writes it."""
    if value is None:
        return "–"
    office = context["office"]
    return format_day(value, office.zone, office.locale)


@register.simple_tag(takes_context=True)
def clock(context: dict[str, Any], at: datetime | None, zone: str = "") -> str:
    """A time of day, as the office writes it."""
    if at is None:
        return "–"
    office = context["office"]
    return format_clock(at, zone or office.zone, office.locale)


@register.simple_tag(takes_context=True)
def span(context: dict[str, Any], start: datetime | None, end: datetime | None, zone: str = "") -> str:
    """From one moment to another."""
    if start is None or end is None:
        return "–"
    office = context["office"]
    return format_span(start, end, zone or office.zone, office.locale)


@register.simple_tag(takes_context=True)
def today(context: dict[str, Any]) -> str:
    """Today in the office's zone."""
    office = context["office"]
    return format_day(timezone.now(), office.zone, office.locale)
