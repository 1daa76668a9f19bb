"""The client's handover: the list, each file, everything as one ZIP, and what has to happen before."""

import hashlib
import io
import zipfile

import pytest
from django.urls import reverse

from deliverables.actions.bundles import add_file, hand_over, make_bundle, withdraw_bundle
from deliverables.models import Bundle, ReceiptKind
from office.actions.links import make_link, url_of
from office.models import CapabilityLink, Purpose
from tests.cast import NOW
from tests.deliverables.conftest import make_shoot, open_by
from tests.deliverables.papers import plan_picture, sent

ONCE = "6f1f4f0c-7d43-4b1e-9d2b-0c5f3f2f9a12"


@pytest.fixture
def link(handed_over):
    return CapabilityLink.objects.get(purpose=Purpose.HANDOVER)


@pytest.fixture
def browser(client, link, time_machine):
    time_machine.move_to(NOW, tick=False)
    open_by(client, link)
    return client


def address(name, bundle, *args):
    return reverse(f"deliverables:{name}", args=[bundle.shoot_id, *args])


def whole(response) -> bytes:
    return b"".join(response.streaming_content)


def test_the_mailed_link_leads_to_the_list(client, link, handed_over, time_machine):
    time_machine.move_to(NOW)
    response = client.get(url_of(link).removeprefix("http://127.0.0.1:8000"), follow=True)
    assert response.redirect_chain[-1][0] == address("client-handover", handed_over)
    for item in handed_over.items.all():
        assert item.title in response.text
        assert item.sha256 in response.text


def test_opening_is_noted_once_a_visit(browser, handed_over):
    for _twice in range(2):
        browser.get(address("client-handover", handed_over))
    receipt = handed_over.receipts.get()
    assert (receipt.what, receipt.by) == (ReceiptKind.OPENED, "Odile Marchetti")


def test_looking_at_the_head_alone_is_no_visit(browser, handed_over):
    browser.head(address("client-handover", handed_over))
    assert not handed_over.receipts.exists()


def test_a_file_is_collected_as_an_attachment_with_a_receipt(browser, handed_over):
    item = handed_over.items.get(kind="plan")
    response = browser.get(address("client-item", handed_over, item.pk))
    assert whole(response) == plan_picture()
    assert response["Content-Type"] == "image/png"
    assert response["Content-Disposition"] == f'attachment; filename="{item.file_name}"'
    assert response["X-Content-Type-Options"] == "nosniff"
    assert handed_over.receipts.get(what=ReceiptKind.COLLECTED).item == item


def test_a_continued_download_is_no_second_receipt(browser, handed_over):
    item = handed_over.items.get(kind="plan")
    where = address("client-item", handed_over, item.pk)
    first = whole(browser.get(where, headers={"Range": "bytes=0-99"}))
    rest = browser.get(where, headers={"Range": "bytes=100-", "If-Range": f'"{item.sha256}"'})
    assert rest.status_code == 206
    assert first + whole(rest) == plan_picture()
    assert handed_over.receipts.filter(what=ReceiptKind.COLLECTED).count() == 1


def test_an_uploaded_page_is_never_given_out_as_one(bundle, by_owner, client, time_machine):
    upload = sent(b"<html><script>alert(1)</script>", "page.html", "text/html")
    add_file(bundle=bundle, kind="other", title="Page", upload=upload, by=by_owner, now=NOW)
    given = hand_over(bundle=bundle, by=by_owner, now=NOW)
    time_machine.move_to(NOW)
    open_by(client, CapabilityLink.objects.get(purpose=Purpose.HANDOVER))
    response = client.get(address("client-item", given, given.items.get(kind="other").pk))
    assert response["Content-Type"] == "application/octet-stream"
    assert response["Content-Disposition"].startswith("attachment")


def test_everything_comes_as_one_zip_of_known_length(browser, handed_over):
    response = browser.get(address("client-bundle", handed_over))
    content = whole(response)
    assert response["Content-Length"] == str(len(content))
    assert response["Content-Disposition"] == 'attachment; filename="S-2027-0001-bundle-1.zip"'
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        assert archive.testzip() is None
        assert {info.compress_type for info in archive.infolist()} == {zipfile.ZIP_STORED}
        found = {name: hashlib.sha256(archive.read(name)).hexdigest() for name in archive.namelist()}
    assert found == {item.file_name: item.sha256 for item in handed_over.items.files()}
    assert handed_over.receipts.filter(what=ReceiptKind.COLLECTED_ALL).count() == 1


@pytest.mark.parametrize("cut", [1, 40, 1000])
def test_a_broken_zip_download_goes_on_where_it_stopped(browser, handed_over, cut, time_machine):
    where = address("client-bundle", handed_over)
    begun = browser.get(where)
    content = whole(begun)
    time_machine.shift(90)
    rest = browser.get(where, headers={"Range": f"bytes={cut}-", "If-Range": begun["ETag"]})
    assert rest.status_code == 206
    assert content[:cut] + whole(rest) == content


def test_a_zip_of_another_bundle_does_not_go_on(browser, handed_over, shoot, by_owner):
    where = address("client-bundle", handed_over)
    tag = browser.get(where)["ETag"]
    second = make_bundle(shoot=shoot, release_rule="at_once", message="", by=by_owner, now=NOW)
    add_file(bundle=second, kind="other", title="More", upload=sent(), by=by_owner, now=NOW)
    hand_over(bundle=second, by=by_owner, now=NOW)
    assert browser.get(where, headers={"Range": "bytes=10-", "If-Range": tag}).status_code == 200


def test_the_old_link_shows_the_new_bundle(browser, handed_over, shoot, by_owner):
    second = make_bundle(shoot=shoot, release_rule="at_once", message="The corrected one.", by=by_owner, now=NOW)
    old_item = handed_over.items.get(kind="plan")
    hand_over(bundle=second, by=by_owner, now=NOW)
    assert "The corrected one." in browser.get(address("client-handover", handed_over)).text
    assert browser.get(address("client-item", handed_over, old_item.pk)).status_code == 404


def test_a_withdrawn_bundle_shows_nothing(browser, handed_over, by_owner):
    withdraw_bundle(bundle=handed_over, by=by_owner, now=NOW)
    for name, args in (("client-handover", []), ("client-bundle", []), ("client-item", [handed_over.items.first().pk])):
        response = browser.get(address(name, handed_over, *args))
        assert response.status_code == 404
        assert "taken this bundle back" in response.text


def test_before_approval_the_plan_is_seen_and_not_collected(browser, handed_over, draft):
    picture = draft.pages.create(number=1, width=600, height=400, file="")
    picture.file.save("1.png", sent(plan_picture()))
    Bundle.objects.update(release_rule="on_approval")
    item = handed_over.items.get(kind="plan")
    text = browser.get(address("client-handover", handed_over)).text
    assert "https://tour.example/b/27" in text
    assert address("client-item", handed_over, item.pk) not in text.replace("/pages/", "|")
    assert browser.get(address("client-item", handed_over, item.pk)).status_code == 302
    assert browser.get(address("client-bundle", handed_over)).status_code == 302
    assert browser.get(address("client-preview", handed_over, item.pk, 1)).status_code == 200
    assert not handed_over.receipts.exclude(what=ReceiptKind.OPENED).exists()


def test_after_approval_it_is_collected(browser, handed_over):
    Bundle.objects.update(release_rule="on_approval")
    response = browser.post(address("client-approve", handed_over), {"once": ONCE}, follow=True)
    assert "You said that it looks right" in response.text
    assert browser.get(address("client-bundle", handed_over)).status_code == 200


def test_approving_needs_a_post(browser, handed_over):
    assert browser.get(address("client-approve", handed_over)).status_code == 405


def test_the_link_to_another_handover_opens_nothing(client, handed_over, by_owner, time_machine):
    time_machine.move_to(NOW)
    other = make_link(
        purpose=Purpose.HANDOVER, subject_id=handed_over.shoot_id + 1, holder_name="X", holder_email="x@x.example",
        by=by_owner, now=NOW,
    )  # fmt: skip
    open_by(client, other)
    item = handed_over.items.get(kind="plan")
    for name, args in (("client-handover", []), ("client-bundle", []), ("client-item", [item.pk])):
        assert client.get(address(name, handed_over, *args)).status_code == 404
    assert client.post(address("client-approve", handed_over), {"once": ONCE}).status_code == 404


def test_an_item_of_another_bundle_is_not_given(browser, handed_over, bundle_of_another_job):
    foreign = bundle_of_another_job.items.files().first()
    assert browser.get(address("client-item", handed_over, foreign.pk)).status_code == 404


@pytest.fixture
def bundle_of_another_job(client_of_office, house, tour_package, by_owner):
    shoot = make_shoot(client_of_office, house, tour_package, "S-2027-0002")
    bundle = make_bundle(shoot=shoot, release_rule="at_once", message="", by=by_owner, now=NOW)
    return hand_over(bundle=bundle, by=by_owner, now=NOW)


def test_the_page_is_not_kept_by_caches(browser, handed_over):
    assert "no-store" in browser.get(address("client-handover", handed_over))["Cache-Control"]


def test_before_payment_the_list_is_seen_and_no_link(browser, handed_over):
    Bundle.objects.update(release_rule="on_payment")
    text = browser.get(address("client-handover", handed_over)).text
    assert "once the invoice for this job is settled" in text
    assert "Floor plan, unbranded" in text
    assert "https://tour.example/" not in text
    item = handed_over.items.get(kind="plan")
    assert browser.get(address("client-preview", handed_over, item.pk, 1)).status_code == 404
    assert browser.get(address("client-bundle", handed_over)).status_code == 302
