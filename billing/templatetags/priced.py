"""Figures of quotes, invoices and rate cards on pages."""

from decimal import Decimal
from typing import Any

from django import template
from django.utils.translation import gettext_lazy as _

from billing.models import Invoice
from billing.rules.ageing import Bucket
from billing.rules.standing import Standing
from office.rules.marks import mark_of
from office.rules.money_format import format_number, format_rate, shortest
from office.rules.units import AREA_WORDS, AreaUnit

register = template.Library()


@register.simple_tag(takes_context=True)
def quantity(context: dict[str, Any], value: Decimal) -> str:
    """A quantity without the zeros that storing adds."""
    return format_number(Decimal(shortest(value)), context["office"].locale)


@register.simple_tag(takes_context=True)
def rate(context: dict[str, Any], value: Decimal, currency: str) -> str:
    """A price for one unit with every digit it has."""
    return format_rate(Decimal(shortest(value)), currency, context["office"].locale)


@register.filter
def absolute(value: Decimal) -> Decimal:
    return abs(value)


@register.filter
def percent(value: Decimal) -> str:
    """7.25 for 7.2500."""
    return shortest(value)


@register.filter
def unit_word(unit: str) -> str:
    """sq ft or m²."""
    return AREA_WORDS[AreaUnit(unit)]


BUCKET_WORDS = {
    Bucket.NOT_DUE: _("Not due"),
    Bucket.DAYS_1_30: _("1–30 days"),
    Bucket.DAYS_31_60: _("31–60 days"),
    Bucket.DAYS_61_90: _("61–90 days"),
    Bucket.OVER_90: _("Over 90 days"),
}


@register.filter
def bucket_word(bucket: Bucket) -> str:
    """How long it has been due."""
    return str(BUCKET_WORDS[bucket])


@register.inclusion_tag("parts/state.html")
def invoice_state(invoice: Invoice, standing: Standing | None) -> dict[str, str]:
    """Its stored state, or what follows from payments and the day: overdue before part-paid."""
    code, word = invoice.state, str(invoice.get_state_display())
    if standing and standing.is_overdue:
        code, word = "overdue", _("Overdue")
    elif standing and standing.is_part_paid:
        code, word = "part_paid", _("Part-paid")
    found = mark_of(code)
    return {"word": word, "shape": found.shape, "look": found.look}
