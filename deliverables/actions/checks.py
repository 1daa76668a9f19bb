"""A draft looked into, in the background: its plan check, a picture of each page, what changed since the one before.

Drafts come from outside; each of the three is done by a process of its own.
"""

from typing import Any

from django.core.files.base import ContentFile
from django.db import transaction
from django.utils import timezone

from deliverables.models import CheckState, Draft, DraftPage, FixRequest, PlanOrder
from deliverables.rules.compare import Pin
from deliverables.rules.plan.limits import Unreadable
from deliverables.rules.plan.names import ExpectedNames, expected_names
from deliverables.rules.plan.verdict import PlanVerdict, Void, verdict_json
from deliverables.rules.sandbox import check_plan_apart, compare_drafts_apart
from jobs.models import Property
from office.models import Office

from .previews import PagePicture, pictures_of


def check_draft(draft_id: int) -> None:
    """The errand: inspect a draft and keep what was found. Running it twice changes nothing."""
    draft = Draft.objects.select_related("plan_order__shoot__client").get(pk=draft_id)
    if draft.is_waiting:
        content = _content(draft)
        keep_inspection(draft, pictures_of(content), inspected(draft.plan_order, content))


def inspected(plan_order: PlanOrder, content: bytes) -> PlanVerdict:
    """The plan check against what this order asks for."""
    house = Property.objects.with_shape().get(pk=plan_order.shoot.property_id)
    contacts = [] if plan_order.branded else _contacts(plan_order)
    return check_plan_apart(content, _expected(house), house.area_m2, contacts)


@transaction.atomic
def keep_inspection(draft: Draft, pictures: list[PagePicture], verdict: PlanVerdict) -> None:
    """Whoever of two workers comes second leaves what the first has kept."""
    state = CheckState.DONE if verdict.pages else CheckState.FAILED
    mine = Draft.objects.filter(pk=draft.pk, check_state=CheckState.WAITING)
    if not mine.update(check_state=state, check_result=_as_kept(verdict), checked_at=timezone.now()):
        return
    for picture in pictures:
        page = DraftPage(draft=draft, number=picture.number, width=picture.width, height=picture.height)
        page.file.save(f"{picture.number}.png", ContentFile(picture.png), save=False)
        page.save(force_insert=True)


def compare_draft(draft_id: int) -> None:
    """The errand: whether anything has changed where the open fixes are pinned, since the draft before."""
    draft = Draft.objects.select_related("plan_order").get(pk=draft_id)
    before = draft.plan_order.drafts.filter(number__lt=draft.number).first()
    if before is None or draft.compared_with:
        return
    pinned = [fix for fix in draft.plan_order.fixes.open() if fix.x is not None]
    try:
        found = compare_drafts_apart(_content(before), _content(draft), [_pin(fix) for fix in pinned])
        changes = {state.id: state.changed for state in found.pins}
    except Unreadable:
        changes = {}
    Draft.objects.filter(pk=draft.pk).update(compared_with=before.number, pin_changes=changes)


def _content(draft: Draft) -> bytes:
    with draft.file.open("rb") as kept:
        return kept.read()


def _pin(fix: FixRequest) -> Pin:
    return Pin(str(fix.pk), fix.page, fix.x, fix.y)


def _expected(house: Property) -> ExpectedNames | None:
    """The names that the plan must show; None while nobody has entered them."""
    spaces = ((space.name, space.kind) for space in house.spaces.all())
    names = expected_names((level.name for level in house.levels.all()), spaces)
    return names if names.spaces else None


def _contacts(plan_order: PlanOrder) -> list[str]:
    """Whom an unbranded copy must not show: the client and ourselves."""
    office, client = Office.the(), plan_order.shoot.client
    details = (client.name, client.company, client.email, client.phone, office.name, office.email, office.phone)
    return [detail for detail in details if detail.strip()]


def _as_kept(verdict: PlanVerdict) -> dict[str, Any]:
    """The verdict as JSON, with the middle of each void, in percent of its page, beside the finding about it."""
    told = verdict_json(verdict)
    voids = iter([(page, void) for page in verdict.pages for void in page.voids])
    for finding in told["findings"]:
        if finding["code"] == "void":
            page, void = next(voids)
            finding |= _middle(void, page.width_px, page.height_px)
    return {**told, "notes": list(verdict.notes)}


def _middle(void: Void, width: int, height: int) -> dict[str, str]:
    return {
        "across": f"{(void.x + void.width / 2) / width * 100:.3f}",
        "down": f"{(void.y + void.height / 2) / height * 100:.3f}",
    }
