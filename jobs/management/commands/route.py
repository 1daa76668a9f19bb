"""The best order of one crew's day, from a terminal."""

from typing import Any

from django.core.management.base import CommandParser

from jobs.rules.route import DayRoute, Route, best_route, read_stops
from office.management.rule_command import RuleCommand


class Command(RuleCommand):
    help = "The order of least travel along home → stops → home in which every stop is served within its window."

    def add_files(self, parser: CommandParser) -> None:
        parser.add_argument("stops", metavar="STOPS.json", help="minutes of travel, stops with windows, home first")

    def compute(self, options: dict[str, Any]) -> dict[str, Any]:
        found = best_route(read_stops(options["stops"]))
        answer = _answer(found.route) if found.feasible else _refusal(found)
        return answer if found.proved else answer | {"proved": False}

    def table(self, answer: dict[str, Any]) -> list[str]:
        lines = [] if answer["feasible"] else ["No order serves every stop. Cannot be met:", *answer["cannot_be_met"]]
        served = answer if answer["feasible"] else answer["without_them"]
        if served:
            lines += [f"{_clock(at)}  {stop}" for stop, at in zip(served["order"], served["arrivals"], strict=True)]
            lines.append(f"{served['travel_minutes']} minutes of travel")
        return lines if answer.get("proved", True) else [*lines, "The best found; the day is too large for a proof."]


def _answer(route: Route | None) -> dict[str, Any]:
    if route is None:
        return {}
    return {"order": route.order, "arrivals": route.arrivals, "travel_minutes": route.travel_minutes, "feasible": True}


def _refusal(found: DayRoute) -> dict[str, Any]:
    rest = _answer(found.route)
    rest.pop("feasible", None)
    return {
        "order": [],
        "arrivals": [],
        "travel_minutes": None,
        "feasible": False,
        "cannot_be_met": found.cannot_be_met,
        "without_them": rest or None,
    }


def _clock(minutes: int) -> str:
    """Minutes since midnight as a time of day; past midnight the days are counted on."""
    days, minute = divmod(minutes, 1440)
    return f"{minute // 60:02}:{minute % 60:02}" + (f" +{days}" if days else "")
