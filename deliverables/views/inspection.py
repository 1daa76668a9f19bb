"""What the plan check found on a draft, ready to be shown: sheets, findings in words, and which were asked as fixes."""

from dataclasses import dataclass
from typing import Any

from django.urls import reverse

from deliverables.forms.fixes import FixForm
from deliverables.models import Draft, DraftPage, FixKind, FixRequest
from jobs.models import Severity

from .drawings import sheets_of

KINDS = {
    "void": FixKind.VOID,
    "space-missing": FixKind.MISSING_SPACE,
    "level-missing": FixKind.MISSING_SPACE,
    "area-off": FixKind.WRONG_SIZE,
    "contact-shown": FixKind.CONTACT,
}
LONGEST_TEXT = 400
Place = tuple[str, int, str]
"""Text, page and how far across: what a finding and the fix that was asked because of it have in common."""


@dataclass(frozen=True)
class Finding:
    """One finding, and the fix that was asked because of it. `across` and `down` are percent of the page, or empty."""

    severity: str
    word: str
    text: str
    kind: str
    page: int
    on_page: bool
    across: str
    down: str
    fix: FixRequest | None


def inspection_of(draft: Draft, fixes: list[FixRequest]) -> dict[str, Any]:
    """The context of parts/inspection.html, save the order and the request."""
    return {
        "draft": draft,
        "sheets": sheets_of(draft, _pinned(draft, fixes), _address),
        "findings": _findings(draft, fixes),
        "notes": draft.check_result.get("notes", []),
        "fix_form": FixForm(),
        "look": 0,
    }


def _pinned(draft: Draft, fixes: list[FixRequest]) -> list[FixRequest]:
    """Asked on this draft, or still open from an earlier one."""
    return [fix for fix in fixes if fix.draft_id == draft.pk or (fix.is_open and fix.draft.number < draft.number)]


def _address(page: DraftPage) -> str:
    return reverse("deliverables:draft-preview", args=[page.draft_id, page.number])


def _findings(draft: Draft, fixes: list[FixRequest]) -> list[Finding]:
    asked = {_place(fix): fix for fix in fixes if fix.draft_id == draft.pk}
    found = [_finding(raw, asked) for raw in draft.check_result.get("findings", [])]
    return sorted(found, key=lambda finding: (finding.severity != "must", finding.page))


def _place(fix: FixRequest) -> Place:
    return fix.text, fix.page, "" if fix.x is None else f"{fix.x * 100:.3f}"


def _finding(raw: dict[str, Any], asked: dict[Place, FixRequest]) -> Finding:
    text, page, across = raw["text"][:LONGEST_TEXT], raw["page"] or 1, raw.get("across", "")
    return Finding(
        severity=raw["severity"],
        word=Severity(raw["severity"]).label,
        text=text,
        kind=KINDS.get(raw["code"], FixKind.OTHER),
        page=page,
        on_page=bool(raw["page"]),
        across=across,
        down=raw.get("down", ""),
        fix=asked.get((text, page, across)),
    )
