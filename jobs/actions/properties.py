"""Properties: the address and the area, and the levels, spaces and openings within."""

from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from jobs.models import Level, Opening, Property, Space, Station
from jobs.rules.property_shape import PropertyShape
from office.actions.actors import Actor
from office.actions.events import record
from office.actions.states import locked
from office.errors import Refused


@transaction.atomic
def add_property(*, fields: dict[str, Any], by: Actor, now: datetime) -> Property:
    house = Property.objects.create(**fields)
    record(by=by, now=now, verb="property-added", text=_("added the property %s") % house, subject=house)
    return house


@transaction.atomic
def change_property(*, house: Property, fields: dict[str, Any], by: Actor, now: datetime) -> Property:
    house = locked(house)
    for name, value in fields.items():
        setattr(house, name, value)
    house.save(update_fields=list(fields))
    record(by=by, now=now, verb="property-changed", text=_("changed the property %s") % house, subject=house)
    return house


@transaction.atomic
def set_shape(*, house: Property, shape: PropertyShape, by: Actor, now: datetime) -> Property:
    """Bring levels, spaces and openings to `shape`, keeping what keeps its code; a space with stations stays."""
    house = locked(house)
    levels = _set_levels(house, shape)
    spaces = _set_spaces(house, shape, levels)
    _set_openings(house, shape, spaces)
    _drop_levels(house, shape)
    house.entrance = spaces[shape.entrance] if shape.entrance else None
    house.level_count = len(levels)
    house.save(update_fields=["entrance", "level_count"])
    text = _("set %(levels)d levels, %(spaces)d spaces, %(openings)d openings") % {
        "levels": len(levels), "spaces": len(spaces), "openings": len(shape.openings),
    }  # fmt: skip
    record(by=by, now=now, verb="shape-set", text=text, subject=house)
    return house


def _drop_levels(house: Property, shape: PropertyShape) -> None:
    dropped = house.levels.exclude(number__in=[level.number for level in shape.levels])
    walked = Station.objects.filter(level__in=dropped).select_related("level").first()
    if walked:
        raise Refused(_("Level %s has stations in a logged walk, so it cannot be dropped.") % walked.level)
    dropped.delete()


def _set_levels(house: Property, shape: PropertyShape) -> dict[int, Level]:
    return {
        level.number: Level.objects.update_or_create(
            property=house,
            number=level.number,
            defaults={"name": level.name, "grade": level.grade, "elevation_m": level.elevation_m},
        )[0]
        for level in shape.levels
    }


def _set_spaces(house: Property, shape: PropertyShape, levels: dict[int, Level]) -> dict[str, Space]:
    codes = {space.code for space in shape.spaces}
    dropped = Space.objects.filter(property=house).exclude(code__in=codes)
    walked = Station.objects.filter(space__in=dropped).select_related("space").first()
    if walked:
        raise Refused(_("%s has stations in a logged walk, so it cannot be dropped.") % walked.space)
    Opening.objects.filter(property=house).delete()
    dropped.delete()
    return {
        space.code: Space.objects.update_or_create(
            property=house,
            code=space.code,
            defaults={
                "level": levels[space.level], "name": space.name, "kind": space.kind, "private": space.private,
            },
        )[0]
        for space in shape.spaces
    }  # fmt: skip


def _set_openings(house: Property, shape: PropertyShape, spaces: dict[str, Space]) -> None:
    Opening.objects.bulk_create(
        Opening(
            property=house, code=opening.code, kind=opening.kind,
            one=spaces[opening.between[0]], other=spaces[opening.between[1]],
        )
        for opening in shape.openings
    )  # fmt: skip
