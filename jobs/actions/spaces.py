"""Levels, spaces and openings one by one, as the crew or the desk enters and refines them."""

from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import F, Q
from django.utils.translation import gettext as _

from jobs.models import Level, Opening, OpeningKind, Property, Space, SpaceKind, Station
from jobs.rules.first_shape import OPENS_BY, PREFIXES, FirstFacts, first_shape, free_code
from office.actions.actors import Actor
from office.actions.events import record
from office.actions.states import locked
from office.errors import Refused

from .properties import OUT_OF_THE_WAY, set_shape
from .shapes import shape_of


@transaction.atomic
def start_shape(*, house: Property, facts: FirstFacts, by: Actor, now: datetime) -> Property:
    """A first shape from bedrooms, baths and levels, for a property that has no spaces yet."""
    house = locked(house)
    if house.spaces.exists():
        raise Refused(_("This property has spaces already; change them instead."))
    return set_shape(house=house, shape=first_shape(facts), by=by, now=now)


@transaction.atomic
def copy_shape(*, house: Property, source: Property, by: Actor, now: datetime) -> Property:
    """The levels, spaces and openings of another row of the same building, with the floor areas of its spaces."""
    house = locked(house)
    if house.spaces.exists():
        raise Refused(_("This property has spaces already; change them instead."))
    source = Property.objects.with_shape().get(pk=source.pk)
    set_shape(house=house, shape=shape_of(source), by=by, now=now)
    for space in source.spaces.all():
        house.spaces.filter(code=space.code).update(area_m2=space.area_m2)
    return house


@transaction.atomic
def add_level(*, house: Property, fields: dict[str, Any], by: Actor, now: datetime) -> Level:
    house = locked(house)
    _refuse_taken_name(house, fields["name"])
    level = Level.objects.create(property=house, number=OUT_OF_THE_WAY, **fields)
    _number_levels(house)
    record(by=by, now=now, verb="level-added", text=_("added the level %s") % level.name, subject=house)
    level.refresh_from_db()
    return level


@transaction.atomic
def change_level(*, level: Level, fields: dict[str, Any], by: Actor, now: datetime) -> Level:
    """Name, grade and elevation; the numbers follow the elevations."""
    house = locked(level.property)
    level = locked(level)
    _refuse_taken_name(house, fields["name"], level)
    for name, value in fields.items():
        setattr(level, name, value)
    level.save(update_fields=list(fields))
    _number_levels(house)
    record(by=by, now=now, verb="level-changed", text=_("changed the level %s") % level.name, subject=house)
    level.refresh_from_db()
    return level


@transaction.atomic
def remove_level(*, level: Level, by: Actor, now: datetime) -> None:
    house = locked(level.property)
    if level.spaces.exists():
        raise Refused(_("Move or remove the spaces of %s first.") % level.name)
    if Station.objects.filter(level=level).exists():
        raise Refused(_("The level “%s” has stations in a logged walk, so it cannot be dropped.") % level.name)
    record(by=by, now=now, verb="level-removed", text=_("removed the level %s") % level.name, subject=house)
    level.delete()
    _number_levels(house)


@transaction.atomic
def add_space(
    *, house: Property, level: Level, kind: str, by: Actor, now: datetime, name: str = "", beside: Space | None = None
) -> Space:
    """A space with the next free code, opening to `beside` as its kind usually does; the first one is the entrance."""
    house = locked(house)
    _refuse_foreign(house, level, beside)
    space = Space.objects.create(
        property=house, level=level, kind=kind, name=name.strip() or _next_name(house, kind),
        code=free_code(PREFIXES[kind], _codes(house.spaces)),
    )  # fmt: skip
    if beside is not None:
        _open(house, beside, space, OPENS_BY.get(kind, OpeningKind.DOOR))
    if house.entrance_id is None:
        _enter_by(house, space)
    record(by=by, now=now, verb="space-added", text=_("added %s") % space, subject=house)
    return space


@transaction.atomic
def change_space(*, space: Space, fields: dict[str, Any], by: Actor, now: datetime) -> Space:
    """Name, kind, level, privacy, area; the stations on a level it leaves go with it."""
    house = locked(space.property)
    space = locked(space)
    _refuse_foreign(house, fields["level"], None)
    if fields["level"] != space.level and space.kind != SpaceKind.STAIR:
        Station.objects.filter(space=space).update(level=fields["level"])
    for name, value in fields.items():
        setattr(space, name, value)
    space.save(update_fields=list(fields))
    record(by=by, now=now, verb="space-changed", text=_("changed %s") % space, subject=house)
    return space


@transaction.atomic
def remove_space(*, space: Space, by: Actor, now: datetime) -> None:
    house = locked(space.property)
    if Station.objects.filter(Q(space=space) | Q(opening__one=space) | Q(opening__other=space)).exists():
        raise Refused(_("%s stands in a logged walk, so it cannot be dropped.") % space)
    record(by=by, now=now, verb="space-removed", text=_("removed %s") % space, subject=house)
    space.delete()


@transaction.atomic
def enter_by(*, space: Space, by: Actor, now: datetime) -> Property:
    """Make this the space one enters first."""
    house = _enter_by(locked(space.property), space)
    record(by=by, now=now, verb="entrance-set", text=_("entrance: %s") % space, subject=house)
    return house


@transaction.atomic
def add_opening(*, house: Property, one: Space, other: Space, kind: str, by: Actor, now: datetime) -> Opening:
    """A door, curtain or screen; both sides may be one space, as with a shower curtain."""
    house = locked(house)
    for space in (one, other):
        _refuse_foreign(house, space.level, space)
    if one == other and kind == OpeningKind.OPEN:
        raise Refused(_("What lies within one space must be able to close."), field="kind")
    opening = _open(house, one, other, kind)
    record(by=by, now=now, verb="opening-added", text=_("added the opening %s") % opening, subject=house)
    return opening


@transaction.atomic
def remove_opening(*, opening: Opening, by: Actor, now: datetime) -> None:
    house = locked(opening.property)
    if Station.objects.filter(opening=opening).exists():
        raise Refused(_("%s is named in a logged walk, so it cannot be dropped.") % opening)
    record(by=by, now=now, verb="opening-removed", text=_("removed the opening %s") % opening, subject=house)
    opening.delete()


def _number_levels(house: Property) -> None:
    """From the lowest up, whatever they are called (as storeys are ordered by elevation in ISO 16739)."""
    house.levels.update(number=F("number") + OUT_OF_THE_WAY)
    rows = house.levels.order_by("elevation_m", "number")
    for number, level in enumerate(rows, 1):
        Level.objects.filter(pk=level.pk).update(number=number)
    house.level_count = max(1, len(rows))
    house.save(update_fields=["level_count"])


def _refuse_taken_name(house: Property, name: str, own: Level | None = None) -> None:
    if house.levels.filter(name__iexact=name).exclude(pk=own.pk if own else None).exists():
        raise Refused(_("There is a level of this name already."), field="name")


def _refuse_foreign(house: Property, level: Level, space: Space | None) -> None:
    """Forms offer only what belongs to the house; this holds where no form stands between."""
    if level.property_id != house.pk or (space is not None and space.property_id != house.pk):
        raise Refused(_("That belongs to another property."))


def _next_name(house: Property, kind: str) -> str:
    """“Closet”, then “Closet 2”: a name that is not taken."""
    taken = set(house.spaces.values_list("name", flat=True))
    word = str(SpaceKind(kind).label)
    number = 2
    name = word
    while name in taken:
        name, number = f"{word} {number}", number + 1
    return name


def _open(house: Property, one: Space, other: Space, kind: str) -> Opening:
    code = free_code("D", _codes(house.openings))
    return Opening.objects.create(property=house, code=code, one=one, other=other, kind=kind)


def _codes(rows: Any) -> set[str]:
    return set(rows.values_list("code", flat=True))


def _enter_by(house: Property, space: Space) -> Property:
    house.entrance = space
    house.save(update_fields=["entrance"])
    return house
