"""What changed between two drafts of a plan, and whether anything changed at each pin."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Annotated, Any

from django.core.management.base import CommandParser
from pydantic import AfterValidator, BeforeValidator, Field
from pydantic.dataclasses import dataclass as read_dataclass

from deliverables.rules.compare import Pin, comparison_json
from deliverables.rules.plan.limits import PlanLimits, Unreadable
from deliverables.rules.sandbox import compare_drafts_apart
from office.management.rule_command import RuleCommand
from office.rules.reading import STRICT, BadInput, DecimalText, parse_json, read_text

from .plancheck import draft_content


def _as_decimal_text(value: object) -> object:
    return value if isinstance(value, bool) or not isinstance(value, int | float) else f"{Decimal(str(value)):f}"


def _within_page(value: Decimal) -> Decimal:
    if not 0 <= value <= 1:
        raise ValueError(f"expected a share of the page from 0 to 1, found {value}")
    return value


def _as_text(value: object) -> object:
    return str(value) if isinstance(value, int) and not isinstance(value, bool) else value


Share = Annotated[DecimalText, BeforeValidator(_as_decimal_text), AfterValidator(_within_page)]
PinId = Annotated[str, BeforeValidator(_as_text), Field(min_length=1, max_length=100)]


@read_dataclass(frozen=True, config=STRICT)
class PinRow:
    """A pin of PINS: where on which page of the old draft, as shares of the page from its left and top."""

    id: PinId
    page: Annotated[int, Field(ge=1)]
    x: Share
    y: Share


@read_dataclass(frozen=True, config=STRICT)
class PinsFile:
    """PINS: `{"pins": [{"id": "7", "page": 1, "x": "0.42", "y": "0.31"}]}`, or the list alone."""

    pins: tuple[PinRow, ...]


class Command(RuleCommand):
    help = (
        "Compare two drafts (PDF, PNG, JPEG, TIFF). A page only shifted or saved again has not changed. "
        'PINS.json: {"pins": [{"id": "7", "page": 1, "x": "0.42", "y": "0.31"}]}, places on OLD as shares of its page.'
    )

    def add_files(self, parser: CommandParser) -> None:
        parser.add_argument("old", metavar="OLD", help="the earlier draft; - for standard input")
        parser.add_argument("new", metavar="NEW", help="the later draft; - for standard input")
        parser.add_argument("--pins", metavar="PINS.json", help="places on OLD to report on")

    def compute(self, options: dict[str, Any]) -> dict[str, Any]:
        sources = (options["old"], options["new"])
        if [*sources, options["pins"]].count("-") > 1:
            raise BadInput("-", "", "expected standard input for one file only")
        pins = read_pins(options["pins"]) if options["pins"] is not None else []
        limits = PlanLimits()
        old, new = (draft_content(source, limits) for source in sources)
        try:
            comparison = compare_drafts_apart(old, new, pins, limits)
        except Unreadable as refusal:
            raise BadInput(sources[refusal.file], "", f"expected a readable plan ({refusal})") from None
        _refuse_unmet(pins, comparison.old_pages, options["pins"])
        return comparison_json(comparison)

    def table(self, answer: dict[str, Any]) -> list[str]:
        right, down = answer["shift_px"]
        return [
            f"shift    {right} px right, {down} px down",
            *(f"changed  {_region(change)}" for change in answer["changed"]),
            *([] if answer["changed"] else ["nothing changed"]),
            *(f"pin {pin['id']:<5} {'changed' if pin['changed'] else 'as before'}" for pin in answer["pins"]),
        ]


def read_pins(source: str) -> list[Pin]:
    """The pins in a PINS file; raises `BadInput`."""
    text = read_text(source)
    if text.lstrip().startswith("["):
        text = f'{{"pins": {text}}}'
    rows = parse_json(text, PinsFile, source).pins
    seen: set[str] = set()
    for index, row in enumerate(rows):
        if row.id in seen:
            raise BadInput(source, f"pins[{index}].id", f"expected each id once, found {row.id!r} again")
        seen.add(row.id)
    return [Pin(row.id, row.page, row.x, row.y) for row in rows]


def _refuse_unmet(pins: Sequence[Pin], pages: int, source: str) -> None:
    for index, pin in enumerate(pins):
        if pin.page > pages:
            raise BadInput(
                source, f"pins[{index}].page", f"expected a page of the old draft, 1 to {pages}, found {pin.page}"
            )


def _region(change: dict[str, Any]) -> str:
    size = f"{change['width']} × {change['height']} px at {change['x']}, {change['y']}"
    return f"page {change['page']}: {size}, {Decimal(change['share']):.1%} of the page"
