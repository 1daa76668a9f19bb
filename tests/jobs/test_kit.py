"""The kit list, ticked leaving the office and again leaving the property."""

from uuid import uuid4

import pytest
from django.urls import reverse

from jobs.actions.kit import kit_of, set_lists, tick_kit
from jobs.models import KitTick, Stage
from office.errors import Refused
from office.models import Event
from tests.cast import NOW

pytestmark = pytest.mark.django_db


@pytest.fixture
def listed(confirmed, package, by_owner):
    set_lists(package=package, kit="Camera\nTripod\n\nDoor stops\nCamera", preparation="Key", by=by_owner, now=NOW)
    confirmed.refresh_from_db()
    return confirmed


def lines(shoot):
    return [(line.item, line.at_office, line.at_property) for line in kit_of(shoot)]


def test_every_package_begins_with_a_list_that_has_door_stops(package):
    assert any("Door stops" in item for item in package.kit_items)


def test_a_list_holds_each_thing_once(listed):
    assert lines(listed) == [("Camera", False, False), ("Tripod", False, False), ("Door stops", False, False)]


def test_what_is_not_ticked_is_counted(listed, by_owner):
    assert tick_kit(shoot=listed, stage=Stage.OFFICE, items=["Camera", "Door stops"], by=by_owner, now=NOW) == 1
    assert tick_kit(shoot=listed, stage=Stage.PROPERTY, items=["Camera"], by=by_owner, now=NOW) == 2
    assert [line.item for line in kit_of(listed) if line.left_behind] == ["Door stops"]
    assert "ticked 2 of 3 of the kit: leaving the office" in Event.objects.filter(verb="kit-ticked").earliest("pk").text


def test_a_tick_can_be_taken_back_and_the_first_time_stays(listed, by_owner, owner):
    tick_kit(shoot=listed, stage=Stage.OFFICE, items=["Camera", "Tripod"], by=by_owner, now=NOW)
    first = KitTick.objects.get(item="Camera").pk
    tick_kit(shoot=listed, stage=Stage.OFFICE, items=["Camera"], by=by_owner, now=NOW)
    assert list(KitTick.objects.values_list("pk", "item", "ticked_by")) == [(first, "Camera", owner.pk)]


def test_what_is_not_on_the_list_is_refused(listed, by_owner):
    with pytest.raises(Refused, match="Not on the kit list: Ladder"):
        tick_kit(shoot=listed, stage=Stage.OFFICE, items=["Camera", "Ladder"], by=by_owner, now=NOW)
    assert not KitTick.objects.exists()


def test_a_changed_list_forgets_nothing_that_went_out(listed, package, by_owner):
    tick_kit(shoot=listed, stage=Stage.OFFICE, items=["Tripod"], by=by_owner, now=NOW)
    set_lists(package=package, kit="Camera", preparation="", by=by_owner, now=NOW)
    listed = type(listed).objects.get(pk=listed.pk)
    assert lines(listed) == [("Camera", False, False), ("Tripod", True, False)]


def test_the_page_ticks_and_says_what_is_missing(scanner_browser, listed):
    address = reverse("jobs:shoot-kit", args=[listed.number])
    press = {"stage": "property", "items": ["Camera", "Tripod"], "once": str(uuid4())}
    assert "1 thing is not ticked." in scanner_browser.post(address, press, follow=True).content.decode()
    everything = {"stage": "office", "items": ["Camera", "Tripod", "Door stops"], "once": str(uuid4())}
    assert "All there." in scanner_browser.post(address, everything, follow=True).content.decode()


def test_a_package_without_a_list_says_what_to_do(owner_browser, confirmed, package, by_owner):
    set_lists(package=package, kit="", preparation="", by=by_owner, now=NOW)
    page = owner_browser.get(reverse("jobs:shoot-kit", args=[confirmed.number])).content.decode()
    assert "This package has no kit list." in page
    assert reverse("jobs:package-lists", args=[package.pk]) in page


def test_the_owner_changes_the_lists_and_the_client_reads_them(owner_browser, package):
    from jobs.actions.preparation import preparation_of

    address = reverse("jobs:package-lists", args=[package.pk])
    typed = {"kit": "  Camera \n\nCamera\nLamp", "preparation": "Unlock the shed", "once": str(uuid4())}
    assert owner_browser.post(address, typed).status_code == 302
    package.refresh_from_db()
    assert package.kit == "Camera\nLamp"
    assert any("Unlock the shed" in part.lines for part in preparation_of(package))


def test_a_line_that_is_too_long_stands_beside_its_field(owner_browser, package):
    address = reverse("jobs:package-lists", args=[package.pk])
    page = owner_browser.post(address, {"kit": "x" * 121, "once": str(uuid4())}).content.decode()
    assert "at most 120" in page
