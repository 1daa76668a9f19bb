"""Floor areas of a plan under a measuring rule."""

from typing import Any

from django.core.management.base import CommandParser

from deliverables.rules.area import Areas, Rule, measure
from deliverables.rules.area_plan import read_plan
from deliverables.rules.area_sums import COUNTED, Area
from office.management.rule_command import RuleCommand
from office.rules.reading import BadInput

WORDS = {"above_grade_finished": "above grade, finished", "below_grade_finished": "below grade, finished"}


class Command(RuleCommand):
    help = "Floor areas by level and grade under a measuring rule, with the notes that belong to them."

    def add_files(self, parser: CommandParser) -> None:
        parser.add_argument("plan", metavar="PLAN.json", help="levels, their parts and the ceilings over them")
        parser.add_argument("--rule", metavar="|".join(Rule), help="how to measure")

    def compute(self, options: dict[str, Any]) -> dict[str, Any]:
        rule = rule_named(options["rule"])
        sheet = measure(read_plan(options["plan"]), rule)
        return {
            "levels": [{"number": number, **areas_as_json(areas)} for number, areas in sheet.levels.items()],
            "totals": areas_as_json(sheet.totals),
            "notes": list(sheet.notes),
        }

    def table(self, answer: dict[str, Any]) -> list[str]:
        lines = [f"{'':<28}{'sq ft':>14}{'m²':>14}"]
        for level in answer["levels"]:
            lines += [f"Level {level['number']}", *rows(level)]
        return [*lines, "In all", *rows(answer["totals"]), "", *answer["notes"]]


def rule_named(name: str | None) -> Rule:
    if name not in list(Rule):
        raise BadInput("--rule", "", f"expected one of {', '.join(Rule)}")
    return Rule(name)


def areas_as_json(areas: Areas) -> dict[str, Any]:
    return {
        **{name: area_as_json(getattr(areas, name)) for name in COUNTED},
        "excluded": {name: area_as_json(area) for name, area in areas.excluded.items()},
    }


def area_as_json(area: Area) -> dict[str, str]:
    return {"sqft": str(area.sqft), "m2": str(area.m2)}


def rows(areas: dict[str, Any]) -> list[str]:
    """What counts, then what is left out and not nothing."""
    counted = [(WORDS.get(name, name), areas[name]) for name in COUNTED]
    left_out = [(f"left out: {name.replace('_', ' ')}", area) for name, area in areas["excluded"].items() if some(area)]
    return [f"  {word:<26}{area['sqft']:>14}{area['m2']:>14}" for word, area in counted + left_out]


def some(area: dict[str, str]) -> bool:
    return any(float(value) for value in area.values())
