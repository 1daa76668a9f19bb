"""What changed between two drafts: the shift, the regions, the pins, and what is no change."""

import io
import json
from decimal import Decimal

import pytest
from django.core.management import call_command
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageDraw, ImageFilter, ImageFont

from deliverables.rules.compare import Pin, compare_drafts, comparison_from, comparison_json
from deliverables.rules.plan.limits import Unreadable
from deliverables.rules.sandbox import compare_drafts_apart
from tests.deliverables.plan_papers import plan_pdf, plan_picture, saved

LABELS = (("Kitchen", 200, 180), ("Hall", 640, 200), ("Bedroom 2", 200, 450), ("12'-4\" × 10'-0\"", 620, 460))


def drawing(size=(1000, 700), void=None):
    """Four rooms with their names."""
    picture = plan_picture(void, size=size)
    pen, font = ImageDraw.Draw(picture), ImageFont.load_default(16)
    for text, x, y in LABELS:
        pen.text((x, y), text, fill="black", font=font)
    return picture


def moved(picture, right, down, size=None):
    page = Image.new("RGB", size or picture.size, "white")
    page.paste(picture, (right, down))
    return page


def with_box(picture, x, y, width, height, fill="black"):
    changed = picture.copy()
    ImageDraw.Draw(changed).rectangle((x, y, x + width - 1, y + height - 1), fill=fill)
    return changed


def png(picture):
    return saved(picture, "PNG")


def boxes(comparison):
    return [(change.page, change.x, change.y, change.width, change.height) for change in comparison.changed]


def pin(x, y, page=1, name="7"):
    return Pin(name, page, Decimal(str(x)), Decimal(str(y)))


def test_the_same_file_has_not_changed():
    comparison = compare_drafts(png(drawing()), png(drawing()), [pin(0.5, 0.5)])
    assert (comparison.shift_px, comparison.changed) == ((0, 0), ())
    assert comparison.pins[0].changed is False


@settings(max_examples=12, deadline=None)
@given(st.integers(-60, 60), st.integers(-60, 60), st.sampled_from((None, 90, 60, 35)))
def test_a_page_shifted_and_saved_again_has_not_changed(right, down, quality):
    page = moved(drawing(), right, down)
    new = png(page) if quality is None else saved(page, "JPEG", quality=quality)
    comparison = compare_drafts(png(drawing()), new)
    assert comparison.shift_px == (right, down)
    assert comparison.changed == ()


@pytest.mark.parametrize("quality", [95, 75, 50, 30])
def test_a_lossy_file_saved_again_has_not_changed(quality):
    old = saved(drawing(), "JPEG", quality=80)
    again = Image.open(io.BytesIO(old))
    assert compare_drafts(old, saved(again, "JPEG", quality=quality)).changed == ()


def test_a_warmer_or_softer_copy_has_not_changed():
    warm = drawing().point(lambda level: level * 245 // 255)
    assert compare_drafts(png(drawing()), png(warm)).changed == ()
    soft = drawing().filter(ImageFilter.GaussianBlur(0.6))
    assert compare_drafts(png(drawing()), png(soft)).changed == ()


@pytest.mark.parametrize("size", [(1200, 900), (1050, 760), (980, 690)])
def test_pages_may_differ_in_size(size):
    comparison = compare_drafts(png(drawing()), png(moved(drawing(), 20, -15, size)))
    assert (comparison.shift_px, comparison.changed) == ((20, -15), ())


def test_what_is_drawn_beyond_the_old_page_is_a_change():
    new = with_box(moved(drawing(), 0, 0, (1200, 700)), 1080, 300, 60, 40)
    assert boxes(compare_drafts(png(drawing()), png(new))) == [(1, 1080, 300, 60, 40)]


@pytest.mark.parametrize(("right", "down"), [(0, 0), (13, -8)])
def test_a_changed_box_is_found_where_it_is_on_the_new_page(right, down):
    comparison = compare_drafts(png(drawing()), png(with_box(moved(drawing(), right, down), 300, 520, 80, 50)))
    assert comparison.shift_px == (right, down)
    assert boxes(comparison) == [(1, 300, 520, 80, 50)]
    assert comparison.changed[0].share == Decimal("0.0057")  # 80 × 50 of 1000 × 700


def test_one_changed_digit_is_found():
    new = drawing()
    pen, font = ImageDraw.Draw(new), ImageFont.load_default(16)
    pen.rectangle((600, 455, 760, 485), fill="white")
    pen.text((620, 460), "12'-6\" × 10'-0\"", fill="black", font=font)
    for copy in (png(new), saved(new, "JPEG", quality=60)):
        (change,) = compare_drafts(png(drawing()), copy).changed
        assert (change.x >= 640, change.width < 20, change.height < 20) == (True, True, True)


def test_a_filled_void_and_a_removed_one_are_changes():
    old, new = png(drawing(void=(620, 420, 200, 130))), png(drawing())
    assert boxes(compare_drafts(old, new)) == [(1, 620, 420, 200, 130)]
    assert boxes(compare_drafts(new, old)) == [(1, 620, 420, 200, 130)]


def test_a_rooms_new_colour_is_a_change():
    (change,) = compare_drafts(png(drawing()), png(with_box(drawing(), 150, 250, 96, 64, (214, 236, 255)))).changed
    assert (change.x, change.y) == pytest.approx((150, 250), abs=8)
    assert (change.width, change.height) == pytest.approx((96, 64), abs=12)


def test_a_pin_tells_whether_anything_changed_there():
    new = with_box(moved(drawing(), 25, 10), 300, 520, 60, 40)
    pins = [
        pin(0.305, 0.757, name="there"),
        pin(0.7, 0.3, name="elsewhere"),
        pin(0, 0, name="corner"),
        pin(1, 1, name="c"),
    ]
    states = compare_drafts(png(drawing()), png(new), pins).pins
    assert [(state.id, state.changed) for state in states] == [
        ("there", True), ("elsewhere", False), ("corner", False), ("c", False),
    ]  # fmt: skip


def test_pages_are_compared_one_by_one():
    old = plan_pdf(("Ground floor", "First floor"))
    new = plan_pdf(("Ground floor", "First floor"), void=(310, 310, 120, 100))
    assert [change.page for change in compare_drafts(old, new).changed] == [1, 2]
    assert compare_drafts(old, plan_pdf(("Ground floor", "First floor"))).changed == ()


@pytest.mark.parametrize("pages", [(1, 2), (2, 1)])
def test_a_page_that_one_draft_lacks_is_changed_as_a_whole(pages):
    old, new = (plan_pdf(("Ground floor",) * count) for count in pages)
    comparison = compare_drafts(old, new, [pin(0.5, 0.5, page=1, name="one"), pin(0.5, 0.5, page=2, name="two")])
    assert boxes(comparison) == [(2, 0, 0, 1275, 1651)]
    assert comparison.changed[0].share == 1
    assert [state.changed for state in comparison.pins] == [False, True]
    assert comparison.old_pages == pages[0]


def test_blank_pages_and_reversed_pages_are_compared_without_a_shift():
    blank = Image.new("RGB", (900, 700), "white")
    assert compare_drafts(png(blank), png(blank)).shift_px == (0, 0)
    assert compare_drafts(png(blank), png(drawing((900, 700)))).shift_px == (0, 0)


def test_a_large_page_is_registered_to_the_pixel():
    large = drawing().resize((6000, 4200))
    comparison = compare_drafts(png(large), png(with_box(moved(large, 37, -21), 1800, 3000, 300, 200)))
    assert comparison.shift_px == (37, -21)
    assert boxes(comparison)[0] == pytest.approx((1, 1800, 3000, 300, 200), abs=4)
    assert len(comparison.changed) == 1


@pytest.mark.parametrize(("files", "which"), [((b"", png(drawing())), 0), ((png(drawing()), b"%PDF-"), 1)])
def test_a_file_that_cannot_be_read_is_named(files, which):
    with pytest.raises(Unreadable) as refused:
        compare_drafts(*files)
    assert refused.value.file == which


def test_apart_the_comparison_is_the_same():
    asked = (png(drawing()), png(with_box(drawing(), 300, 520, 60, 40)), [pin("0.33", "0.77")])
    comparison = compare_drafts(*asked)
    assert compare_drafts_apart(*asked) == comparison
    assert comparison_from(comparison_json(comparison), 1) == comparison


@pytest.fixture
def drafts(tmp_path):
    old, new = tmp_path / "old.png", tmp_path / "new"
    old.write_bytes(png(drawing()))
    new.write_bytes(png(with_box(moved(drawing(), 25, 10), 300, 520, 60, 40)))
    return str(old), str(new)


@pytest.mark.parametrize("wrapped", [True, False])
def test_the_command_answers_to_the_letter(drafts, tmp_path, capsys, wrapped):
    rows = [{"id": "a", "page": 1, "x": "0.305", "y": "0.757"}, {"id": 2, "page": 1, "x": 0.7, "y": 0}]
    pins = tmp_path / "pins.json"
    pins.write_text(json.dumps({"pins": rows} if wrapped else rows))
    call_command("draftdiff", *drafts, f"--pins={pins}", "--json")
    assert json.loads(capsys.readouterr().out) == {
        "shift_px": [25, 10],
        "changed": [{"page": 1, "x": 300, "y": 520, "width": 60, "height": 40, "share": "0.0034"}],
        "pins": [{"id": "a", "changed": True}, {"id": "2", "changed": False}],
    }


def test_people_get_a_table(drafts, capsys):
    call_command("draftdiff", *drafts)
    assert capsys.readouterr().out.splitlines() == [
        "shift    25 px right, 10 px down",
        "changed  page 1: 60 × 40 px at 300, 520, 0.3% of the page",
    ]
    call_command("draftdiff", drafts[0], drafts[0])
    assert "nothing changed" in capsys.readouterr().out


GOOD = {"id": "a", "page": 1, "x": "0.5", "y": "0.5"}
BAD_PINS = [
    ("", "expected JSON"),
    ("7", "expected"),
    ("[7]", "pins[0]"),
    ("null", "expected"),
    ('{"pins": null}', "pins"),
    ("{}", "pins: expected this key"),
    ('{"pins": [], "more": 1}', "more: unknown key"),
    (json.dumps([{**GOOD, "x": "1.01"}]), "pins[0].x: expected a share of the page from 0 to 1, found 1.01"),
    (json.dumps([{**GOOD, "y": -0.2}]), "pins[0].y: expected a share"),
    (json.dumps([{**GOOD, "x": True}]), "pins[0].x"),
    (json.dumps([{**GOOD, "x": None}]), "pins[0].x"),
    (json.dumps([{**GOOD, "x": "half"}]), "pins[0].x: expected a decimal"),
    ('[{"id": "a", "page": 1, "x": NaN, "y": 0}]', "pins[0].x"),
    ('[{"id": "a", "page": 1, "x": 1e400, "y": 0}]', "pins[0].x"),
    ('[{"id": "a", "page": 1, "x": 1e-300, "y": 0}]', "pins[0].x"),
    (json.dumps([{**GOOD, "page": 0}]), "pins[0].page"),
    (json.dumps([{**GOOD, "page": "1"}]), "pins[0].page"),
    (json.dumps([{**GOOD, "page": 2}]), "pins[0].page: expected a page of the old draft, 1 to 1, found 2"),
    (json.dumps([{**GOOD, "id": ""}]), "pins[0].id"),
    (json.dumps([{**GOOD, "id": None}]), "pins[0].id"),
    (json.dumps([GOOD, GOOD]), "pins[1].id: expected each id once, found 'a' again"),
    (json.dumps([{k: v for k, v in GOOD.items() if k != "y"}]), "pins[0].y: expected this key"),
    (json.dumps([{**GOOD, "z": "0"}]), "pins[0].z: unknown key"),
    ("[" * 100_000, "expected"),
]


@pytest.mark.parametrize(("text", "said"), BAD_PINS)
def test_pins_that_do_not_fit_are_refused_in_one_line(drafts, tmp_path, capsys, text, said):
    pins = tmp_path / "pins.json"
    pins.write_text(text)
    with pytest.raises(SystemExit) as stopped:
        call_command("draftdiff", *drafts, f"--pins={pins}")
    out, err = capsys.readouterr()
    assert stopped.value.code == 2
    assert (out, err.count("\n")) == ("", 1)
    assert err.startswith(f"{pins}: ")
    assert said in err


def test_drafts_that_cannot_be_read_are_refused_by_name(drafts, tmp_path, capsys):
    (tmp_path / "words").write_text("no plan")
    for old, new, named in (
        (drafts[0], str(tmp_path / "words"), "words: expected a readable plan"),
        (str(tmp_path / "words"), drafts[1], "words: expected a readable plan"),
        (drafts[0], "nowhere", "nowhere: expected a readable file"),
        ("-", "-", "-: expected standard input for one file only"),
    ):
        with pytest.raises(SystemExit) as stopped:
            call_command("draftdiff", old, new)
        out, err = capsys.readouterr()
        assert (stopped.value.code, out, err.count("\n")) == (2, "", 1)
        assert named in err
