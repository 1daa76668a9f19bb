"""Taking in what a phone logged, in the server's order; the same thing sent twice counts once."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from jobs.models import Opening, Property, RemovedStation, Shoot, Space, Station
from jobs.rules.field_ops import LogStation, Op, RemoveStation, Unread, WriteNote, when_logged
from jobs.rules.property_shape import PropertyShape
from jobs.rules.station_numbers import given_number
from office.actions.actors import Actor
from office.actions.events import record
from office.errors import Refused

from .shapes import shape_of
from .walks import bury, log_changed, open_log

CLOCK_MAY_BE_EARLY = timedelta(hours=12)


@dataclass(frozen=True)
class Taken:
    """What became of one op: `number` is the station's, None when it is not in the log; `why` is set when refused."""

    uuid: str
    number: int | None = None
    why: str = ""

    @property
    def answer(self) -> dict[str, Any]:
        return {"uuid": self.uuid, "number": self.number, "why": self.why, "taken": not self.why}


@transaction.atomic
def sync_walk(*, shoot: Shoot, ops: Sequence[Op | Unread], by: Actor, now: datetime) -> list[Taken]:
    """Do what the phone did, in its order, after all that came before. One op that cannot be taken stops no other."""
    shoot = open_log(shoot)
    desk = _Desk(shoot, by, now)
    taken = [desk.take(op) for op in ops]
    desk.tell()
    if desk.has_changed:
        log_changed(shoot, now)
    return taken


@dataclass
class _Desk:
    """The log of one shoot while a batch is taken in."""

    shoot: Shoot
    by: Actor
    now: datetime
    logged: list[int] = field(default_factory=list)
    removed: list[int] = field(default_factory=list)
    noted: list[int] = field(default_factory=list)

    def __post_init__(self) -> None:
        house = Property.objects.with_shape().get(pk=self.shoot.property_id)
        self.shape: PropertyShape = shape_of(house)
        self.levels = {level.number: level for level in house.levels.all()}
        self.spaces: dict[str, Space] = {space.code: space for space in house.spaces.all()}
        self.openings: dict[str, Opening] = {opening.code: opening for opening in house.openings.all()}
        self.stations: dict[UUID, Station] = {station.uuid: station for station in self.shoot.stations.all()}
        self.gone: set[UUID] = set(self.shoot.removed_stations.values_list("uuid", flat=True))
        self.earliest = (self.shoot.starts_at or self.now) - CLOCK_MAY_BE_EARLY

    @property
    def has_changed(self) -> bool:
        return bool(self.logged or self.removed or self.noted)

    def take(self, op: Op | Unread) -> Taken:
        try:
            if isinstance(op, LogStation):
                return self._log(op)
            if isinstance(op, RemoveStation):
                return self._remove(op)
            return self._note(op) if isinstance(op, WriteNote) else Taken(op.uuid, why=op.why)
        except Refused as refusal:
            return Taken(str(op.uuid), why=refusal.message)

    def tell(self) -> None:
        """One event for the batch, so that a walk of eighty stations does not fill the job's history."""
        logged = ngettext("logged station %s by phone", "logged stations %s by phone", len(self.logged))
        removed = ngettext("took out station %s by phone", "took out stations %s by phone", len(self.removed))
        for numbers, text in ((self.logged, logged), (self.removed, removed)):
            if numbers:
                told = text % ", ".join(map(str, numbers))
                record(
                    by=self.by, now=self.now, verb="walk-synced", text=told, subject=self.shoot, job=self.shoot.number
                )

    def _log(self, op: LogStation) -> Taken:
        known = self.stations.get(op.uuid)
        if known or op.uuid in self.gone:
            return Taken(str(op.uuid), known.number if known else None)
        self._refuse_foreign(op.uuid)
        station = Station.objects.create(
            uuid=op.uuid, shoot=self.shoot, number=self._number(op), captured_for=op.captured_for, note=op.note,
            pair_of=self._number_of(op.pair_of), ties_to=self._number_of(op.ties_to), logged_by=self.by.person,
            logged_at=when_logged(op.at, self.now, self.earliest), **self._place(op),
        )  # fmt: skip
        self.stations[op.uuid] = station
        self.logged.append(station.number)
        return Taken(str(op.uuid), station.number)

    def _number(self, op: LogStation) -> int:
        return given_number(op.number, {s.number for s in self.stations.values()}, self._number_of(op.after))

    def _number_of(self, uuid: UUID | None) -> int | None:
        """The number a station has now; None when it was taken out meanwhile."""
        found = self.stations.get(uuid) if uuid else None
        return found.number if found else None

    def _place(self, op: LogStation) -> dict[str, Any]:
        space = self.spaces.get(op.space)
        if space is None:
            raise Refused(_("The property has no space “%s” any more.") % op.space)
        level = space.level.number if op.level is None else op.level
        if level not in self.shape.levels_of(self.shape.space_by_code[space.code]):
            raise Refused(_("“%(space)s” is not on level %(level)d.") % {"space": space, "level": level})
        if op.opening is not None and op.opening not in self.openings:
            raise Refused(_("The property has no opening “%s” any more.") % op.opening)
        opening = self.openings[op.opening] if op.opening else None
        return {"space": space, "level": self.levels[level], "opening": opening}

    def _refuse_foreign(self, uuid: UUID) -> None:
        if Station.objects.filter(uuid=uuid).exists() or RemovedStation.objects.filter(uuid=uuid).exists():
            raise Refused(_("This station belongs to another walk."))

    def _remove(self, op: RemoveStation) -> Taken:
        """Also of a station that never arrived: its log may still be on the way."""
        station = self.stations.pop(op.uuid, None)
        if op.uuid not in self.gone:
            if station is None:
                self._refuse_foreign(op.uuid)
            bury(self.shoot, [op.uuid], self.now)
            self.gone.add(op.uuid)
        if station:
            self.removed.append(station.number)
            station.delete()
        return Taken(str(op.uuid))

    def _note(self, op: WriteNote) -> Taken:
        station = self.stations.get(op.uuid)
        if station is None:
            return Taken(str(op.uuid))
        if station.note != op.note:
            station.note = op.note
            station.save(update_fields=["note"])
            self.noted.append(station.number)
        return Taken(str(op.uuid), station.number)
