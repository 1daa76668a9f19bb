"""The plan check on whole files: what is found where, in every kind of file, and the command's answer."""

import io
import json
from decimal import Decimal

import numpy as np
import pytest
from django.core.management import call_command
from PIL import Image, ImageDraw, ImageOps

from deliverables.rules.plan.names import ExpectedNames, ExpectedSpace
from deliverables.rules.plancheck import NO_TEXT, check_plan
from tests.deliverables.plan_papers import plan_pdf, plan_picture, saved

HOUSE = ExpectedNames(
    ("Ground floor", "First floor"),
    (
        ExpectedSpace("Kitchen"),
        ExpectedSpace("Living room"),
        ExpectedSpace("Bedroom 1"),
        ExpectedSpace("Bathroom", is_room=False),
    ),
)
STOREYS = ("GROUND FLOOR", "1st Flr")
PROPERTY = {
    "levels": [
        {"number": 1, "name": "Ground floor", "grade": "at", "elevation_m": "0.00"},
        {"number": 2, "name": "First floor", "grade": "above", "elevation_m": "2.70"},
    ],
    "spaces": [
        {"code": "K", "name": "Kitchen", "kind": "kitchen", "level": 1, "private": False},
        {"code": "C", "name": "Cellar", "kind": "utility", "level": 1, "private": False},
        {"code": "G", "name": "Garden", "kind": "exterior", "level": 1, "private": False},
    ],
    "openings": [],
    "entrance": "K",
}


def codes(verdict):
    return [finding.code for finding in verdict.findings]


def boxes(verdict, page=0):
    return [(void.x, void.y, void.width, void.height) for void in verdict.pages[page].voids]


def test_a_sound_plan_has_no_findings():
    verdict = check_plan(plan_pdf(STOREYS), HOUSE)
    assert verdict.findings == ()
    assert verdict.notes == ()
    assert verdict.pages[0].labels == ("Kitchen", "Living room", "Bedroom 1", "Bathroom", "GROUND FLOOR")


def test_a_void_in_a_pdf_is_given_in_pixels_at_the_reported_resolution():
    page = check_plan(plan_pdf(void=(310, 310, 120, 100))).pages[0]
    void = page.voids[0]
    in_points = [value * 72 / page.dpi for value in (void.x, void.y, void.width, void.height)]
    # the box is filled and stroked with a line of 5 points: 2.5 points wider on every side
    assert in_points == pytest.approx([307.5, 792 - 412.5, 125, 105], abs=1)


def test_a_levels_missing_title_is_a_must_and_its_spaces_count_once_each():
    verdict = check_plan(plan_pdf(("Ground floor",)), HOUSE)
    assert [(f.code, f.severity) for f in verdict.findings] == [("level-missing", "must")]
    assert "First floor" in verdict.findings[0].text


def test_a_missing_room_is_a_must_and_another_missing_space_a_should():
    verdict = check_plan(plan_pdf(STOREYS, names=("Kitchen", "Bedroom 1")), HOUSE)
    assert [(f.code, f.severity) for f in verdict.findings] == [("space-missing", "must"), ("space-missing", "should")]


def test_a_house_of_one_level_need_not_name_it():
    one = ExpectedNames(("Ground floor",), HOUSE.spaces)
    assert check_plan(plan_pdf(), one).findings == ()


@pytest.mark.parametrize(
    ("line", "stated", "expected"),
    [
        ("Total area: 100 m²", "100", []),
        ("Total area: 103 m²", "100", []),  # exactly 3 % is not over 3 %
        ("Total area: 103.01 m²", "100", ["should"]),
        ("Total area: 110 m²", "100", ["should"]),
        ("Total area: 110.1 m²", "100", ["must"]),
        ("Total area: 1,076.4 sq ft", "100", []),
        ("10'-0\" × 10'-0\"", "9.290304", []),
        ("10'-0\" × 10'-0\"", "9.60", ["should"]),
    ],
)
def test_the_plans_own_area_is_held_against_the_stated_one(line, stated, expected):
    verdict = check_plan(plan_pdf(lines=(line,)), stated_area_m2=Decimal(stated))
    assert [f.severity for f in verdict.findings if f.code == "area-off"] == expected


def test_levels_areas_are_summed_before_they_are_called_off():
    lines = ("Ground floor total 60 m²", "First floor total 54.6 m²")
    assert check_plan(plan_pdf(lines=lines), stated_area_m2=Decimal("114.6")).findings == ()


def test_contact_details_are_found_in_words_links_and_document_texts():
    paper = plan_pdf(lines=("Call (312) 555-0148",), author="Ann Example", link="mailto:ann@example.org")
    shown = ["+1 312 555 0148", "ann example", "ANN@example.org", "Somebody Else", "312 555 9999"]
    verdict = check_plan(paper, contacts=shown)
    assert [f.text for f in verdict.findings if f.code == "contact-shown"] == [
        f"The page shows “{contact}”." for contact in shown[:3]
    ]


def test_a_picture_is_never_blamed_for_names_it_cannot_be_read_for():
    verdict = check_plan(saved(plan_picture(None), "PNG"), HOUSE, Decimal(100), ["Ann Example"])
    assert verdict.findings == ()
    assert verdict.notes == (NO_TEXT,)


EVERY_KIND = {
    "rgb": lambda p: saved(p, "PNG"),
    "grey": lambda p: saved(p.convert("L"), "PNG"),
    "bilevel": lambda p: saved(p.convert("1"), "PNG"),
    "palette": lambda p: saved(p.convert("P"), "PNG"),
    "jpeg": lambda p: saved(p, "JPEG", quality=60),
    "cmyk jpeg": lambda p: saved(p.convert("CMYK"), "JPEG"),
    "tiff": lambda p: saved(p, "TIFF", compression="tiff_lzw"),
    "fax tiff": lambda p: saved(p.convert("1"), "TIFF", compression="group4"),
    "cmyk tiff": lambda p: saved(p.convert("CMYK"), "TIFF"),
    "16-bit tiff": lambda p: saved(deep(p, 257), "TIFF"),
    "12-bit tiff": lambda p: saved(deep(p, 16), "TIFF"),
    "16-bit png": lambda p: saved(deep(p, 257), "PNG"),
    "transparent": lambda p: saved(ink_alone(p, "black"), "PNG"),
    "transparent, white ink": lambda p: saved(ink_alone(p, "white"), "PNG"),
    "transparent grey": lambda p: saved(ink_alone(p, "black").convert("LA"), "PNG"),
    "light on dark": lambda p: saved(ImageOps.invert(p), "PNG"),
    "white on blue": lambda p: saved(ImageOps.colorize(p.convert("L"), "white", (20, 40, 90)), "PNG"),
    "blue on white": lambda p: saved(ImageOps.colorize(p.convert("L"), (20, 40, 190), "white"), "PNG"),
    "pale": lambda p: saved(p.point(lambda level: 110 + level * 130 // 255), "PNG"),
}


def deep(picture, factor):
    return Image.fromarray(np.asarray(picture.convert("L")).astype(np.uint16) * factor)


def ink_alone(picture, colour):
    page = Image.new("RGBA", picture.size, (0, 0, 0, 0))
    page.paste(colour, mask=ImageOps.invert(picture.convert("L")))
    return page


@pytest.mark.parametrize("kind", EVERY_KIND)
def test_a_void_is_found_to_the_pixel_in_every_kind_of_picture(kind):
    verdict = check_plan(EVERY_KIND[kind](plan_picture((620, 420, 200, 130))))
    assert boxes(verdict) == [(620, 420, 200, 130)]
    assert codes(verdict) == ["void"]


def test_a_photographed_orientation_is_undone_before_anything_is_measured():
    exif = Image.Exif()
    exif[0x0112] = 6  # Exif 2.32, Orientation: the first row is the right side
    verdict = check_plan(saved(plan_picture((620, 420, 200, 130)), "JPEG", exif=exif))
    assert (verdict.pages[0].width_px, verdict.pages[0].height_px) == (700, 1000)
    assert boxes(verdict) == [(700 - 420 - 130, 620, 130, 200)]


def test_every_page_of_a_tiff_is_looked_at_but_not_its_thumbnails():
    stream = io.BytesIO()
    thumbnail = plan_picture(None).resize((100, 70))
    thumbnail.encoderinfo = {"tiffinfo": {254: 1}}
    plan_picture(None).save(stream, "TIFF", save_all=True, append_images=[thumbnail, plan_picture()])
    verdict = check_plan(stream.getvalue())
    assert [(page.number, len(page.voids)) for page in verdict.pages] == [(1, 0), (2, 1)]


@pytest.mark.parametrize("size", [(1000, 700), (3000, 2100), (6000, 4200)])
def test_edges_are_exact_at_every_size_of_page(size):
    k = size[0] // 1000
    wanted = (613 * k + 1, 411 * k + 2, 207 * k - 1, 139 * k + 1)
    picture = plan_picture(None).resize(size)
    x, y, width, height = wanted
    ImageDraw.Draw(picture).rectangle((x, y, x + width - 1, y + height - 1), fill=(60, 60, 60))
    verdict = check_plan(saved(picture, "PNG"))
    assert boxes(verdict) == [wanted]
    inside = 805 * 505 * k * k
    assert float(verdict.pages[0].voids[0].share) == pytest.approx(width * height / inside, rel=0.03)


def test_a_plan_cut_at_its_outer_walls_is_not_taken_for_a_sheets_frame():
    studio = Image.new("RGB", (1000, 700), "white")
    pen = ImageDraw.Draw(studio)
    pen.rectangle((0, 0, 999, 699), outline="black", width=12)
    pen.rectangle((100, 100, 340, 420), outline="black", width=3)
    pen.line((500, 0, 500, 400), fill="black", width=12)
    pen.rectangle((700, 450, 999, 699), fill="black")
    (box,) = boxes(check_plan(saved(studio, "PNG")))
    assert box == pytest.approx((700, 450, 300, 250), abs=2)


def test_a_frame_a_table_and_a_title_bar_around_the_plan_are_none_of_it():
    sheet = Image.new("RGB", (1400, 1000), "white")
    sheet.paste(plan_picture((620, 420, 200, 130)), (200, 150))
    pen = ImageDraw.Draw(sheet)
    pen.rectangle((20, 20, 1379, 979), outline="black", width=4)
    pen.rectangle((20, 920, 1379, 979), fill="black")
    for row in range(4):
        box = (60, 50 + row * 32, 400, 82 + row * 32)
        pen.rectangle(box, outline="black", width=2, fill=None if row else "black")
    assert boxes(check_plan(saved(sheet, "PNG"))) == [(820, 570, 200, 130)]


def test_a_small_solid_is_a_should_and_a_large_one_a_must():
    small, large = (check_plan(saved(plan_picture(box), "PNG")) for box in ((90, 90, 60, 60), (620, 420, 200, 130)))
    assert [f.severity for f in small.findings] == ["should"]
    assert [f.severity for f in large.findings] == ["must"]


def test_a_pages_own_pixels_count_not_those_it_is_drawn_with():
    small = plan_picture(None).resize((400, 280))
    assert codes(check_plan(saved(small, "PNG"))) == ["low-resolution"]
    assert codes(check_plan(saved(small, "PDF", resolution=30))) == ["low-resolution"]


def test_a_thumbnail_is_not_judged_further():
    verdict = check_plan(saved(plan_picture().resize((150, 105)), "PNG"))
    assert [(f.code, f.severity) for f in verdict.findings] == [("low-resolution", "must")]


def test_a_cover_beside_a_plan_is_a_should_and_a_file_without_a_plan_a_must():
    blank, plan = Image.new("RGB", (1000, 700), "white"), plan_picture(None)
    cover = check_plan(saved(blank, "TIFF", save_all=True, append_images=[plan]))
    assert [(f.code, f.severity, f.page) for f in cover.findings] == [("not-a-plan", "should", 1)]
    assert [f.severity for f in check_plan(saved(blank, "PNG")).findings] == ["must"]


@pytest.mark.parametrize("name", ["astronaut", "camera", "coins"])
def test_a_photograph_is_not_a_plan(name):
    from skimage import data

    photograph = Image.fromarray(getattr(data, name)()).resize((1024, 1024))
    assert codes(check_plan(saved(photograph, "JPEG"))) == ["not-a-plan"]


def answer(*words, capsys):
    call_command("plancheck", *map(str, words), "--json")
    return json.loads(capsys.readouterr().out)


@pytest.fixture
def draft_file(tmp_path):
    file = tmp_path / "draft"
    file.write_bytes(plan_pdf(("Ground floor",), void=(310, 310, 120, 100), lines=("Total area: 100 m²",)))
    return file


def test_the_command_answers_to_the_letter(draft_file, tmp_path, capsys):
    shape = tmp_path / "property.json"
    shape.write_text(json.dumps(PROPERTY))
    told = answer(draft_file, "--property", shape, "--area", "1200", "--unit", "sqft", capsys=capsys)
    assert set(told) == {"pages", "findings"}
    assert set(told["pages"][0]) == {"number", "width_px", "height_px", "dpi", "voids", "labels"}
    assert set(told["pages"][0]["voids"][0]) == {"x", "y", "width", "height", "share"}
    assert isinstance(told["pages"][0]["voids"][0]["share"], str)
    assert all(set(finding) == {"code", "severity", "page", "text"} for finding in told["findings"])
    assert [(f["code"], f["severity"]) for f in told["findings"]] == [
        ("void", "must"),
        ("level-missing", "must"),
        ("space-missing", "should"),
        ("area-off", "must"),
    ]


def test_the_command_looks_for_contacts_only_when_given_some(draft_file, capsys):
    assert [f["code"] for f in answer(draft_file, capsys=capsys)["findings"]] == ["void"]
    told = answer(draft_file, "--contact", "total area", capsys=capsys)
    assert [f["code"] for f in told["findings"]] == ["void", "contact-shown"]


def test_people_get_a_table(tmp_path, capsys):
    file = tmp_path / "draft.png"
    file.write_bytes(saved(plan_picture(None), "PNG"))
    call_command("plancheck", str(file))
    assert "no text to read" in (shown := capsys.readouterr().out)
    assert "nothing found" in shown


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["nowhere.pdf"], "nowhere.pdf: expected a readable file"),
        (["."], ".: expected a readable file"),
        (["a\0b"], "expected a readable file"),
        (["-", "--property", "-"], "-: expected standard input for one file only"),
        (["DRAFT", "--area", "100"], "--unit: expected sqft or m2, found 'nothing'"),
        (["DRAFT", "--unit", "m2"], "--area: expected an area with --unit"),
        (["DRAFT", "--area", "100", "--unit", "acre"], "--unit: expected sqft or m2, found 'acre'"),
        (["DRAFT", "--area", "0", "--unit", "m2"], "--area: expected more than zero"),
        (["DRAFT", "--area", "-5", "--unit", "m2"], "--area: expected more than zero"),
        (["DRAFT", "--area", "NaN", "--unit", "m2"], "--area: expected a decimal"),
        (["DRAFT", "--area", "1e9", "--unit", "m2"], "--area: expected a decimal"),
        (["DRAFT", "--area", "9" * 30, "--unit", "m2"], "--area: expected at most"),
        (["DRAFT", "--contact", " "], "--contact: expected a name"),
        (["DRAFT", "--property", "nowhere.json"], "nowhere.json: expected a readable file"),
    ],
)
def test_what_does_not_fit_is_refused_in_one_line(words, said, draft_file, capsys):
    given = [word.replace("DRAFT", str(draft_file)) for word in words]
    with pytest.raises(SystemExit) as stopped:
        call_command("plancheck", *given[:1], *(f"{k}={v}" for k, v in zip(given[1::2], given[2::2], strict=True)))
    out, err = capsys.readouterr()
    assert stopped.value.code == 2
    assert (out, err.count("\n")) == ("", 1)
    assert said in err
