"""Each drafter's turnaround and kept promises, from a file of orders."""

from dataclasses import asdict
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

from django.core.management.base import CommandParser

from deliverables.rules.turnaround import Order, last_known, read_orders, records
from office.management.rule_command import RuleCommand
from office.rules.calendar import instant_from_text, read_calendar
from office.rules.reading import BadInput

HEADINGS = ("drafter", "orders", "still out", "on time %", "median h", "90 % h")
KEYS = ("orders", "still_out", "on_time_percent", "median_hours", "p90_hours")


class Command(RuleCommand):
    help = "Turnaround and kept promises of each drafter; orders still out are counted as not yet back."

    def add_files(self, parser: CommandParser) -> None:
        parser.add_argument("orders", metavar="ORDERS.csv", help="drafter,sent_at,promised_at,received_at")
        parser.add_argument("--calendar", metavar="CALENDAR.json", help="the drafters' working hours; else clock hours")
        parser.add_argument("--now", metavar="TIME", help="how long orders are out is reckoned up to here; default now")

    def compute(self, options: dict[str, Any]) -> dict[str, Any]:
        if options["calendar"] == options["orders"] == "-":
            raise BadInput("-", "", "expected standard input for one file only")
        orders = read_orders(options["orders"])
        calendar = read_calendar(options["calendar"]) if options["calendar"] is not None else None
        found = records(orders, as_of(options["now"], orders), calendar)
        return {name: {key: as_json(value) for key, value in asdict(record).items()} for name, record in found.items()}

    def table(self, answer: dict[str, Any]) -> list[str]:
        rows = [HEADINGS, *((name, *(shown(record[key]) for key in KEYS)) for name, record in answer.items())]
        widths = [max(len(row[column]) for row in rows) for column in range(len(HEADINGS))]
        return ["  ".join([row[0].ljust(widths[0]), *map(str.rjust, row[1:], widths[1:])]) for row in rows]


def as_of(text: str | None, orders: list[Order]) -> datetime:
    """The time given, or now; a file that knows of later times than the clock is read as of the last of them."""
    last = max(map(last_known, orders), default=datetime.now(UTC))
    if text is None:
        return max(datetime.now(UTC), last)
    try:
        now = instant_from_text(text)
    except ValueError as error:
        raise BadInput("--now", "", str(error)) from None
    if now < last:
        raise BadInput("--now", "", f"expected a time at or after all that was sent and received, {last.isoformat()}")
    return now


def as_json(value: Decimal | int | None) -> str | int | None:
    return str(value) if isinstance(value, Decimal) else value


def shown(value: str | int | None) -> str:
    return "not yet known" if value is None else str(value)
