"""Price a job under a rate card."""

from typing import Any

from django.core.management.base import CommandParser

from billing.rules.pricing import NotOnCard, price, priced_to_json, read_card, read_job
from office.management.rule_command import RuleCommand
from office.rules.reading import BadInput


class Command(RuleCommand):
    help = "Prices a job under a rate card, line by line, each line with its reason."

    def add_files(self, parser: CommandParser) -> None:
        parser.add_argument("card", metavar="CARD.json", help="the rate card, - for standard input")
        parser.add_argument("job", metavar="JOB.json", help="the job, - for standard input")

    def compute(self, options: dict[str, Any]) -> dict[str, Any]:
        card, job = read_card(options["card"]), read_job(options["job"])
        try:
            return priced_to_json(price(card, job))
        except NotOnCard as refusal:
            raise BadInput(options["job"], refusal.path, refusal.expected) from None

    def table(self, answer: dict[str, Any]) -> list[str]:
        lines = [_row(line["text"], line["amount"], line["why"]) for line in answer["lines"]]
        taxes = [
            _row(f"{tax['name']} {tax['percent']}%", tax["amount"], f"on {tax['base']}") for tax in answer["taxes"]
        ]
        return [*lines, _row("Net", answer["net"]), *taxes, _row(f"Total, {answer['currency']}", answer["total"])]


def _row(text: str, amount: str, why: str = "") -> str:
    return f"{text:<32} {amount:>12}   {why}".rstrip()
