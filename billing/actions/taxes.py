"""The taxes the office adds, each from a day to a day."""

from datetime import date, datetime
from typing import Any

from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from billing.models import TaxRate
from office.actions.actors import Actor
from office.actions.events import record
from office.actions.states import locked
from office.errors import Refused

from .public_offer import forget_public_offer


@transaction.atomic
def add_tax_rate(*, fields: dict[str, Any], by: Actor, now: datetime) -> TaxRate:
    """A rate for new quotes; what is quoted or issued keeps its own."""
    refuse_overlap(TaxRate(**fields))
    rate = TaxRate.objects.create(**fields)
    record(by=by, now=now, verb="tax-added", text=_("added the tax %s") % rate, subject=rate)
    forget_public_offer()
    return rate


@transaction.atomic
def change_tax_rate(*, rate: TaxRate, fields: dict[str, Any], by: Actor, now: datetime) -> TaxRate:
    rate = locked(rate)
    for name, value in fields.items():
        setattr(rate, name, value)
    refuse_overlap(rate)
    rate.save(update_fields=list(fields))
    record(by=by, now=now, verb="tax-changed", text=_("changed the tax %s") % rate, subject=rate)
    forget_public_offer()
    return rate


def refuse_overlap(rate: TaxRate) -> None:
    """One tax has one percent a day."""
    if rate.ends_on and rate.ends_on < rate.starts_on:
        raise Refused(_("Expected a last day that is not before the first."), field="ends_on")
    beside = TaxRate.objects.filter(Q(ends_on=None) | Q(ends_on__gte=rate.starts_on), name=rate.name)
    beside = beside.filter(starts_on__lte=rate.ends_on or date.max).exclude(pk=rate.pk).first()
    if beside:
        facts = {"rate": beside, "start": beside.starts_on}
        raise Refused(
            _("%(rate)s, from %(start)s, holds on some of these days. End it first.") % facts, field="starts_on"
        )
