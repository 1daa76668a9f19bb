"""The cover sheet and the checksums that leave with every bundle."""

import hashlib
import io
import shutil
import subprocess

import pypdf
import pytest

from deliverables.actions.bundles import add_link, hand_over
from deliverables.models import ItemKind
from deliverables.paper.cover_sheet import CoverItem, checksum_list
from tests.cast import NOW


def words_of(item) -> str:
    pages = pypdf.PdfReader(io.BytesIO(item.file.open().read())).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_the_sheet_says_what_is_in_the_bundle_and_how_long_the_link_lasts(handed_over, draft):
    words = words_of(handed_over.items.get(kind=ItemKind.COVER_SHEET))
    for said in (
        "27 Alder Rise", "S-2027-0001", "https://tour.example/b/27", "S-2027-0001-P-2027-0001-plan.png", draft.sha256,
        "Sun, May 30, 2027", "desk@lanternstreet.example", "Here it is.", "approximate and for marketing",
    ):  # fmt: skip
        assert said in words
    # 90 days after Monday, 1 March 2027


def test_the_sheet_holds_no_link_that_opens_the_handover(handed_over):
    assert "/open/" not in words_of(handed_over.items.get(kind=ItemKind.COVER_SHEET))


def test_the_sheet_comes_first_and_the_checksums_last(handed_over):
    kinds = [item.kind for item in handed_over.items.all()]
    assert (kinds[0], kinds[-1]) == (ItemKind.COVER_SHEET, ItemKind.CHECKSUMS)


def test_a_name_in_other_letters_can_be_printed(bundle, by_owner):
    add_link(
        bundle=bundle, kind="other", title="Κάτοψη <план> & 9", url="https://x.example/?a=1&b=2", by=by_owner, now=NOW
    )
    given = hand_over(bundle=bundle, by=by_owner, now=NOW)
    words = words_of(given.items.get(kind=ItemKind.COVER_SHEET))
    assert "Κάτοψη <план> & 9" in words
    assert "https://x.example/?a=1&b=2" in words


def test_every_stored_checksum_is_that_of_the_file(handed_over):
    for item in handed_over.items.files():
        assert hashlib.sha256(item.file.open().read()).hexdigest() == item.sha256


@pytest.mark.skipif(shutil.which("sha256sum") is None, reason="needs sha256sum")
def test_the_list_is_what_sha256sum_checks(handed_over, tmp_path):
    for item in handed_over.items.files():
        (tmp_path / item.file_name).write_bytes(item.file.open().read())
    checked = subprocess.run(
        ["sha256sum", "--check", "--strict", "SHA256SUMS.txt"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert checked.returncode == 0, checked.stderr
    assert checked.stdout.count(": OK") == 2


def test_links_have_no_line_in_the_list():
    assert checksum_list([CoverItem("Tour", "https://tour.example/")]) == b""
