"""Drafters: adding, changing, and the link that is their door."""

from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from deliverables.models import Drafter
from jobs.models import Property
from office.actions.actors import Actor
from office.actions.events import record
from office.actions.links import open_link_to
from office.actions.notices import write_notice
from office.actions.states import locked
from office.models import CapabilityLink, Purpose
from office.rules.money import rounded


@transaction.atomic
def add_drafter(*, fields: dict[str, Any], by: Actor, now: datetime) -> Drafter:
    drafter = Drafter.objects.create(**fields)
    record(by=by, now=now, verb="drafter-added", text=_("added the drafter %s") % drafter, subject=drafter)
    return drafter


@transaction.atomic
def change_drafter(*, drafter: Drafter, fields: dict[str, Any], by: Actor, now: datetime) -> Drafter:
    """Change details; promises already made stay as they were made."""
    drafter = locked(drafter)
    for name, value in fields.items():
        setattr(drafter, name, value)
    drafter.save(update_fields=list(fields))
    record(by=by, now=now, verb="drafter-changed", text=_("changed the drafter %s") % drafter, subject=drafter)
    return drafter


def link_of_drafter(*, drafter: Drafter, by: Actor, now: datetime) -> CapabilityLink:
    """The open link to the drafter's page, or a new one."""
    return open_link_to(
        purpose=Purpose.DRAFTER,
        subject_id=drafter.pk,
        holder_name=drafter.contact_name or drafter.name,
        holder_email=drafter.email,
        by=by,
        now=now,
    )


@transaction.atomic
def send_link(*, drafter: Drafter, by: Actor, now: datetime) -> CapabilityLink:
    """Mail the drafter the link to their page once more."""
    link = link_of_drafter(drafter=drafter, by=by, now=now)
    write_notice(
        key=f"drafter-link:{drafter.pk}:{now.isoformat()}",
        template="drafter_link",
        to_name=link.holder_name,
        to_address=drafter.email,
        now=now,
        link=link,
        until=link.expires_at,
    )
    record(by=by, now=now, verb="link-sent", text=_("sent %s their link") % drafter, subject=drafter)
    return link


def price_of_plan(drafter: Drafter, house: Property) -> Decimal:
    """What one plan of this house costs the office, rounded once to the drafter's currency."""
    by_area = drafter.price_per_m2 * house.area_m2
    by_level = drafter.price_per_level * house.level_count
    return rounded(drafter.price_per_plan + by_area + by_level, drafter.currency)
