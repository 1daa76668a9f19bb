"""A client's statement: what was billed and paid between two days, with the balance after each."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from .standing import ZERO


@dataclass(frozen=True)
class Movement:
    """One event on a client's account: positive raises what the client owes, negative lowers it."""

    on: date
    text: str
    number: str
    amount: Decimal


@dataclass(frozen=True)
class StatementLine:
    movement: Movement
    balance: Decimal


@dataclass(frozen=True)
class Statement:
    """Opening balance, lines in order, closing balance; a negative balance is the client's credit."""

    from_on: date
    to_on: date
    opening: Decimal
    lines: tuple[StatementLine, ...]

    @property
    def closing(self) -> Decimal:
        return self.lines[-1].balance if self.lines else self.opening


def statement(movements: Iterable[Movement], from_on: date, to_on: date) -> Statement:
    """The statement of both days inclusive; `movements` are all that the client ever had, in one currency."""
    ordered = sorted(movements, key=lambda movement: movement.on)
    opening = sum((movement.amount for movement in ordered if movement.on < from_on), ZERO)
    lines, balance = [], opening
    for movement in ordered:
        if from_on <= movement.on <= to_on:
            balance += movement.amount
            lines.append(StatementLine(movement, balance))
    return Statement(from_on, to_on, opening, tuple(lines))
