"""The base of every command that runs a rule on files, without a database."""

import json
import sys
from abc import abstractmethod
from typing import Any, NoReturn

from django.core.management.base import BaseCommand, CommandParser

from office.rules.reading import BadInput


class RuleCommand(BaseCommand):
    """Reads files, computes, prints a table for people or one JSON object with `--json`.

    A subclass writes `add_files`, `compute` (the JSON answer) and `table` (lines for people).
    Bad input ends with exit status 2 and one line on standard error.
    """

    requires_system_checks: list[str] = []
    stealth_options = ("json",)

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> CommandParser:
        """A parser that refuses in one line, without the usage text."""
        parser = super().create_parser(prog_name, subcommand, **kwargs)
        parser.error = lambda message: _refuse(f"{subcommand}: {message}")  # type: ignore[method-assign,assignment]
        return parser

    def add_arguments(self, parser: CommandParser) -> None:
        self.add_files(parser)
        parser.add_argument("--json", action="store_true", help="print one JSON object and nothing else")

    @abstractmethod
    def add_files(self, parser: CommandParser) -> None:
        """Declare the command's own arguments."""

    @abstractmethod
    def compute(self, options: dict[str, Any]) -> dict[str, Any]:
        """The answer as the contract's JSON object; raises `BadInput`."""

    @abstractmethod
    def table(self, answer: dict[str, Any]) -> list[str]:
        """The answer as lines for people."""

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            answer = self.compute(options)
        except BadInput as refusal:
            _refuse(str(refusal))
        if options["json"]:
            self.stdout.write(json.dumps(answer, ensure_ascii=False))
        else:
            self.stdout.write("\n".join(self.table(answer)))


def _refuse(text: str) -> NoReturn:
    sys.stderr.write(" ".join(text.split()) + "\n")
    raise SystemExit(2) from None
