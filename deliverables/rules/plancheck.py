"""The plan check: voids, missing levels and spaces, areas that disagree, contact details, and pages that are no plan.

| finding | severity | when |
| --- | --- | --- |
| `void` | must from 1 % of the plan on, else should | a solid dark region inside the outline (see `plan.voids`) |
| `level-missing` | must | the property has several levels and no label names this one |
| `space-missing` | must for rooms, kitchens, bathrooms, garages; else should | no label names the space |
| `area-off` | should, must over 10 % | the plan's area text, else its rooms' sum, is over 3 % off the stated one |
| `contact-shown` | must | a given contact detail is shown on the page, in a link or behind it |
| `low-resolution` | should, must under 160 px | the page has fewer than 500 pixels along its long side |
| `not-a-plan` | must when no page is a plan, else should | the page encloses nothing that could be a plan |
| `unreadable` | must | the file or page cannot be read, or carries what should not be passed on |

Names, areas and contact details are read from a file's text. Where there is none the verdict says so in its notes and
holds nothing against the draft.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from .plan.areas_text import AGREES, claimed_total, differs_by, written_areas
from .plan.contact import shown_in
from .plan.dimensions import room_area_m2
from .plan.limits import PlanLimits, Unreadable
from .plan.names import ExpectedNames, missing_names
from .plan.sheets import PlanFile, Sheet, open_plan
from .plan.verdict import Finding, PageVerdict, PlanVerdict, Severity, Void
from .plan.words import labels_of, lines_of

if TYPE_CHECKING:
    from PIL import Image

__all__ = ["ExpectedNames", "Finding", "PageVerdict", "PlanLimits", "PlanVerdict", "Void", "check_plan"]

LARGE_VOID = Decimal("0.01")
SHARE_STEP = Decimal("0.0001")
FAR_OFF = Fraction(10, 100)
LEAST_DETAIL_PX = 500
"""Under this a room's dimensions can no longer be read; 160 pixels are a thumbnail."""
THUMBNAIL_PX = 160
NO_TEXT = "no text to read"
TOO_COSTLY = "The file needs more memory than a plan may take."


@dataclass(frozen=True)
class _Look:
    """A page's verdict, its own findings, the text on it by label, the text behind it, and whether it is a plan."""

    page: PageVerdict
    findings: tuple[Finding, ...]
    labels: tuple[str, ...]
    behind: tuple[str, ...]
    is_plan: bool | None


def check_plan(
    source: Path | str | bytes,
    property: ExpectedNames | None = None,
    stated_area_m2: Decimal | None = None,
    contacts: Sequence[str] = (),
    limits: PlanLimits | None = None,
) -> PlanVerdict:
    """Inspect a draft. A hostile or broken file ends in a finding; only a path that cannot be opened raises `OSError`.

    `contacts` are what an unbranded copy must not show. In this process: see `sandbox` for files from outside.
    """
    limits = limits or PlanLimits()
    try:
        file = open_plan(source, limits)
        looks = [_look(sheet) for sheet in file.sheets]
    except Unreadable as refusal:
        return refused(str(refusal))
    except MemoryError:
        return refused(TOO_COSTLY)
    labels = [label for look in looks for label in look.labels]
    findings = (
        *_of_file(file, limits),
        *(finding for look in looks for finding in look.findings),
        *_not_plans(looks),
        *(_of_names(property, labels) if property else ()),
        *(_of_area(stated_area_m2, labels) if stated_area_m2 else ()),
        *_of_contacts(contacts, looks),
    )
    return PlanVerdict(tuple(look.page for look in looks), findings, () if labels else (NO_TEXT,))


def refused(reason: str) -> PlanVerdict:
    """The verdict on a file that cannot be read."""
    return PlanVerdict((), (Finding("unreadable", "must", None, reason),))


def _look(sheet: Sheet) -> _Look:
    lines = lines_of(sheet.words)
    written = tuple(line.text for line in lines)
    labels, number = tuple(labels_of(lines)), sheet.number
    if sheet.picture is None:
        page = PageVerdict(number, 0, 0, sheet.dpi, (), written)
        return _Look(page, (Finding("unreadable", "must", number, sheet.fault),), labels, sheet.behind, None)
    width, height = sheet.picture.size
    coarse = _of_resolution(sheet)
    seen = None if sheet.detail_px < THUMBNAIL_PX else _voids(sheet.picture)
    voids = seen or ()
    page = PageVerdict(number, width, height, sheet.dpi, voids, written)
    is_plan = None if sheet.detail_px < THUMBNAIL_PX else seen is not None
    return _Look(page, (*coarse, *(_of_void(void, number) for void in voids)), labels, sheet.behind, is_plan)


def _voids(picture: "Image.Image") -> tuple[Void, ...] | None:
    """The voids of the plan on a page, from the top down; None when it shows no plan."""
    from .plan.edges import exact_extent
    from .plan.outline import find_outline
    from .plan.voids import find_voids
    from .plan.working import working_copy

    working = working_copy(picture)
    if working.tones.blank or working.tones.photograph:
        return None
    outline = find_outline(working)
    if outline is None:
        return None
    regions, outline = find_voids(working, outline)
    inside = outline.area * (outline.cell * working.factor) ** 2
    voids = []
    for (rows, columns), pixels in (exact_extent(picture, working, region) for region in regions):
        share = (Decimal(pixels) / inside).quantize(SHARE_STEP)
        voids.append(Void(columns.start, rows.start, columns.stop - columns.start, rows.stop - rows.start, share))
    return tuple(sorted(voids, key=lambda void: (void.y, void.x)))


def _of_void(void: Void, page: int) -> Finding:
    severity: Severity = "must" if void.share >= LARGE_VOID else "should"
    place = f"{void.width} × {void.height} px at {void.x}, {void.y}"
    return Finding("void", severity, page, f"A solid area takes {void.share:.1%} of the plan: {place}.")


def _of_resolution(sheet: Sheet) -> tuple[Finding, ...]:
    if sheet.detail_px >= LEAST_DETAIL_PX:
        return ()
    severity: Severity = "must" if sheet.detail_px < THUMBNAIL_PX else "should"
    text = f"The page is {sheet.detail_px} px along its long side; a plan takes {LEAST_DETAIL_PX} px to be read."
    return (Finding("low-resolution", severity, sheet.number, text),)


def _of_file(file: PlanFile, limits: PlanLimits) -> list[Finding]:
    findings = [Finding("unreadable", "must", None, file.caution)] if file.caution else []
    if file.page_count > limits.most_pages:
        text = f"The file has {file.page_count} pages; only the first {limits.most_pages} were looked at."
        findings.append(Finding("unreadable", "must", None, text))
    return findings


def _not_plans(looks: Sequence[_Look]) -> list[Finding]:
    severity: Severity = "should" if any(look.is_plan for look in looks) else "must"
    text = "The page shows no plan."
    return [Finding("not-a-plan", severity, look.page.number, text) for look in looks if look.is_plan is False]


def _of_names(expected: ExpectedNames, labels: Sequence[str]) -> list[Finding]:
    """Names are compared over all pages; a plan of one level need not name it."""
    if not labels:
        return []
    missing = missing_names(expected, labels)
    levels = missing.levels if len(expected.levels) > 1 else ()
    return [
        *(Finding("level-missing", "must", None, f"No label names the level “{name}”.") for name in levels),
        *(
            Finding("space-missing", "must" if s.is_room else "should", None, f"No label names the space “{s.name}”.")
            for s in missing.spaces
        ),
    ]


def _of_area(stated_m2: Decimal, labels: Sequence[str]) -> list[Finding]:
    """The plan's own area, else the sum of its rooms' dimensions, against the stated area."""
    stated = Fraction(stated_m2)
    written = claimed_total(written_areas(labels), stated)
    found = written.area_m2 if written else room_area_m2(labels)
    if not found or differs_by(found, stated) <= AGREES:
        return []
    said = f"The plan says {written.text}" if written else "The rooms' dimensions come to"
    off = differs_by(found, stated)
    text = f"{said}{' =' if written else ''} {float(found):.2f} m², {float(off):.1%} off the stated {stated_m2:f} m²."
    return [Finding("area-off", "must" if off > FAR_OFF else "should", None, text)]


def _of_contacts(contacts: Sequence[str], looks: Sequence[_Look]) -> list[Finding]:
    return [
        Finding("contact-shown", "must", look.page.number, f"The page shows “{contact}”.")
        for look in looks
        for contact in contacts
        if shown_in(contact, (*look.labels, *look.page.labels, *look.behind))
    ]
