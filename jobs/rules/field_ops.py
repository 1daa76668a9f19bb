"""What a phone in the field sends: stations logged, taken out and remarked on, in the order in which it was done.

    {"ops": [{"kind": "log", "uuid": "…", "number": 5, "space": "K1", "level": null, "pass": "plan", "opening": "D4",
              "pair_of": null, "ties_to": null, "after": "…", "note": "", "at": "2027-03-03T15:12:00Z"},
             {"kind": "remove", "uuid": "…"},
             {"kind": "note", "uuid": "…", "note": "door sticks"}]}

Other stations are named by the uuid that a phone made for them, as their numbers may still change.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Literal
from uuid import UUID

from pydantic import AwareDatetime, Field, StringConstraints
from pydantic.dataclasses import dataclass as read_dataclass

from jobs.rules.walk import HIGHEST_NUMBER, Pass
from office.rules.reading import STRICT, BadInput, parse_json

MOST_OPS = 500
LONGEST_NOTE = 200
SENT = "what the phone sent"

Note = Annotated[str, StringConstraints(max_length=LONGEST_NOTE)]
Code = Annotated[str, StringConstraints(min_length=1, max_length=100)]


@read_dataclass(frozen=True, config=STRICT)
class LogStation:
    """`after` is the station that this phone logged just before; None when the number was chosen by hand."""

    kind: Literal["log"]
    uuid: UUID
    number: Annotated[int, Field(ge=1, le=HIGHEST_NUMBER)]
    space: Code
    captured_for: Annotated[Pass, Field(alias="pass")]
    at: AwareDatetime
    level: int | None = None
    opening: Code | None = None
    pair_of: UUID | None = None
    ties_to: UUID | None = None
    after: UUID | None = None
    note: Note = ""


@read_dataclass(frozen=True, config=STRICT)
class RemoveStation:
    kind: Literal["remove"]
    uuid: UUID


@read_dataclass(frozen=True, config=STRICT)
class WriteNote:
    kind: Literal["note"]
    uuid: UUID
    note: Note


@dataclass(frozen=True)
class Unread:
    """One thing that could not be read, and why; the rest of the batch is taken all the same."""

    uuid: str
    why: str


Op = LogStation | RemoveStation | WriteNote
_KINDS: dict[object, type[Op]] = {"log": LogStation, "remove": RemoveStation, "note": WriteNote}


@read_dataclass(frozen=True, config=STRICT)
class _Batch:
    ops: list[dict[str, object]]


def parse_ops(text: str) -> Sequence[Op | Unread]:
    """The batch, one entry for each op that was sent; raises `BadInput` when it is no batch at all."""
    batch = parse_json(text, _Batch, SENT)
    if len(batch.ops) > MOST_OPS:
        raise BadInput(SENT, "ops", f"expected at most {MOST_OPS}")
    return [_read(op, place) for place, op in enumerate(batch.ops)]


def _read(op: dict[str, object], place: int) -> Op | Unread:
    kind = _KINDS.get(op.get("kind") if isinstance(op.get("kind"), str) else None)
    if kind is None:
        return Unread(_uuid(op), f"ops[{place}].kind: expected log, remove or note")
    try:
        return parse_json(json.dumps(op), kind, SENT)
    except BadInput as refusal:
        return Unread(_uuid(op), f"ops[{place}].{refusal.path}: {refusal.expected}")


def _uuid(op: dict[str, object]) -> str:
    return str(op.get("uuid", ""))[:36]


def when_logged(told: datetime, now: datetime, earliest: datetime) -> datetime:
    """The phone's own time where it can be true, else now: a phone's clock may be wrong by years."""
    return told if earliest <= told <= now else now
