"""What is wrong with a drafted plan: voids, missing levels and spaces, areas that disagree, contact details."""

import sys
from decimal import Decimal
from typing import Any

from django.core.management.base import CommandParser
from pydantic import TypeAdapter, ValidationError

from deliverables.rules.plan.limits import PlanLimits
from deliverables.rules.plan.names import ExpectedNames, expected_names
from deliverables.rules.plan.verdict import verdict_json
from deliverables.rules.sandbox import check_plan_apart
from jobs.rules.property_shape import PropertyShape, read_property
from office.management.rule_command import RuleCommand
from office.rules.reading import BadInput, Positive, expectation
from office.rules.units import AreaUnit, converted_area


class Command(RuleCommand):
    help = "Inspect a draft (PDF, PNG, JPEG, TIFF) for voids, missing levels and spaces, and areas that disagree."

    def add_files(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE", help="the draft; - for standard input")
        parser.add_argument("--property", metavar="PROPERTY.json", help="the levels and spaces the plan must name")
        parser.add_argument("--area", metavar="AREA", help="the stated floor area, with --unit")
        parser.add_argument("--unit", metavar="sqft|m2", help="the unit of --area")
        parser.add_argument(
            "--contact",
            metavar="TEXT",
            action="append",
            default=[],
            help="what an unbranded copy must not show; repeatable",
        )

    def compute(self, options: dict[str, Any]) -> dict[str, Any]:
        if options["file"] == options["property"] == "-":
            raise BadInput("-", "", "expected standard input for one file only")
        names = names_of(read_property(options["property"])) if options["property"] is not None else None
        area = stated_area_m2(options["area"], options["unit"])
        limits = PlanLimits()
        content = draft_content(options["file"], limits)
        return verdict_json(check_plan_apart(content, names, area, contacts(options["contact"]), limits))

    def table(self, answer: dict[str, Any]) -> list[str]:
        return [
            *(_page_line(page) for page in answer["pages"]),
            *(f"{f['severity']:<6} {f['code']:<15} {_where(f['page'])}{f['text']}" for f in answer["findings"]),
            *([] if answer["findings"] else ["nothing found"]),
        ]


def draft_content(source: str, limits: PlanLimits) -> bytes:
    """The bytes of a draft, `-` for standard input, cut off beyond the largest size read; raises `BadInput`."""
    try:
        if source == "-":
            return sys.stdin.buffer.read(limits.most_bytes + 1)
        with open(source, "rb") as file:
            return file.read(limits.most_bytes + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise BadInput(source, "", f"expected a readable file ({reason})") from None


def stated_area_m2(area: str | None, unit: str | None) -> Decimal | None:
    """The stated area in square metres; raises `BadInput` for one without the other or a unit that is none."""
    if area is None and unit is None:
        return None
    if area is None:
        raise BadInput("--area", "", "expected an area with --unit")
    if unit not in {each.value for each in AreaUnit}:
        raise BadInput("--unit", "", f"expected sqft or m2, found {'nothing' if unit is None else unit[:60]!r}")
    try:
        amount: Decimal = TypeAdapter(Positive).validate_python(area)
    except ValidationError as error:
        raise BadInput("--area", "", expectation(error.errors(include_url=False)[0])) from None
    return converted_area(amount, AreaUnit(unit), AreaUnit.M2)


def contacts(given: list[str]) -> list[str]:
    """The contact details to look for; raises `BadInput` for an empty one."""
    for contact in given:
        if not contact.strip():
            raise BadInput("--contact", "", "expected a name, number or address")
    return given


def names_of(shape: PropertyShape) -> ExpectedNames:
    """The names a plan of this property must show."""
    spaces = ((space.name, space.kind) for space in shape.spaces)
    return expected_names((level.name for level in shape.storeys), spaces)


def _page_line(page: dict[str, Any]) -> str:
    text = f"{len(page['labels'])} labels" if page["labels"] else "no text to read"
    size = f"{page['width_px']} × {page['height_px']} px at {page['dpi']} dpi"
    return f"page {page['number']:<3} {size}, voids: {len(page['voids'])}, {text}"


def _where(page: int | None) -> str:
    return "" if page is None else f"page {page}: "
