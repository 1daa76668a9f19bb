"""Which stations to capture in a property, in order, and what to do at each."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

from django.core.management.base import CommandParser
from pydantic import TypeAdapter, ValidationError

from jobs.rules.property_shape import PropertyShape, read_property, taken_package
from jobs.rules.walkplan import PlannedStation, Spacing, plan_walk
from jobs.rules.walkplan_house import LARGEST_M2
from office.management.rule_command import RuleCommand
from office.rules.reading import BadInput, Positive, expectation, read_json

CLOSEST_M, WIDEST_M = Decimal("0.5"), Decimal(10)


class Command(RuleCommand):
    help = "Which stations to capture in a property, in order, and what to do at each."

    def add_files(self, parser: CommandParser) -> None:
        parser.add_argument("property", metavar="PROPERTY.json", help="levels, spaces, openings, entrance")
        parser.add_argument("--package", metavar="tour|plan|both", help="what the client ordered")
        parser.add_argument("--areas", metavar="AREAS.json", help='square metres by space: {"K": "12.50"}')
        parser.add_argument("--spacing", metavar="METRES", default="2", help="a station to every square of this side")

    def compute(self, options: dict[str, Any]) -> dict[str, Any]:
        package = taken_package(options["package"])
        spacing = replace(Spacing(), metres=_metres(options["spacing"]))
        shape = read_property(options["property"])
        areas = _areas(options["areas"], shape) if options["areas"] else {}
        return {"stations": [_row(planned) for planned in plan_walk(shape, package, spacing, areas)]}

    def table(self, answer: dict[str, Any]) -> list[str]:
        return [f"{s['station']:>4}  {s['level']:>3}  {s['pass']:<4}  {s['text']}" for s in answer["stations"]]


def _row(planned: PlannedStation) -> dict[str, Any]:
    station = planned.station
    return {
        "station": station.number,
        "level": station.level,
        "space": station.space,
        "pass": station.captured_for,
        "pair_of": station.pair_of,
        "opening": station.opening,
        "ties_to": station.ties_to,
        "text": planned.text,
    }


def _metres(text: str) -> Decimal:
    try:
        metres = TypeAdapter(Positive).validate_python(text)
    except ValidationError as error:
        raise BadInput("--spacing", "", expectation(error.errors(include_url=False)[0])) from None
    if not CLOSEST_M <= metres <= WIDEST_M:
        raise BadInput("--spacing", "", f"expected metres from {CLOSEST_M} to {WIDEST_M}, found {metres}")
    return metres


def _areas(source: str, shape: PropertyShape) -> dict[str, Decimal]:
    areas = read_json(source, dict[str, Positive])
    for code, area in areas.items():
        if code not in shape.space_by_code:
            raise BadInput(source, code[:60], "unknown space")
        if area > LARGEST_M2:
            raise BadInput(source, code, f"expected at most {LARGEST_M2} m²")
    return areas
