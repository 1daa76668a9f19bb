"""The run sheet: one page a side, everything the crew needs, never a code."""

import io
from datetime import timedelta

import pypdfium2
import pytest
from django.urls import reverse
from pypdf import PdfReader

from jobs.actions.entry_codes import write_entry_code
from jobs.actions.run_sheets import run_sheet, sheet_of, walk_steps
from jobs.actions.shoots import set_time
from jobs.actions.spaces import start_shape
from jobs.actions.verdicts import planned_walk
from jobs.models import Package, Property, Shoot
from jobs.rules.first_shape import FirstFacts
from tests.cast import NOW, visit

pytestmark = pytest.mark.django_db


def pages(content: bytes) -> list[str]:
    return [page.get_textpage().get_text_range().replace("\r\n", "\n") for page in pypdfium2.PdfDocument(content)]


def squeezed(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture
def known_house(confirmed):
    house = confirmed.property
    house.access_notes, house.cautions = "Park in the drive.\nLockbox on the railing.", ["dogs", "attic"]
    house.save()
    return house


def test_the_front_says_who_where_when_how_to_get_in_and_what_to_mind(confirmed, known_house):
    front, back = map(squeezed, pages(run_sheet(Shoot.objects.get())))
    for said in (
        "27 Alder Rise", "Wed, Mar 3, 2027, 9:00", "10:30", "Tobias Renn", "Odile Marchetti", "Tour and floor plan",
        "2,450 sq ft, 2 levels", "Park in the drive.", "Lockbox on the railing.", "Alone on site", "by 10:30",
        "Stairs: one carries", "Dogs: shut away", "Attic: only with written leave", "Door stops", "Notes",
    ):  # fmt: skip
        assert said in front, said
    assert "2 · Upper floor" in back
    assert "Bedroom, Closet" in back
    assert "Plan of the walk" in back
    assert "Start at the entrance" in back


def test_a_code_never_stands_on_paper(confirmed, known_house, by_owner):
    write_entry_code(shoot=confirmed, kind="lockbox", code="7391#", by=by_owner, now=NOW)
    content = run_sheet(Shoot.objects.get())
    assert "7391" not in "".join(pages(content))
    assert b"7391#" not in content


def test_a_pair_of_people_is_not_warned_of_being_alone(confirmed, owner, scanner, by_owner):
    set_time(shoot=confirmed, crew=[owner, scanner], by=by_owner, now=NOW, **visit(NOW + timedelta(days=2)))
    assert not any("Alone" in caution for caution in sheet_of(Shoot.objects.get()).cautions)


def test_a_garage_is_warned_of_where_there_is_one(confirmed, client_of_office, by_owner):
    assert not any("Garage" in caution for caution in sheet_of(confirmed).cautions)
    confirmed.property.spaces.filter(code="C").update(kind="garage")
    assert any("Garage" in caution for caution in sheet_of(confirmed).cautions)


@pytest.mark.parametrize(
    ("facts", "most"), [(FirstFacts(levels=2, bedrooms=3, bathrooms=2, basement=True, garage=True), 2)]
)
def test_an_ordinary_house_takes_one_sheet_of_paper(shoot, house, by_owner, facts, most):
    Property.objects.get().spaces.all().delete()
    start_shape(house=Property.objects.get(), facts=facts, by=by_owner, now=NOW)
    assert len(pages(run_sheet(Shoot.objects.get()))) <= most


def test_a_large_house_with_much_to_say_leaves_nothing_out(shoot, by_owner):
    house = Property.objects.get()
    house.spaces.all().delete()
    facts = FirstFacts(levels=4, bedrooms=12, bathrooms=8, walk_in_closets=6, basement=True, garage=True)
    start_shape(house=house, facts=facts, by=by_owner, now=NOW)
    Property.objects.update(access_notes="Ring twice and wait. " * 60, cautions=["dogs", "pool", "alarm", "attic"])
    Package.objects.update(kit="\n".join(f"Thing {number}" for number in range(40)))
    told = squeezed(" ".join(pages(run_sheet(Shoot.objects.get()))))
    for said in ("Ring twice and wait.", "Thing 39", "Notes", "Walk-in closet 6", planned_walk(shoot)[-1].text):
        assert said in told


def test_letters_of_other_scripts_are_printed(confirmed):
    Property.objects.update(access_notes="Звонить дважды. Κλειδί στο γείτονα.")
    text = "".join(pages(run_sheet(Shoot.objects.get())))
    assert "Звонить" in text
    assert "Κλειδί" in text


def test_an_order_without_time_place_or_spaces_still_has_a_sheet(client_of_office, house, package, by_owner):
    from jobs.actions.shoots import pencil_shoot

    Property.objects.update(latitude=None)
    shoot = pencil_shoot(client=client_of_office, property=house, package=package, add_ons={}, by=by_owner, now=NOW)
    front, back = map(squeezed, pages(run_sheet(Shoot.objects.get(pk=shoot.pk))))
    assert "no time yet" in front
    assert "Scan for the map" not in front
    assert "not known yet" in back


def test_stations_in_a_row_that_are_alike_take_one_line(confirmed):
    steps = list(walk_steps(planned_walk(confirmed)))
    assert steps[0].numbers == "1"
    assert any("–" in step.numbers for step in steps)
    first, last = steps[0].numbers.split("–")[0], steps[-1].numbers.split("–")[-1]
    assert (first, last) == ("1", str(len(planned_walk(confirmed))))


def test_the_paper_knows_its_title_and_language_and_embeds_its_letters(confirmed):
    reader = PdfReader(io.BytesIO(run_sheet(Shoot.objects.get())))
    assert reader.metadata.title == f"Run sheet {confirmed.number}"
    assert reader.trailer["/Root"]["/Lang"] == "en-us"
    for page in reader.pages:
        for font in page["/Resources"]["/Font"].values():
            assert "/FontFile2" in font["/FontDescriptor"]


def test_the_crew_opens_it_from_the_job(scanner_browser, confirmed):
    answer = scanner_browser.get(reverse("jobs:run-sheet", args=[confirmed.number]))
    assert answer["Content-Type"] == "application/pdf"
    assert f"{confirmed.number}-run-sheet.pdf" in answer["Content-Disposition"]
    assert "no-store" in answer["Cache-Control"]
    assert answer.content.startswith(b"%PDF-")
