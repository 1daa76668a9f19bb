"""The plan check in the background: what it finds is kept once, with a picture of every page and what changed."""

import io
from decimal import Decimal

import pytest
from django.utils import timezone
from PIL import Image

from deliverables.actions.checks import check_draft, compare_draft, inspected, keep_inspection
from deliverables.actions.drafts import receive_draft
from deliverables.actions.previews import PagePicture, pictures_of
from deliverables.demo.drawing import draw_draft
from deliverables.models import CheckState, Draft, DraftPage
from deliverables.rules.plan.verdict import Finding, PageVerdict, PlanVerdict, Void
from office.actions.errands import run_waiting
from office.models import Errand
from tests.cast import NOW
from tests.deliverables.conftest import ask
from tests.deliverables.papers import plan_pdf, plan_picture, sent, swollen_png

VOID = Void(100, 50, 200, 100, Decimal("0.0500"))
VERDICT = PlanVerdict(
    (PageVerdict(1, 1200, 800, 150, (VOID,), ("Kitchen",)),),
    (Finding("space-missing", "must", None, "No pantry."), Finding("void", "must", 1, "A void.")),
)
PICTURE = PagePicture(1, 600, 400, plan_picture())


@pytest.mark.parametrize(("content", "pages"), [(plan_pdf(3), 3), (plan_picture("TIFF"), 1), (plan_picture("JPEG"), 1)])
def test_every_page_gets_a_picture(content, pages):
    found = pictures_of(content)
    assert [picture.number for picture in found] == list(range(1, pages + 1))
    for picture in found:
        with Image.open(io.BytesIO(picture.png)) as opened:
            assert (opened.format, opened.size) == ("PNG", (picture.width, picture.height))
            assert max(opened.size) <= 1800


@pytest.mark.parametrize("content", [b"%PDF-1.4 and no more", swollen_png(), b"", b"junk"])
def test_a_file_that_cannot_be_read_gets_none_and_harms_nobody(content):
    assert pictures_of(content) == []


def test_a_transparent_plan_is_shown_on_white():
    written = io.BytesIO()
    Image.new("RGBA", (60, 40), (0, 0, 0, 0)).save(written, "PNG")
    with Image.open(io.BytesIO(pictures_of(written.getvalue())[0].png)) as opened:
        assert opened.getpixel((5, 5)) == (255, 255, 255)


def test_what_was_found_is_kept_once(draft):
    keep_inspection(draft, [PICTURE], VERDICT)
    keep_inspection(draft, [PICTURE], PlanVerdict((), ()))
    draft.refresh_from_db()
    assert draft.check_state == CheckState.DONE
    assert [finding["code"] for finding in draft.check_result["findings"]] == ["space-missing", "void"]
    assert DraftPage.objects.count() == 1


def test_a_void_is_kept_with_its_middle_in_percent(draft):
    keep_inspection(draft, [PICTURE], VERDICT)
    draft.refresh_from_db()
    void = draft.check_result["findings"][1]
    # (100 + 100) / 1200 and (50 + 50) / 800
    assert (void["across"], void["down"]) == ("16.667", "12.500")


def test_a_draft_that_could_not_be_looked_into_is_marked_so(draft):
    keep_inspection(draft, [], PlanVerdict((), (Finding("unreadable", "must", None, "Locked."),)))
    draft.refresh_from_db()
    assert draft.check_state == CheckState.FAILED
    assert draft.check_result["findings"][0]["text"] == "Locked."


def test_a_checked_draft_is_not_checked_again(draft):
    keep_inspection(draft, [PICTURE], VERDICT)
    check_draft(draft.pk)
    assert DraftPage.objects.count() == 1


def codes(plan_order, content):
    return {finding.code for finding in inspected(plan_order, content).findings}


def test_the_check_asks_for_the_names_of_the_job(sent_order, levels):
    named = {finding.text for finding in inspected(sent_order, plan_pdf(2)).findings}
    assert "No label names the space “Workshop”." in named
    assert "No label names the level “Basement”." in named


def test_without_names_on_the_job_none_are_missed(sent_order):
    assert not codes(sent_order, plan_pdf()) & {"space-missing", "level-missing"}


@pytest.mark.parametrize("branded", [False, True])
def test_contact_details_count_against_an_unbranded_copy_only(sent_order, branded):
    sent_order.branded = branded
    shown = plan_pdf(said="Call Odile Marchetti, Marchetti Homes")
    assert ("contact-shown" in codes(sent_order, shown)) is not branded


@pytest.mark.django_db(transaction=True)
def test_a_draft_that_comes_in_is_checked_and_compared_by_the_workers(sent_order, by_drafter, by_owner, levels):
    def receive(content):
        now = timezone.now()
        draft = receive_draft(plan_order=sent_order, upload=sent(content), note="", by=by_drafter, now=now)
        assert run_waiting(now=now) == Errand.objects.filter(subject_id=draft.pk).count()
        return Draft.objects.get(pk=draft.pk)

    first = receive(draw_draft(with_void=True))
    assert first.check_state == CheckState.DONE
    assert [page.number for page in first.pages.all()] == [1, 2, 3]
    void = next(finding for finding in first.check_result["findings"] if finding["code"] == "void")
    place = {"x": Decimal(void["across"]) / 100, "y": Decimal(void["down"]) / 100, "page": void["page"]}
    blank, elsewhere = ask(first, by_owner, **place), ask(first, by_owner, **{**place, "page": 1})
    second = receive(draw_draft(with_void=False))
    assert second.compared_with == 1
    assert second.pin_changes == {str(blank.pk): True, str(elsewhere.pk): False}


def test_the_first_draft_is_compared_with_nothing(draft):
    compare_draft(draft.pk)
    draft.refresh_from_db()
    assert draft.compared_with is None


def test_a_draft_that_cannot_be_read_is_compared_without_a_result(draft, fix, by_drafter):
    locked = receive_draft(plan_order=draft.plan_order, upload=sent(b"%PDF-1.4 torn"), note="", by=by_drafter, now=NOW)
    compare_draft(locked.pk)
    locked.refresh_from_db()
    assert (locked.compared_with, locked.pin_changes) == (1, {})
