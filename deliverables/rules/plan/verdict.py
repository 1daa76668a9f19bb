"""What the plan check says of a draft, and its JSON."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from decimal import Decimal
from typing import Any, Literal

Severity = Literal["must", "should"]


@dataclass(frozen=True)
class Void:
    """A solid dark region: its box in pixels of the page, and its area as a share of the plan's own inside area."""

    x: int
    y: int
    width: int
    height: int
    share: Decimal


@dataclass(frozen=True)
class PageVerdict:
    """One page as it is viewed, in pixels at `dpi`; 0 pixels where it could not be read."""

    number: int
    width_px: int
    height_px: int
    dpi: int
    voids: tuple[Void, ...]
    labels: tuple[str, ...]


@dataclass(frozen=True)
class Finding:
    """Something to put right (`must`) or to look at (`should`); `page` is None when it concerns the whole file."""

    code: str
    severity: Severity
    page: int | None
    text: str


@dataclass(frozen=True)
class PlanVerdict:
    """The pages looked at, what was found, and what could not be told (`notes`)."""

    pages: tuple[PageVerdict, ...]
    findings: tuple[Finding, ...]
    notes: tuple[str, ...] = ()


def verdict_json(verdict: PlanVerdict) -> dict[str, Any]:
    """The verdict as the terminal contract's JSON; shares are strings."""
    return {
        "pages": [_page_json(page) for page in verdict.pages],
        "findings": [asdict(finding) for finding in verdict.findings],
    }


def verdict_from(answer: Mapping[str, Any], notes: tuple[str, ...]) -> PlanVerdict:
    """The verdict whose JSON is `answer`."""
    return PlanVerdict(
        tuple(_page_from(page) for page in answer["pages"]),
        tuple(Finding(**finding) for finding in answer["findings"]),
        notes,
    )


def _page_json(page: PageVerdict) -> dict[str, Any]:
    voids = [{**asdict(void), "share": f"{void.share:f}"} for void in page.voids]
    return {**asdict(page), "voids": voids, "labels": list(page.labels)}


def _page_from(page: Mapping[str, Any]) -> PageVerdict:
    voids = tuple(Void(**{**void, "share": Decimal(void["share"])}) for void in page["voids"])
    return PageVerdict(**{**page, "voids": voids, "labels": tuple(page["labels"])})
