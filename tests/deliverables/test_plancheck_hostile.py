"""Files that mean harm, or are broken: each ends in a finding, within the caps, and the process that asked lives on."""

import io
import random
import struct
import subprocess
import sys
import zlib

import pytest
from PIL import Image
from pypdf import PdfWriter
from pypdf.generic import DictionaryObject, NameObject, TextStringObject
from reportlab.pdfgen import canvas

from deliverables.rules import sandbox
from deliverables.rules.plan.limits import PlanLimits, Unreadable
from deliverables.rules.plan.names import ExpectedNames, ExpectedSpace
from deliverables.rules.plancheck import check_plan
from deliverables.rules.sandbox import check_plan_apart, compare_drafts_apart
from tests.deliverables.plan_papers import plan_pdf, plan_picture, saved


def png_claiming(width, height):
    """A small PNG whose header promises `width` × `height` pixels (PNG, second edition, 5.3 and 11.2.2)."""

    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    pixels = zlib.compress(bytes(10_000_000), 9)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", pixels) + chunk(b"IEND", b"")


def pdf_of(pages=1, size=(612, 792), draw=None):
    stream = io.BytesIO()
    paper = canvas.Canvas(stream, pagesize=size)
    for _ in range(pages):
        if draw:
            draw(paper)
        paper.showPage()
    paper.save()
    return stream.getvalue()


def rewritten(change, **options):
    writer = PdfWriter(clone_from=io.BytesIO(plan_pdf()), **options)
    change(writer)
    stream = io.BytesIO()
    writer.write(stream)
    return stream.getvalue()


def with_script(writer):
    action = {NameObject("/S"): NameObject("/JavaScript"), NameObject("/JS"): TextStringObject("app.alert(1)")}
    writer.root_object[NameObject("/OpenAction")] = DictionaryObject(action)


def with_program(writer):
    action = {NameObject("/S"): NameObject("/Launch"), NameObject("/F"): TextStringObject("calc.exe")}
    writer.root_object[NameObject("/OpenAction")] = DictionaryObject(action)


def many_words(paper):
    for number in range(20_000):
        paper.drawString(number % 600, number % 780, f"word {number}")


PNG = saved(plan_picture(), "PNG")
TIFF = saved(plan_picture(), "TIFF", compression="tiff_lzw")
UNREADABLE = {
    "nothing at all": b"",
    "text under another name": b"Just a few words.\n",
    "a web page": b"<!doctype html><script>alert(1)</script>",
    "a drawing in XML": b'<svg xmlns="http://www.w3.org/2000/svg"/>',
    "another picture format": b"GIF89a" + bytes(100),
    "a header alone": b"%PDF-1.7\n",
    "noise after a header": b"%PDF-1.7\n" + random.Random(1).randbytes(3000),
    "half a PDF": plan_pdf()[:500],
    "half a PNG": PNG[: len(PNG) // 2],
    "half a JPEG": saved(plan_picture(), "JPEG")[:9000],
    "half a TIFF": TIFF[: len(TIFF) // 2],
    "a PNG's signature alone": PNG[:8],
    "a locked PDF": rewritten(lambda writer: writer.encrypt("secret")),
    "sixty thousand pixels a side": png_claiming(60_000, 60_000),
    "sixty thousand pixels wide": saved(Image.new("L", (60_000, 3), 255), "PNG"),
    "a page larger than a country": pdf_of(size=(1e9, 1e9)),
    "fewer pixels than promised": png_claiming(8000, 8000),
}
SMALL_OR_BLANK = {
    "one pixel": (saved(Image.new("L", (1, 1)), "PNG"), "low-resolution"),
    "a dot": (saved(Image.new("RGB", (3, 2), "red"), "JPEG"), "low-resolution"),
    "a black page": (saved(Image.new("L", (900, 700), 0), "PNG"), "not-a-plan"),
    "a clear page": (saved(Image.new("RGBA", (900, 700), (0, 0, 0, 0)), "PNG"), "not-a-plan"),
    "a strip": (saved(Image.new("1", (8, 25_000), 1), "PNG"), "not-a-plan"),
    "noise": (saved(Image.effect_noise((900, 700), 90), "PNG"), "not-a-plan"),
    "numbers that are none": (saved(Image.new("F", (900, 700), float("nan")), "TIFF"), "not-a-plan"),
    "a blank PDF": (pdf_of(), "not-a-plan"),
    "a page without size": (pdf_of(size=(0.01, 0.01)), "not-a-plan"),
    "a page of a book": (pdf_of(draw=many_words), "not-a-plan"),
}


@pytest.mark.parametrize("name", UNREADABLE)
def test_what_cannot_be_read_is_a_finding(name):
    verdict = check_plan(UNREADABLE[name])
    assert [(f.code, f.severity) for f in verdict.findings] == [("unreadable", "must")]
    assert all(page.voids == () for page in verdict.pages)


@pytest.mark.parametrize("name", SMALL_OR_BLANK)
def test_what_shows_nothing_is_a_finding(name):
    content, code = SMALL_OR_BLANK[name]
    assert [finding.code for finding in check_plan(content).findings] == [code]


@pytest.mark.parametrize("change", [with_script, with_program, lambda w: w.add_attachment("a.exe", b"MZ")])
def test_a_pdf_with_active_content_is_looked_at_and_not_passed(change):
    verdict = check_plan(rewritten(change))
    assert [(f.code, f.severity, f.page) for f in verdict.findings] == [("unreadable", "must", None)]
    assert verdict.pages[0].labels[0] == "Kitchen"


def test_a_script_is_found_in_a_compressed_object_too():
    packed = zlib.compress(b"1 0 << /S /JavaScript /JS (app.alert(1)) >>")
    stream = b"9 0 obj << /Type /ObjStm /N 1 /First 4 /Filter /FlateDecode /Length %d >>\nstream\n" % len(packed)
    content = plan_pdf().replace(b"trailer", stream + packed + b"\nendstream endobj\ntrailer", 1)
    assert [finding.code for finding in check_plan(content).findings] == ["unreadable"]


def test_a_word_of_the_plan_is_no_script():
    assert check_plan(plan_pdf(lines=("/JavaScript /JS",))).findings == ()


def test_only_so_many_pages_are_looked_at():
    verdict = check_plan(pdf_of(pages=400), limits=PlanLimits(most_pages=3))
    assert len(verdict.pages) == 3
    assert "400 pages; only the first 3" in verdict.findings[0].text


def test_a_file_over_the_cap_is_refused_unread():
    verdict = check_plan(PNG, limits=PlanLimits(most_bytes=1000))
    assert [finding.code for finding in verdict.findings] == ["unreadable"]


def test_a_damaged_page_leaves_the_others():
    stream = io.BytesIO()
    plan_picture().save(stream, "TIFF", save_all=True, append_images=[plan_picture()])
    verdict = check_plan(stream.getvalue()[:-1_000_000])
    assert [(f.code, f.page) for f in verdict.findings] == [("void", 1), ("unreadable", 2)]


def test_a_pdf_that_ends_nowhere_is_read_in_time():
    content = plan_pdf() + b"stream\n" * 300_000
    assert "unreadable" not in [finding.code for finding in check_plan(content).findings]


def test_bytes_changed_at_random_never_raise():
    rng = random.Random(7)
    stock = [
        plan_pdf(lines=("Total 100 m²",)),
        TIFF,
        PNG,
        saved(plan_picture(), "JPEG"),
        saved(plan_picture(mode="L"), "PDF"),
    ]
    for _ in range(40):
        content = bytearray(rng.choice(stock))
        for _ in range(rng.choice((1, 5, 40))):
            content[rng.randrange(len(content))] = rng.randrange(256)
        check_plan(bytes(content), limits=PlanLimits(most_pixels=3_000_000))


def test_apart_the_verdict_is_the_same():
    house = ExpectedNames(("Ground floor", "Attic"), (ExpectedSpace("Cellar", is_room=False),))
    paper = plan_pdf(("Ground floor",), void=(310, 310, 120, 100), lines=("Total 90 m²", "Ann Example"))
    asked = (house, 100, ["ann example"])
    assert check_plan_apart(paper, *asked) == check_plan(paper, *asked)
    assert check_plan_apart(PNG) == check_plan(PNG)


def test_apart_a_path_is_read_and_a_missing_one_raises(tmp_path):
    (tmp_path / "draft").write_bytes(PNG)
    assert check_plan_apart(tmp_path / "draft") == check_plan(PNG)
    with pytest.raises(FileNotFoundError):
        check_plan_apart(tmp_path / "nothing")


@pytest.mark.parametrize("name", ["nothing at all", "sixty thousand pixels a side", "a locked PDF", "half a TIFF"])
def test_apart_the_reason_comes_back(name):
    assert check_plan_apart(UNREADABLE[name]) == check_plan(UNREADABLE[name])


def test_too_much_memory_ends_in_a_finding():
    large = saved(Image.new("RGB", (8000, 9000), "white"), "PNG")
    verdict = check_plan_apart(large, limits=PlanLimits(memory_bytes=400_000_000))
    assert [finding.code for finding in verdict.findings] == ["unreadable"]


def test_too_much_time_ends_in_a_finding():
    slow = pdf_of(pages=30, draw=many_words)
    verdict = check_plan_apart(slow, limits=PlanLimits(seconds=1))
    assert [finding.code for finding in verdict.findings] == ["unreadable"]
    assert "within 1 s" in verdict.findings[0].text


def test_the_process_apart_may_write_no_file(tmp_path):
    code = (
        "import sys; from deliverables.rules.plan.limits import PlanLimits;"
        "from deliverables.rules.sandbox import _cap; _cap(PlanLimits()); open(sys.argv[1], 'w').write('x' * 100_000)"
    )
    words = [sys.executable, "-c", code, str(tmp_path / "kept")]
    assert subprocess.run(words, cwd=sandbox.ROOT, capture_output=True, check=False).returncode != 0
    assert (tmp_path / "kept").read_bytes() == b""


def test_comparing_apart_names_the_file_that_cannot_be_read():
    for files, which in (((b"", PNG), 0), ((PNG, b"no plan"), 1)):
        with pytest.raises(Unreadable) as refused:
            compare_drafts_apart(*files)
        assert refused.value.file == which
