"""The walk log: stations one by one or from a file."""

from collections.abc import Iterable, Iterator
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from jobs.models import Property, RemovedStation, Shoot, ShootState, Station
from jobs.rules.property_shape import PropertyShape
from jobs.rules.walk import Station as WalkStation
from jobs.rules.walk import parse_walk
from jobs.rules.walk import walk_csv as as_csv
from office.actions.actors import Actor
from office.actions.events import record
from office.actions.states import locked
from office.errors import Refused
from office.rules.money import half_up
from office.rules.reading import BadInput

from .shapes import shape_of, stations_of
from .tasks import renew_walk_tasks
from .verdicts import judge

MILLIMETRE, FARTHEST_M = Decimal("0.001"), Decimal(99_000)
LOGGED_IN = {ShootState.CONFIRMED, ShootState.CAPTURED}


def walk_csv(shoot: Shoot) -> str:
    """The log as the WALK file of the walk check."""
    return as_csv(stations_of(shoot))


@transaction.atomic
def log_station(*, shoot: Shoot, fields: dict[str, Any], by: Actor, now: datetime) -> Station:
    """Add one station to the log."""
    shoot = open_log(shoot)
    if shoot.stations.filter(number=fields["number"]).exists():
        raise Refused(_("Station %d is logged already.") % fields["number"], field="number")
    for name in ("pair_of", "ties_to"):
        _refuse_unknown_station(shoot, fields, name)
    station = Station.objects.create(
        shoot=shoot, level=fields["space"].level, logged_by=by.person, logged_at=now, **fields
    )
    record(
        by=by, now=now, verb="station-logged", text=_("logged station %s") % station, subject=station, job=shoot.number
    )
    log_changed(shoot, now)
    return station


@transaction.atomic
def remove_station(*, station: Station, by: Actor, now: datetime) -> None:
    """Take a station out of the log; the event log keeps that it was there."""
    shoot = open_log(station.shoot)
    text = _("took station %s out of the walk") % station
    record(by=by, now=now, verb="station-removed", text=text, subject=station, job=shoot.number)
    bury(shoot, [station.uuid], now)
    station.delete()
    log_changed(shoot, now)


@transaction.atomic
def import_walk(*, shoot: Shoot, content: bytes, file_name: str, by: Actor, now: datetime) -> list[Station]:
    """Replace the log by a WALK file; refused whole when one row cannot be stored."""
    shoot = open_log(shoot)
    shape = _shape(shoot)
    walked = _read(content, file_name, shape)
    _refuse_what_does_not_fit(walked, shape)
    bury(shoot, shoot.stations.values_list("uuid", flat=True), now)
    shoot.stations.all().delete()
    stations = Station.objects.bulk_create(_rows(shoot, walked, by, now))
    text = _("brought in a walk of %d stations") % len(stations)
    record(by=by, now=now, verb="walk-imported", text=text, subject=shoot, job=shoot.number)
    log_changed(shoot, now)
    return stations


def open_log(shoot: Shoot) -> Shoot:
    """The shoot, locked, if its walk may still change."""
    shoot = locked(shoot)
    if shoot.state not in LOGGED_IN:
        raise Refused(_("The walk of a %s shoot cannot change.") % shoot.get_state_display().lower())
    return shoot


def bury(shoot: Shoot, uuids: Iterable[UUID], now: datetime) -> None:
    """Remember what was taken out, so that a phone that sends it again, late, does not bring it back."""
    RemovedStation.objects.bulk_create(
        [RemovedStation(uuid=uuid, shoot=shoot, removed_at=now) for uuid in uuids], ignore_conflicts=True
    )


def log_changed(shoot: Shoot, now: datetime) -> None:
    """After the capture the tasks that stand on the walk follow its changes."""
    if shoot.state == ShootState.CAPTURED:
        renew_walk_tasks(shoot=shoot, verdict=judge(shoot), now=now)


def _rows(shoot: Shoot, walked: tuple[WalkStation, ...], by: Actor, now: datetime) -> Iterator[Station]:
    levels = {level.number: level for level in shoot.property.levels.all()}
    spaces = {space.code: space for space in shoot.property.spaces.all()}
    openings = {opening.code: opening for opening in shoot.property.openings.all()}
    for row in walked:
        yield Station(
            shoot=shoot,
            number=row.number,
            level=levels[row.level],
            space=spaces[row.space],
            captured_for=row.captured_for,
            pair_of=row.pair_of,
            opening=openings[row.opening] if row.opening else None,
            ties_to=row.ties_to,
            x=_stored(row.x),
            y=_stored(row.y),
            logged_by=by.person,
            logged_at=now,
        )


def _stored(metres: Decimal | None) -> Decimal | None:
    return None if metres is None else half_up(metres, MILLIMETRE)


def _shape(shoot: Shoot) -> PropertyShape:
    return shape_of(Property.objects.with_shape().get(pk=shoot.property_id))


def _refuse_unknown_station(shoot: Shoot, fields: dict[str, Any], name: str) -> None:
    number = fields.get(name)
    if number and not shoot.stations.filter(number=number).exists():
        raise Refused(_("There is no station %d in the log.") % number, field=name)


def _read(content: bytes, file_name: str, shape: PropertyShape) -> tuple[WalkStation, ...]:
    try:
        return parse_walk(content.decode("utf-8-sig"), shape, file_name)
    except UnicodeDecodeError:
        raise Refused(_("%s: expected UTF-8 text.") % file_name, field="walk") from None
    except BadInput as refusal:
        raise Refused(str(refusal), field="walk") from None


def _refuse_what_does_not_fit(walked: tuple[WalkStation, ...], shape: PropertyShape) -> None:
    """What a file may hold and the log may not: a space or level the property lacks, a number twice."""
    seen: set[int] = set()
    for row, station in enumerate(walked, 1):
        facts = {"row": row, "space": station.space, "level": station.level, "number": station.number}
        space = shape.space_by_code.get(station.space)
        if space is None:
            raise Refused(_("Row %(row)d: the property has no space “%(space)s”.") % facts, field="walk")
        if station.level not in shape.levels_of(space):
            raise Refused(_("Row %(row)d: “%(space)s” is not on level %(level)d.") % facts, field="walk")
        if any(abs(metres) >= FARTHEST_M for metres in station.spot or ()):
            raise Refused(_("Row %(row)d: expected metres within 99 km.") % facts, field="walk")
        if station.number in seen:
            raise Refused(_("Row %(row)d: station %(number)d stands twice.") % facts, field="walk")
        seen.add(station.number)
