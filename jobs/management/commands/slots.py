"""Times at which a visit fits into the crews' days, from a terminal."""

from typing import Any

from django.core.management.base import CommandParser

from jobs.rules.slots import Slot, find_slots
from jobs.rules.slots_file import read_request
from jobs.rules.travel import ESTIMATE
from office.management.rule_command import RuleCommand


class Command(RuleCommand):
    help = "Arrival windows that fit a visit into the crews' days, least added travel first, each with its reason."

    def add_files(self, parser: CommandParser) -> None:
        parser.add_argument("request", metavar="REQUEST.json", help="the visit, the days, places, crews and bookings")

    def compute(self, options: dict[str, Any]) -> dict[str, Any]:
        request = read_request(options["request"])
        slots = [_written(slot) for slot in find_slots(request)]
        return {"place": request.at.name, "minutes": request.minutes, "slots": slots, "travel": ESTIMATE}

    def table(self, answer: dict[str, Any]) -> list[str]:
        if not answer["slots"]:
            return [f"No time fits a visit of {answer['minutes']} minutes at {answer['place']} on these days."]
        lines = [_line(slot) for slot in answer["slots"]]
        return [f"{answer['place']}, {answer['minutes']} minutes on site", *lines, f"Travel: {answer['travel']}"]


def _written(slot: Slot) -> dict[str, Any]:
    return {
        "crew": slot.crew,
        "arrive_from": slot.arrive_from.isoformat(),
        "arrive_to": slot.arrive_to.isoformat(),
        "leaves_by": slot.leaves_by.isoformat(),
        "travel_there_minutes": slot.travel_there,
        "travel_on_minutes": slot.travel_on,
        "added_travel_minutes": slot.added_travel,
        "why": slot.why,
    }


def _line(slot: dict[str, Any]) -> str:
    day, clock, until = slot["arrive_from"][:10], slot["arrive_from"][11:16], slot["arrive_to"][11:16]
    return f"{day}  {clock}–{until}  {slot['crew']}  +{slot['added_travel_minutes']} min  {slot['why']}"
