"""Properties: the address and the area, and the whole of the levels, spaces and openings within."""

from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from jobs.models import Level, Opening, Property, Space, Station
from jobs.rules.property_shape import PropertyShape, parse_property
from office.actions.actors import Actor
from office.actions.events import record
from office.actions.states import locked
from office.errors import Refused
from office.rules.money import half_up
from office.rules.reading import BadInput

from .booking import rechain_visits_at

CENTIMETRE = Decimal("0.01")
MOST_LEVELS, HIGHEST_M = 100, 999
OUT_OF_THE_WAY = 1_000
"""Added to level numbers while they are given anew, as two levels never have one number."""


@transaction.atomic
def add_property(*, fields: dict[str, Any], by: Actor, now: datetime) -> Property:
    house = Property.objects.create(**fields)
    record(by=by, now=now, verb="property-added", text=_("added the property %s") % house, subject=house)
    return house


@transaction.atomic
def change_property(*, house: Property, fields: dict[str, Any], by: Actor, now: datetime) -> Property:
    house = locked(house)
    was_at = (house.latitude, house.longitude)
    for name, value in fields.items():
        setattr(house, name, value)
    house.save(update_fields=list(fields))
    if was_at != (house.latitude, house.longitude):
        rechain_visits_at(property=house, now=now)
    record(by=by, now=now, verb="property-changed", text=_("changed the property %s") % house, subject=house)
    return house


@transaction.atomic
def set_shape(*, house: Property, shape: PropertyShape, by: Actor, now: datetime) -> Property:
    """Bring levels, spaces and openings to `shape`, the levels numbered from the lowest up.

    What keeps its name (a level) or its code (a space, an opening) stays the same row, so that logged walks keep
    pointing at it. Refused where a space or level that is left out has stations.
    """
    house = locked(house)
    shape = _numbered_by_elevation(shape)
    _refuse_what_cannot_be_stored(shape)
    levels = _set_levels(house, shape)
    spaces = _set_spaces(house, shape, levels)
    _set_openings(house, shape, spaces)
    _drop_levels(house, levels)
    house.entrance = spaces[shape.entrance] if shape.entrance else None
    house.level_count = max(1, len(levels))
    house.save(update_fields=["entrance", "level_count"])
    text = _("set %(levels)d levels, %(spaces)d spaces, %(openings)d openings") % {
        "levels": len(levels), "spaces": len(spaces), "openings": len(shape.openings),
    }  # fmt: skip
    record(by=by, now=now, verb="shape-set", text=text, subject=house)
    return house


@transaction.atomic
def import_shape(*, house: Property, content: bytes, file_name: str, by: Actor, now: datetime) -> Property:
    """Take levels, spaces and openings from a PROPERTY file."""
    try:
        shape = parse_property(content.decode("utf-8-sig"), file_name)
    except UnicodeDecodeError:
        raise Refused(_("%s: expected UTF-8 text.") % file_name, field="shape") from None
    except BadInput as refusal:
        raise Refused(str(refusal), field="shape") from None
    return set_shape(house=house, shape=shape, by=by, now=now)


def _numbered_by_elevation(shape: PropertyShape) -> PropertyShape:
    """The lowest level is 1, whatever the levels are called and however they were numbered."""
    numbers = {level.number: number for number, level in enumerate(shape.storeys, 1)}
    if len(numbers) < len(shape.levels):
        raise Refused(_("Two levels have one number."), field="levels")
    return replace(
        shape,
        levels=tuple(
            replace(level, number=number, elevation_m=half_up(level.elevation_m, CENTIMETRE))
            for number, level in enumerate(shape.storeys, 1)
        ),
        spaces=tuple(replace(space, level=numbers[space.level]) for space in shape.spaces),
    )


def _refuse_what_cannot_be_stored(shape: PropertyShape) -> None:
    """What a file may hold and a row may not: longer names, two levels of one name."""
    names = {level.name.strip().casefold() for level in shape.levels}
    if len(names) < len(shape.levels) or "" in names:
        raise Refused(_("Each level needs a name of its own."), field="levels")
    if len(shape.levels) > MOST_LEVELS or any(abs(level.elevation_m) > HIGHEST_M for level in shape.levels):
        raise Refused(
            _("Expected at most %(most)d levels, within %(high)d m of the ground.")
            % {"most": MOST_LEVELS, "high": HIGHEST_M},
            field="levels",
        )
    for name, most, field in _lengths(shape):
        if len(name) > most:
            raise Refused(
                _("“%(name)s…” is longer than %(most)d characters.") % {"name": name[:30], "most": most}, field=field
            )


def _lengths(shape: PropertyShape) -> list[tuple[str, int, str]]:
    return [
        *((level.name, 60, "levels") for level in shape.levels),
        *((space.name, 80, "spaces") for space in shape.spaces),
    ]


def _set_levels(house: Property, shape: PropertyShape) -> dict[int, Level]:
    """Rows are found by name; those that are left over keep a number out of the way until they are dropped."""
    known = {level.name.casefold(): level for level in house.levels.all()}
    house.levels.update(number=F("number") + OUT_OF_THE_WAY)
    levels = {}
    for wanted in shape.levels:
        row = known.get(wanted.name.strip().casefold()) or Level(property=house)
        row.number, row.name, row.grade = wanted.number, wanted.name.strip(), wanted.grade
        row.elevation_m = wanted.elevation_m
        row.save()
        levels[wanted.number] = row
    return levels


def _drop_levels(house: Property, kept: dict[int, Level]) -> None:
    dropped = house.levels.exclude(pk__in=[level.pk for level in kept.values()])
    walked = Station.objects.filter(level__in=dropped).select_related("level").first()
    if walked:
        raise Refused(_("The level “%s” has stations in a logged walk, so it cannot be dropped.") % walked.level.name)
    dropped.delete()


def _set_spaces(house: Property, shape: PropertyShape, levels: dict[int, Level]) -> dict[str, Space]:
    codes = {space.code for space in shape.spaces}
    dropped = Space.objects.filter(property=house).exclude(code__in=codes)
    walked = Station.objects.filter(space__in=dropped).select_related("space").first()
    if walked:
        raise Refused(_("%s has stations in a logged walk, so it cannot be dropped.") % walked.space)
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
    house.openings.exclude(code__in=[opening.code for opening in shape.openings]).delete()
    for opening in shape.openings:
        one, other = (spaces[code] for code in opening.between)
        Opening.objects.update_or_create(
            property=house, code=opening.code, defaults={"one": one, "other": other, "kind": opening.kind}
        )
