"""The plan check of a draft, in the background; the check and the pictures of its pages are made by processes apart."""

import json
import logging
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from django.conf import settings
from django.core.files.base import ContentFile
from django.db import transaction
from django.utils import timezone

from deliverables.models import CheckState, Draft, DraftPage
from jobs.actions.shapes import shape_json
from jobs.models import Property

from .previews import PagePicture, pictures_of

log = logging.getLogger(__name__)

PATIENCE = 60
"""Seconds. With the time for the pictures it stays within the lease of an errand."""
NOTHING: dict[str, Any] = {"pages": [], "findings": []}


def check_draft(draft_id: int) -> None:
    """The errand: inspect a draft and keep what was found. Running it twice changes nothing."""
    draft = Draft.objects.select_related("plan_order__shoot").get(pk=draft_id)
    if not draft.is_waiting:
        return
    with draft.file.open("rb") as kept:
        content = kept.read()
    keep_inspection(draft, pictures_of(content), inspected(draft, content))


@transaction.atomic
def keep_inspection(draft: Draft, pictures: list[PagePicture], result: dict[str, Any] | None) -> None:
    """Whoever of two workers comes second leaves what the first has kept."""
    state = CheckState.FAILED if result is None else CheckState.DONE
    mine = Draft.objects.filter(pk=draft.pk, check_state=CheckState.WAITING)
    if not mine.update(check_state=state, check_result=result or NOTHING, checked_at=timezone.now()):
        return
    for picture in pictures:
        page = DraftPage(draft=draft, number=picture.number, width=picture.width, height=picture.height)
        page.file.save(f"{picture.number}.png", ContentFile(picture.png), save=False)
        page.save(force_insert=True)


def inspected(draft: Draft, content: bytes) -> dict[str, Any] | None:
    """What the plan check says, as its command prints it; None when it could not look into the file."""
    house = Property.objects.with_shape().get(pk=draft.plan_order.shoot.property_id)
    with TemporaryDirectory(prefix="plan-check-") as folder:
        file, shape = Path(folder, "draft"), Path(folder, "property.json")
        file.write_bytes(content)
        shape.write_text(json.dumps(shape_json(house)))
        known = ["--property", str(shape)] if house.spaces.all() else []
        answer = _ask(["plancheck", str(file), *known, "--area", str(house.area_m2), "--unit", "m2", "--json"])
    return answer and _with_places(answer, branded=draft.plan_order.branded)


def _ask(words: list[str]) -> dict[str, Any] | None:
    try:
        told = subprocess.run(  # noqa: S603 - our own command, with no word of the sender's in it
            [sys.executable, "manage.py", *words],
            cwd=settings.BASE_DIR, timeout=PATIENCE, capture_output=True, text=True, check=True,
        )  # fmt: skip
        return json.loads(told.stdout)
    except subprocess.TimeoutExpired:
        log.warning("the plan check took more than %d seconds", PATIENCE)
    except subprocess.CalledProcessError as failure:
        log.warning("the plan check could not look into a draft: %s", failure.stderr[-300:])
    return None


def _with_places(answer: dict[str, Any], *, branded: bool) -> dict[str, Any]:
    """Findings that concern this order, those of voids with the middle of theirs in percent of the page."""
    places = {page["number"]: iter(page["voids"]) for page in answer["pages"]}
    sizes = {page["number"]: (page["width_px"], page["height_px"]) for page in answer["pages"]}
    findings = []
    for finding in answer["findings"]:
        if finding["code"] == "contact-shown" and branded:
            continue
        void = next(places.get(finding["page"], iter(())), None) if finding["code"] == "void" else None
        findings.append({**finding, **(_middle(void, *sizes[finding["page"]]) if void else {})})
    return {"pages": answer["pages"], "findings": findings}


def _middle(void: dict[str, Any], width: int, height: int) -> dict[str, str]:
    return {
        "across": f"{(void['x'] + void['width'] / 2) / width * 100:.3f}",
        "down": f"{(void['y'] + void['height'] / 2) / height * 100:.3f}",
    }
