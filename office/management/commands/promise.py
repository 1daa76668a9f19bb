"""When work is due, or the working hours between two times, from a calendar file."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any, TypeVar

from django.core.management.base import CommandParser
from pydantic import TypeAdapter, ValidationError

from office.management.rule_command import RuleCommand
from office.rules.calendar import Calendar, instant_from_text, read_calendar
from office.rules.money import half_up
from office.rules.reading import BadInput, NotNegative, expectation
from office.rules.worktime import NeverDue, due, working_hours

T = TypeVar("T")

SHOWN_HOURS = Decimal("0.0001")
"""Four places, 0.36 s: hours that differ by a second are written apart."""


class Command(RuleCommand):
    help = "When HOURS of working time after START have passed, or with --until the working hours between."

    def add_files(self, parser: CommandParser) -> None:
        parser.add_argument("calendar", metavar="CALENDAR.json", help="zone, hours by weekday, holidays")
        parser.add_argument("start", metavar="START", help="a time with its offset: 2026-11-25T15:00:00-06:00")
        parser.add_argument("hours", metavar="HOURS", nargs="?", help="working hours, a decimal")
        parser.add_argument("--until", metavar="END", help="a time with its offset; gives the hours between")

    def compute(self, options: dict[str, Any]) -> dict[str, Any]:
        if (options["hours"] is None) == (options["until"] is None):
            raise BadInput("HOURS", "", "expected either HOURS or --until END")
        calendar = read_calendar(options["calendar"])
        if options["until"] is not None:
            return hours_between(calendar, options["start"], options["until"])
        return promise(calendar, options["start"], options["hours"])

    def table(self, answer: dict[str, Any]) -> list[str]:
        return [f"{name:<6} {value}" for name, value in answer.items()]


def promise(calendar: Calendar, start: str, hours: str) -> dict[str, str]:
    began = _taken("START", instant_from_text, start)
    work = _taken("HOURS", hours_from_text, hours)
    try:
        return {"due": due(calendar, began, work).isoformat()}
    except NeverDue as never:
        raise BadInput("HOURS", "", str(never)) from None


def hours_between(calendar: Calendar, start: str, end: str) -> dict[str, str]:
    began = _taken("START", instant_from_text, start)
    ended = _taken("--until", instant_from_text, end)
    if ended < began:
        raise BadInput("--until", "", f"expected a time at or after START, found {end}")
    return {"hours": str(half_up(working_hours(calendar, began, ended), SHOWN_HOURS))}


def hours_from_text(text: str) -> Decimal:
    try:
        return TypeAdapter(NotNegative).validate_python(text)
    except ValidationError as error:
        raise ValueError(expectation(error.errors(include_url=False)[0])) from None


def _taken(name: str, take: Callable[[str], T], text: str) -> T:
    try:
        return take(text)
    except ValueError as error:
        raise BadInput(name, "", str(error)) from None
