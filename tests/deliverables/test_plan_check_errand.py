"""The plan check in the background: what it finds is kept once, with a picture of every page."""

import io

import pytest
from PIL import Image

from deliverables.actions.checks import check_draft, keep_inspection
from deliverables.actions.previews import PagePicture, pictures_of
from deliverables.models import CheckState, DraftPage
from tests.deliverables.papers import plan_pdf, plan_picture, swollen_png

RESULT = {"pages": [], "findings": []}
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
    keep_inspection(draft, [PICTURE], RESULT)
    keep_inspection(draft, [PICTURE], {"pages": [], "findings": [{"code": "late"}]})
    draft.refresh_from_db()
    assert (draft.check_state, draft.check_result) == (CheckState.DONE, RESULT)
    assert DraftPage.objects.count() == 1


def test_a_draft_that_could_not_be_looked_into_is_marked_so(draft):
    keep_inspection(draft, [], None)
    draft.refresh_from_db()
    assert draft.check_state == CheckState.FAILED
    assert draft.checked_at is not None


def test_a_checked_draft_is_not_checked_again(draft):
    keep_inspection(draft, [PICTURE], RESULT)
    check_draft(draft.pk)
    assert DraftPage.objects.count() == 1
