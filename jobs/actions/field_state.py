"""What a phone needs to log a walk without a signal: the property, the plan, the log so far, the verdict."""

import hashlib
import json
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from django.utils.translation import gettext as _

from jobs.models import Property, Shoot, ShootState, Station
from jobs.rules.walkcheck import WalkVerdict
from jobs.rules.walkplan import PlannedStation
from office.models import Person

from .shapes import shape_json
from .verdicts import judge, planned_walk
from .walks import LOGGED_IN

LOOKS_BACK, LOOKS_AHEAD = timedelta(hours=18), timedelta(days=3)


def visits_of(person: Person, now: datetime) -> list[dict[str, Any]]:
    """The person's visits from last night on, as the list of the field pages shows them."""
    shoots = (
        Shoot.objects.with_people()
        .filter(crew=person, state__in=(ShootState.CONFIRMED, ShootState.CAPTURED))
        .between(now - LOOKS_BACK, now + LOOKS_AHEAD)
    )
    return [_visit(shoot) for shoot in shoots]


def field_state(shoot: Shoot, person: Person) -> dict[str, Any]:
    """All of it. Never an entry code: what a phone keeps, a finder of the phone reads."""
    house = Property.objects.with_shape().get(pk=shoot.property_id)
    shape, plan = shape_json(house), _plan(planned_walk(shoot))
    return {
        "visit": _visit(shoot),
        "person": {"id": person.pk, "name": str(person)},
        "shape": shape,
        "plan": plan,
        "shape_key": _key(shape, plan),
        "log": field_log(shoot),
    }


def field_log(shoot: Shoot) -> dict[str, Any]:
    """What changes while the crew walks: the stations, the verdict, the shoot's state."""
    with_photo = set(shoot.photos.exclude(station=None).values_list("station_id", flat=True))
    return {
        "state": shoot.state,
        "is_open": shoot.state in LOGGED_IN,
        "stations": [_station(station, with_photo) for station in shoot.stations.in_order()],
        "verdict": _verdict(judge(shoot)),
    }


def _station(station: Station, with_photo: set[int]) -> dict[str, Any]:
    return {
        "uuid": str(station.uuid), "number": station.number, "level": station.level.number,
        "space": station.space.code, "pass": station.captured_for, "pair_of": station.pair_of,
        "opening": station.opening.code if station.opening else None, "ties_to": station.ties_to,
        "note": station.note, "has_photo": station.pk in with_photo,
    }  # fmt: skip


def _verdict(verdict: WalkVerdict) -> dict[str, Any]:
    return {
        "keep_out": list(verdict.keep_out),
        "tour_pieces": verdict.tour_pieces,
        "findings": [
            {
                "code": found.code, "severity": found.severity, "space": found.space, "station": found.station,
                "text": found.text,
            }
            for found in verdict.findings
        ],
    }  # fmt: skip


def current_shape_key(shoot: Shoot) -> str:
    """Changes when the property or the plan does, so that a phone knows to read them again."""
    house = Property.objects.with_shape().get(pk=shoot.property_id)
    return _key(shape_json(house), _plan(planned_walk(shoot)))


def _key(shape: dict[str, Any], plan: list[dict[str, Any]]) -> str:
    return hashlib.sha256(json.dumps([shape, plan], sort_keys=True).encode()).hexdigest()[:16]


def _visit(shoot: Shoot) -> dict[str, Any]:
    house = shoot.property
    return {
        "number": shoot.number,
        "address": house.address_lines,
        "package": shoot.package.covers,
        "package_name": str(shoot.package),
        "state_word": str(shoot.get_state_display()),
        "starts_at": shoot.starts_at.isoformat() if shoot.starts_at else None,
        "window_end": shoot.window_end.isoformat() if shoot.window_end else None,
        "zone": house.zone,
        "crew": [str(person) for person in shoot.crew.all()],
        "title": _("%(street)s, %(town)s") % {"street": house.address_lines[0], "town": house.town},
    }


def _plan(planned: Sequence[PlannedStation]) -> list[dict[str, Any]]:
    return [
        {
            "step": step.station.number, "level": step.station.level, "space": step.station.space,
            "pass": step.station.captured_for, "opening": step.station.opening, "pair_of": step.station.pair_of,
            "ties_to": step.station.ties_to, "text": step.text,
        }
        for step in planned
    ]  # fmt: skip
