"""Entering levels, spaces and openings: started, copied, typed, refined one by one."""

import json
from dataclasses import replace
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from jobs.actions.properties import import_shape, set_shape
from jobs.actions.shapes import shape_json, shape_of
from jobs.actions.spaces import (
    add_level,
    add_opening,
    add_space,
    change_level,
    change_space,
    copy_shape,
    enter_by,
    remove_level,
    remove_opening,
    remove_space,
    start_shape,
)
from jobs.actions.walks import import_walk
from jobs.models import Level, Property, Space
from jobs.rules.first_shape import FirstFacts
from office.errors import Refused
from tests.cast import NOW, make_house
from tests.jobs.conftest import HOUSE, WALK

pytestmark = pytest.mark.django_db
ONCE = "11111111-1111-4111-8111-111111111111"


def reread(house: Property) -> Property:
    return Property.objects.with_shape().get(pk=house.pk)


def levels_of(house: Property) -> list[tuple[int, str]]:
    return list(house.levels.order_by("number").values_list("number", "name"))


@pytest.fixture
def walked(confirmed, by_owner):
    import_walk(shoot=confirmed, content=WALK.encode(), file_name="walk.csv", by=by_owner, now=NOW)
    return confirmed


def test_a_first_shape_is_made_once(house, by_owner):
    start_shape(house=house, facts=FirstFacts(levels=2, bedrooms=3, basement=True), by=by_owner, now=NOW)
    assert levels_of(house) == [(1, "Basement"), (2, "Ground floor"), (3, "Upper floor 1")]
    with pytest.raises(Refused, match="spaces already"):
        start_shape(house=house, facts=FirstFacts(), by=by_owner, now=NOW)


def test_a_level_added_below_becomes_level_1_and_logged_stations_stay_on_theirs(walked, by_owner):
    house = walked.property
    before = list(walked.stations.order_by("number").values_list("level__name", flat=True))
    add_level(
        house=house, fields={"name": "Cellar", "grade": "below", "elevation_m": Decimal(-3)}, by=by_owner, now=NOW
    )
    assert levels_of(house) == [(1, "Cellar"), (2, "Ground floor"), (3, "Upper floor")]
    assert list(walked.stations.order_by("number").values_list("level__name", flat=True)) == before
    house.refresh_from_db()
    assert house.level_count == 3


def test_changing_an_elevation_changes_the_order_of_the_numbers(shaped_house, by_owner):
    ground = shaped_house.levels.get(number=1)
    fields = {"name": "Ground floor", "grade": "above", "elevation_m": Decimal(9)}
    assert change_level(level=ground, fields=fields, by=by_owner, now=NOW).number == 2
    assert levels_of(shaped_house) == [(1, "Upper floor"), (2, "Ground floor")]


def test_two_levels_of_one_name_are_refused(shaped_house, by_owner):
    with pytest.raises(Refused, match="name already") as refusal:
        add_level(
            house=shaped_house, fields={"name": "ground floor", "grade": "at", "elevation_m": Decimal(1)},
            by=by_owner, now=NOW,
        )  # fmt: skip
    assert refusal.value.field == "name"


def test_a_level_with_spaces_is_not_removed(shaped_house, by_owner):
    with pytest.raises(Refused, match="Move or remove the spaces"):
        remove_level(level=shaped_house.levels.get(number=2), by=by_owner, now=NOW)


def test_an_empty_level_is_removed_and_the_rest_numbered_again(shaped_house, by_owner):
    cellar = add_level(
        house=shaped_house, fields={"name": "Cellar", "grade": "below", "elevation_m": Decimal(-3)},
        by=by_owner, now=NOW,
    )  # fmt: skip
    remove_level(level=cellar, by=by_owner, now=NOW)
    assert levels_of(shaped_house) == [(1, "Ground floor"), (2, "Upper floor")]


def test_a_space_gets_the_next_code_a_name_and_its_usual_opening(shaped_house, by_owner):
    level, bedroom = shaped_house.levels.get(number=2), shaped_house.spaces.get(code="B")
    closets = [
        add_space(house=shaped_house, level=level, kind="closet", beside=bedroom, by=by_owner, now=NOW)
        for _ in range(2)
    ]
    assert [(closet.code, closet.name) for closet in closets] == [("C1", "Closet 2"), ("C2", "Closet 3")]
    assert str(shaped_house.openings.get(other=closets[0])) == "D4: Bedroom – Closet 2"
    assert shaped_house.openings.get(other=closets[0]).kind == "door"


def test_the_first_space_is_the_entrance(house, by_owner):
    level = add_level(house=house, fields={"name": "G", "grade": "at", "elevation_m": Decimal(0)}, by=by_owner, now=NOW)
    hall = add_space(house=house, level=level, kind="hall", by=by_owner, now=NOW)
    house.refresh_from_db()
    assert house.entrance == hall


def test_a_space_of_another_house_is_refused(shaped_house, by_owner):
    foreign = Level.objects.create(property=make_house(), number=1, name="Elsewhere")
    with pytest.raises(Refused, match="another property"):
        add_space(house=shaped_house, level=foreign, kind="room", by=by_owner, now=NOW)
    space = shaped_house.spaces.get(code="H")
    with pytest.raises(Refused, match="another property"):
        change_space(
            space=space,
            fields={"name": "Hall", "kind": "hall", "level": foreign, "private": False},
            by=by_owner,
            now=NOW,
        )


def test_a_space_moved_to_another_level_takes_its_stations_along(walked, by_owner):
    space, upper = walked.property.spaces.get(code="H"), walked.property.levels.get(number=2)
    change_space(
        space=space, fields={"name": "Hall", "kind": "hall", "level": upper, "private": False}, by=by_owner, now=NOW
    )
    assert walked.stations.get(number=1).level == upper


@pytest.mark.parametrize("code", ["B", "C"])
def test_a_space_in_a_logged_walk_is_not_removed(walked, by_owner, code):
    with pytest.raises(Refused, match="logged walk"):
        remove_space(space=walked.property.spaces.get(code=code), by=by_owner, now=NOW)


def test_a_space_behind_an_opening_that_a_station_names_is_not_removed(walked, by_owner):
    walked.stations.filter(space__code="C").delete()
    with pytest.raises(Refused, match="logged walk"):
        remove_space(space=walked.property.spaces.get(code="C"), by=by_owner, now=NOW)


def test_an_opening_that_a_walk_names_is_not_removed(walked, by_owner):
    with pytest.raises(Refused, match="logged walk"):
        remove_opening(opening=walked.property.openings.get(code="D3"), by=by_owner, now=NOW)
    remove_opening(opening=walked.property.openings.get(code="D1"), by=by_owner, now=NOW)
    assert not walked.property.openings.filter(code="D1").exists()


def test_a_curtain_within_one_space_must_be_able_to_close(shaped_house, by_owner):
    bedroom = shaped_house.spaces.get(code="B")
    with pytest.raises(Refused, match="able to close"):
        add_opening(house=shaped_house, one=bedroom, other=bedroom, kind="open", by=by_owner, now=NOW)
    curtain = add_opening(house=shaped_house, one=bedroom, other=bedroom, kind="curtain", by=by_owner, now=NOW)
    assert curtain.code == "D4"


def test_setting_the_shape_again_keeps_the_openings_that_stations_name(walked, by_owner):
    set_shape(house=walked.property, shape=shape_of(reread(walked.property)), by=by_owner, now=NOW)
    assert walked.stations.get(number=4).opening.code == "D3"


def test_setting_a_shape_with_levels_out_of_order_numbers_them_by_elevation(shaped_house, by_owner):
    shape = shape_of(reread(shaped_house))
    swapped = replace(
        shape,
        levels=tuple(replace(level, number=3 - level.number) for level in shape.levels),
        spaces=tuple(replace(space, level=3 - space.level) for space in shape.spaces),
    )
    set_shape(house=shaped_house, shape=swapped, by=by_owner, now=NOW)
    assert shape_of(reread(shaped_house)) == shape


def test_a_dropped_level_with_stations_is_refused_and_nothing_changes(walked, by_owner):
    shape = shape_of(reread(walked.property))
    with pytest.raises(Refused, match="logged walk"):
        set_shape(
            house=walked.property, by=by_owner, now=NOW,
            shape=replace(
                shape, levels=shape.levels[:1], spaces=tuple(s for s in shape.spaces if s.level == 1),
                openings=shape.openings[:1],
            ),
        )  # fmt: skip
    assert shape_of(reread(walked.property)) == shape


def test_the_shape_of_an_earlier_row_of_the_building_is_copied_with_its_areas(shaped_house, by_owner):
    shaped_house.spaces.filter(code="B").update(area_m2=Decimal("12.5"))
    again = make_house()
    Property.objects.filter(pk=again.pk).update(street="27 ALDER RISE")
    again.refresh_from_db()
    assert list(Property.objects.at_same_address(again)) == [shaped_house]
    copy_shape(house=again, source=shaped_house, by=by_owner, now=NOW)
    assert shape_json(reread(again)) == shape_json(reread(shaped_house))
    assert again.spaces.get(code="B").area_m2 == Decimal("12.5")


def test_another_unit_in_the_house_is_another_address(shaped_house):
    other = make_house()
    other.unit = "2"
    assert not Property.objects.at_same_address(other)


@pytest.mark.parametrize(
    ("content", "said"),
    [(b"\xff", "UTF-8"), (b"{}", "levels: expected this key"), (b"[", "expected JSON")],
)
def test_a_file_that_is_no_property_is_named(house, by_owner, content, said):
    with pytest.raises(Refused, match=said):
        import_shape(house=house, content=content, file_name="house.json", by=by_owner, now=NOW)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"name": "Ground floor"}, "name of its own"),
        ({"name": " "}, "name of its own"),
        ({"name": "x" * 61}, "longer than 60"),
        ({"elevation_m": "1000"}, "within 999 m"),
    ],
)
def test_a_file_that_cannot_be_stored_is_refused(house, by_owner, change, said):
    lower, upper = HOUSE["levels"]
    content = json.dumps({**HOUSE, "levels": [lower, {**upper, **change}]}).encode()
    with pytest.raises(Refused, match=said):
        import_shape(house=house, content=content, file_name="house.json", by=by_owner, now=NOW)


def test_two_levels_of_one_number_in_a_file_are_refused(house, by_owner):
    attic = {"number": 2, "name": "Attic", "grade": "above", "elevation_m": "5.6"}
    content = json.dumps({**HOUSE, "levels": [*HOUSE["levels"], attic]}).encode()
    with pytest.raises(Refused, match="one number"):
        import_shape(house=house, content=content, file_name="house.json", by=by_owner, now=NOW)


# The pages


def test_the_editor_offers_a_start_and_the_earlier_shoot(scanner_browser, shaped_house):
    again = make_house()
    page = scanner_browser.get(reverse("jobs:property-spaces", args=[again.pk])).text
    assert "2 levels and 4 spaces from an earlier shoot" in page
    assert "Make a first shape" in page


def test_starting_copying_and_refining_on_the_page(scanner_browser, shaped_house):
    again = make_house()
    scanner_browser.post(reverse("jobs:property-copy", args=[again.pk, shaped_house.pk]), {"once": ONCE})
    level = again.levels.get(number=2)
    bedroom = again.spaces.get(code="B")
    added = scanner_browser.post(
        reverse("jobs:space-add", args=[level.pk]),
        {"kind": "walk_in_closet", "beside": bedroom.pk, "name": "", "once": ONCE[:-1] + "2"},
    )
    assert added.url.endswith(f"#level-{level.pk}")
    closet = again.spaces.get(kind="walk_in_closet")
    typed = {"name": "Dressing room", "kind": "walk_in_closet", "level": level.pk, "private": "on", "area": "100"}
    scanner_browser.post(reverse("jobs:space", args=[closet.pk]), {**typed, "once": ONCE[:-1] + "3"})
    closet.refresh_from_db()
    # 1 ft = 0.3048 m exactly (international yard and pound agreement, 1959)
    assert (closet.name, closet.private, closet.area_m2) == ("Dressing room", True, Decimal("9.2903"))
    page = scanner_browser.get(reverse("jobs:property-spaces", args=[again.pk])).text
    assert "Dressing room" in page
    assert "door: Bedroom" in page


def test_copying_from_a_house_elsewhere_is_not_found(scanner_browser, shaped_house, house):
    elsewhere = make_house()
    Property.objects.filter(pk=elsewhere.pk).update(street="1 Other Street")
    answer = scanner_browser.post(reverse("jobs:property-copy", args=[elsewhere.pk, shaped_house.pk]), {"once": ONCE})
    assert answer.status_code == 404


def test_the_start_form_says_what_is_wrong(scanner_browser, house):
    answer = scanner_browser.post(
        reverse("jobs:property-start", args=[house.pk]),
        {"levels": "0", "bedrooms": "2", "bathrooms": "1", "walk_in_closets": "0", "once": ONCE},
    )
    assert "greater than or equal to 1" in answer.text


def test_what_to_look_at_again_stands_on_the_page(scanner_browser, shaped_house, by_owner):
    add_level(
        house=shaped_house, fields={"name": "Attic", "grade": "above", "elevation_m": Decimal(6)}, by=by_owner, now=NOW
    )
    page = scanner_browser.get(reverse("jobs:property-spaces", args=[shaped_house.pk])).text
    assert "Attic has no space yet." in page


def test_the_entrance_is_chosen_on_the_page(scanner_browser, shaped_house):
    stair = shaped_house.spaces.get(code="S")
    scanner_browser.post(reverse("jobs:space-enter", args=[stair.pk]), {"once": ONCE})
    shaped_house.refresh_from_db()
    assert shaped_house.entrance == stair


def test_a_file_goes_in_as_it_came_out(scanner_browser, shaped_house, house, by_owner):
    saved = scanner_browser.get(reverse("jobs:property-export", args=[shaped_house.pk])).content
    again = make_house()
    upload = SimpleUploadedFile("house.json", saved)
    scanner_browser.post(reverse("jobs:property-import", args=[again.pk]), {"shape": upload, "once": ONCE})
    assert shape_json(reread(again)) == shape_json(reread(shaped_house))


def test_lines_still_set_the_whole_shape(scanner_browser, shaped_house):
    address = reverse("jobs:property-lines", args=[shaped_house.pk])
    initial = scanner_browser.get(address).context["form"].initial
    lines = {**initial, "levels": initial["levels"] + "\nAttic, above, 5.60", "once": ONCE}
    assert scanner_browser.post(address, lines).status_code == 302
    assert levels_of(shaped_house)[-1] == (3, "Attic")


def test_the_editor_asks_the_database_as_often_for_many_spaces_as_for_few(
    scanner_browser, shaped_house, by_owner, django_assert_num_queries
):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    address = reverse("jobs:property-spaces", args=[shaped_house.pk])
    scanner_browser.get(address)
    with CaptureQueriesContext(connection) as few:
        scanner_browser.get(address)
    level = shaped_house.levels.get(number=2)
    bedroom = shaped_house.spaces.get(code="B")
    for _ in range(6):
        add_space(house=shaped_house, level=level, kind="closet", beside=bedroom, by=by_owner, now=NOW)
    with django_assert_num_queries(len(few)):
        scanner_browser.get(address)


def test_the_entrance_stays_when_another_space_is_entered(shaped_house, by_owner):
    bedroom = Space.objects.get(property=shaped_house, code="B")
    assert enter_by(space=bedroom, by=by_owner, now=NOW).entrance == bedroom
