"""Drafts coming in, and files that only pretend to be drafts."""

import hashlib
from pathlib import PurePosixPath, PureWindowsPath

import pytest
from hypothesis import given
from hypothesis import strategies as st

from deliverables.actions.drafts import PLAN_CHECK, receive_draft
from deliverables.actions.fixes import send_fixes
from deliverables.actions.intake import harmless_name, take_file
from deliverables.models import CheckState, Draft, FixState, PlanOrderState
from office.errors import Refused, WrongState
from office.models import Errand, Event
from tests.cast import NOW
from tests.deliverables.conftest import ask
from tests.deliverables.papers import plan_pdf, plan_picture, sent, swollen_png


def receive(order, upload, by, **more):
    return receive_draft(plan_order=order, upload=upload, note="", by=by, now=NOW, **more)


def test_a_draft_is_kept_byte_for_byte_under_a_name_of_ours(sent_order, by_drafter):
    content = plan_pdf()
    draft = receive(sent_order, sent(content, "../../etc/Plan 27 Alder.pdf"), by_drafter)
    assert draft.file.open().read() == content
    assert draft.sha256 == hashlib.sha256(content).hexdigest()
    assert draft.size == len(content)
    assert draft.file.name.startswith("drafts/P-2027-0001/")
    assert "Alder" not in draft.file.name
    assert draft.file_name == "Plan 27 Alder.pdf"
    assert draft.received_from == "Ines Fajardo"


def test_the_order_is_then_to_check_and_the_check_is_promised(sent_order, by_drafter):
    draft = receive(sent_order, sent(), by_drafter)
    sent_order.refresh_from_db()
    assert (sent_order.state, sent_order.received_at) == (PlanOrderState.TO_CHECK, NOW)
    assert draft.check_state == CheckState.WAITING
    assert Errand.objects.get(kind=PLAN_CHECK).subject_id == draft.pk
    assert Event.objects.of_subject(draft).get().details["sha256"] == draft.sha256


def test_drafts_are_numbered_and_a_better_one_may_follow_at_once(draft, by_drafter):
    assert [draft.number, receive(draft.plan_order, sent(), by_drafter).number] == [1, 2]


def test_the_first_receipt_counts_for_the_turnaround(draft, by_drafter):
    later = NOW.replace(hour=20)
    receive_draft(plan_order=draft.plan_order, upload=sent(), note="", by=by_drafter, now=later)
    draft.plan_order.refresh_from_db()
    assert draft.plan_order.received_at == NOW


@pytest.mark.parametrize(
    ("kind", "content_type"), [("PNG", "image/png"), ("JPEG", "image/jpeg"), ("TIFF", "image/tiff")]
)
def test_pictures_are_typed_by_content_whatever_they_are_called(sent_order, by_drafter, kind, content_type):
    draft = receive(sent_order, sent(plan_picture(kind), "plan.exe", "text/html"), by_drafter)
    assert draft.content_type == content_type


@pytest.mark.parametrize(
    "content",
    [
        b"<html><script>alert(1)</script>",
        b"MZ\x90\x00" + bytes(200),
        b"PK\x03\x04" + bytes(200),
        b"\x89PNG\r\n\x1a\n",
        b"\x89PNG\r\n\x1a\n" + b"junk" * 50,
        b"GIF89a" + b"%PDF-1.4" * 10,
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"\xff\xd8\xff\xe0" + bytes(64),
        b"II*\x00" + bytes(64),
        b"plain words",
        b"\n\n%PDF-1.4 begins too late",
    ],
)
def test_what_is_no_plan_is_refused_whatever_its_name_says(sent_order, by_drafter, content):
    with pytest.raises(Refused, match="whatever its name") as refusal:
        receive(sent_order, sent(content, "plan.pdf"), by_drafter)
    assert refusal.value.field == "upload"
    assert not Draft.objects.exists()


@pytest.mark.parametrize("kind", ["GIF", "BMP", "WEBP", "JPEG2000"])
def test_other_pictures_are_no_plans(sent_order, by_drafter, kind):
    with pytest.raises(Refused):
        receive(sent_order, sent(plan_picture(kind), "plan.png", "image/png"), by_drafter)


def test_an_empty_file_is_refused(sent_order, by_drafter):
    with pytest.raises(Refused, match="empty"):
        receive(sent_order, sent(b""), by_drafter)


def test_a_file_over_the_cap_is_refused(sent_order, by_drafter, settings):
    settings.LARGEST_UPLOAD = 1000
    with pytest.raises(Refused, match="larger"):
        receive(sent_order, sent(plan_picture()), by_drafter)


def test_a_picture_that_would_unpack_to_too_much_is_refused(sent_order, by_drafter):
    with pytest.raises(Refused, match="million pixels"):
        receive(sent_order, sent(swollen_png(), "plan.png"), by_drafter)


@pytest.mark.parametrize(("width", "height"), [(40_000, 40_000), (9_000, 9_000)])
def test_any_other_file_may_be_as_large_a_picture_as_it_likes(width, height):
    assert take_file(sent(swollen_png(width, height), "wall.png")).size > 0


def test_another_drafters_link_may_not_send_a_draft(sent_order, by_other_drafter):
    with pytest.raises(Refused, match="not open to your link"):
        receive(sent_order, sent(), by_other_drafter)
    assert not Draft.objects.exists()


def test_no_draft_is_taken_before_the_order_is_sent(plan_order, by_owner):
    with pytest.raises(WrongState):
        receive(plan_order, sent(), by_owner)


def test_no_draft_is_taken_after_acceptance(accepted, by_drafter):
    with pytest.raises(WrongState):
        receive(accepted, sent(), by_drafter)


def test_we_may_draw_the_fix_ourselves(draft, by_owner):
    ours = receive(draft.plan_order, sent(), by_owner, drawn_by_us=True)
    assert (ours.number, ours.drawn_by_us, ours.received_from) == (2, True, "Maren Quist")


def test_a_draft_returns_the_fixes_it_puts_right(draft, by_owner, by_drafter):
    done, left = ask(draft, by_owner), ask(draft, by_owner, "The stair runs up, not down.")
    order = send_fixes(plan_order=draft.plan_order, by=by_owner, now=NOW)
    receive(order, sent(), by_drafter, returns=[done])
    done.refresh_from_db(), left.refresh_from_db()
    assert (done.state, left.state) == (FixState.RETURNED, FixState.ASKED)


def test_a_draft_that_returns_what_was_never_asked_is_refused_whole(fix, by_drafter):
    with pytest.raises(WrongState):
        receive(fix.plan_order, sent(), by_drafter, returns=[fix])
    assert Draft.objects.count() == 1


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("plan.pdf", "plan.pdf"),
        ("../../etc/passwd", "passwd"),
        ("C:\\Users\\x\\plan v2.pdf", "plan v2.pdf"),
        ('a"b;c\r\nSet-Cookie: x.pdf', "a_b_cSet-Cookie_ x.pdf"),
        ("\u202efdp.exe", "fdp.exe"),
        ("...", "file"),
        ("", "file"),
        ("é" * 300 + ".pdf", "é" * 116 + ".pdf"),
    ],
)
def test_a_senders_name_is_made_harmless(name, kept):
    assert harmless_name(name) == kept


@given(st.text(max_size=300))
def test_no_name_leads_anywhere(name):
    kept = harmless_name(name)
    assert 0 < len(kept) <= 120
    assert PurePosixPath(kept).name == PureWindowsPath(kept).name == kept
    assert kept.isprintable()
    assert harmless_name(kept) == kept


def test_any_other_file_counts_as_bytes():
    assert take_file(sent(b"<html>", "page.html", "text/html")).content_type == "application/octet-stream"
