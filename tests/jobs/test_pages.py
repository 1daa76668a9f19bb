"""The first floor's pages: what they refuse, what they say, and that they cost the same however many rows there are."""

from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from jobs.actions.shoots import pencil_shoot
from jobs.models import Client, Property, Shoot, ShootState
from office.models import Event
from tests.cast import NOW

pytestmark = pytest.mark.django_db

LISTS = ["/shoots/", "/clients/", "/properties/", "/diary/"]


@pytest.mark.parametrize("address", ["/shoots/S-1999-9999/", "/clients/99/", "/properties/99/", "/shoots/S-1/walk/"])
def test_what_is_not_there_is_404(owner_browser, address):
    assert owner_browser.get(address).status_code == 404


def test_a_button_in_the_wrong_state_says_so_and_changes_nothing(owner_browser, shoot):
    answer = owner_browser.post(f"/shoots/{shoot.number}/confirm/", {"once": str(uuid4())}, follow=True)
    assert "Set a time and a crew first" in answer.content.decode()
    shoot.refresh_from_db()
    assert shoot.state == ShootState.PENCILLED


def test_a_button_pressed_twice_counts_once(owner_browser, timed):
    once = {"once": str(uuid4())}
    owner_browser.post(f"/shoots/{timed.number}/confirm/", once)
    answer = owner_browser.post(f"/shoots/{timed.number}/confirm/", once, follow=True)
    assert "done already" in answer.content.decode()
    assert Event.objects.filter(verb="shoot-confirmed").count() == 1


def test_taking_an_order_twice_by_one_form_makes_one_shoot(owner_browser, client_of_office, house, package):
    typed = {"client": client_of_office.pk, "property": house.pk, "package": package.pk, "once": str(uuid4())}
    owner_browser.post("/shoots/new/", typed)
    owner_browser.post("/shoots/new/", typed)
    assert Shoot.objects.count() == 1


def test_an_order_without_a_client_keeps_what_was_typed(owner_browser, house, package):
    typed = {"property": house.pk, "package": package.pk, "notes": "ring twice", "once": str(uuid4())}
    page = owner_browser.post("/shoots/new/", typed).content.decode()
    assert "This field is required" in page
    assert "ring twice" in page
    assert not Shoot.objects.exists()


@pytest.mark.parametrize("area", ["0", "-5", "NaN", "1e99", "many"])
def test_an_impossible_area_stands_beside_its_field(owner_browser, office, area):
    typed = {"street": "27 Alder Rise", "town": "Harrowfield", "country": "US", "area": area, "area_unit": "sqft"}
    typed |= {"level_count": 1, "zone": "America/Chicago", "once": str(uuid4())}
    page = owner_browser.post("/properties/new/", typed).content.decode()
    assert 'id="error_1_id_area"' in page
    assert "27 Alder Rise" in page
    assert not Property.objects.exists()


def test_square_feet_are_stored_as_exact_square_metres(owner_browser, office):
    typed = {"street": "27 Alder Rise", "town": "Harrowfield", "country": "US", "area": "2450", "area_unit": "sqft"}
    typed |= {"level_count": 1, "zone": "America/Chicago", "once": str(uuid4())}
    owner_browser.post("/properties/new/", typed)
    assert str(Property.objects.get().area_m2) == "227.6124"  # 2450 × 0.09290304 = 227.612448, NIST SP 811


def queries_of(browser, address):
    with CaptureQueriesContext(
        connection,
    ) as queries:
        assert browser.get(address).status_code == 200
    return len(queries)


@pytest.mark.parametrize("address", LISTS)
def test_a_list_costs_the_same_however_long_it_is(owner_browser, shoot, package, by_owner, address):
    def more(count):
        for number in range(count):
            client = Client.objects.create(name=f"Client {number}", email=f"c{number}@example.org")
            house = Property.objects.create(
                street=f"{number} Quarry Road", town="Harrowfield", zone="America/Chicago", area_m2=100
            )
            pencil_shoot(client=client, property=house, package=package, add_ons={}, by=by_owner, now=NOW)

    more(3)
    few = queries_of(owner_browser, address)
    more(12)
    assert queries_of(owner_browser, address) == few
    assert few <= 15


def test_a_list_goes_on_where_the_page_before_ended(owner_browser, office):
    Client.objects.bulk_create(Client(name=f"Client {n % 7}", email=f"c{n}@example.org") for n in range(120))
    seen, address = [], "/clients/"
    while address:
        page = owner_browser.get(address)
        seen += [client.pk for client in page.context["page"]]
        key = page.context["page"].next_key
        address = f"/clients/?after={key}" if key else ""
    assert len(seen) == 120
    assert len(set(seen)) == 120
