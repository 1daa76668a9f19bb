"""Price many past jobs under another rate card."""

from typing import Any

from django.core.management.base import CommandParser

from billing.rules.card import NotOnCard, read_card
from office.management.rule_command import RuleCommand


class Command(RuleCommand):
    help = "Prices many jobs under a rate card, to the cent as `price` does one."

    def add_files(self, parser: CommandParser) -> None:
        parser.add_argument("card", metavar="CARD.json", help="the rate card, - for standard input")
        parser.add_argument("jobs", metavar="JOBS.csv", help="the jobs, one a line, - for standard input")
        parser.add_argument("--each", action="store_true", help="also give the total of every job")

    def compute(self, options: dict[str, Any]) -> dict[str, Any]:
        from billing.rules.job_columns import JobsFile
        from billing.rules.reprice import reprice, repriced_to_json

        card, file = read_card(options["card"]), JobsFile(options["jobs"])
        try:
            return repriced_to_json(reprice(card, file.jobs), file.jobs, each=options["each"])
        except NotOnCard as refusal:
            raise file.refusal(refusal.row or 0, refusal.path, refusal.expected) from None

    def table(self, answer: dict[str, Any]) -> list[str]:
        packages = [_row(name, sums) for name, sums in answer["by_package"].items()]
        heading = f"{'':<24} {'jobs':>9} {'net':>16} {'taxes':>16} {'total':>16}"
        return [heading, *packages, _row("All", answer), *answer.get("per_job", [])]


def _row(name: str, sums: dict[str, Any]) -> str:
    return f"{name:<24} {sums['jobs']:>9,} {sums['net']:>16} {sums['taxes']:>16} {sums['total']:>16}"
