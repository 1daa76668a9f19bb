"""A form that is sent twice counts once; a refused one may be sent again."""

from uuid import uuid4

import pytest

from office.models import Event, Office

pytestmark = pytest.mark.django_db


@pytest.fixture
def typed(office):
    return {
        "name": "New name", "country": "us", "zone": "America/Chicago", "locale": "en_US", "currency": "usd",
        "area_unit": "sqft", "hold_hours": 48, "quote_days": 14, "deposit_percent": 0, "invoice_days": 14,
        "link_days": 90, "area_tolerance_percent": 5, "largest_area_m2": 900, "most_levels": 4,
        "quote_terms": "t", "payment_text": "p",
        "hours_mon": "09:00-12:00, 13:00-17:00", "once": str(uuid4()),
    }  # fmt: skip


def test_the_second_sending_changes_nothing_and_says_so(owner_browser, typed):
    assert owner_browser.post("/settings/", typed).status_code == 302
    again = owner_browser.post("/settings/", typed | {"name": "Other name"}, follow=True)
    assert "done already" in again.content.decode()
    assert Office.the().name == "New name"
    assert Event.objects.filter(verb="office-changed").count() == 1


def test_a_form_without_its_key_is_refused(owner_browser, typed):
    answer = owner_browser.post("/settings/", typed | {"once": "no uuid"})
    assert "incomplete" in answer.content.decode()
    assert Office.the().name == "Lantern Street Scans"


def test_hours_are_kept_as_the_calendar_reads_them(owner_browser, typed):
    owner_browser.post("/settings/", typed)
    assert Office.the().hours == {"mon": [["09:00", "12:00"], ["13:00", "17:00"]]}


@pytest.mark.parametrize("hours", ["9-5", "17:00-09:00", "09:00-12:00, 11:00-17:00", "25:00-26:00"])
def test_wrong_hours_stand_beside_their_field_and_nothing_typed_is_lost(owner_browser, typed, hours):
    answer = owner_browser.post("/settings/", typed | {"hours_mon": hours})
    page = answer.content.decode()
    assert "Monday:" in page
    assert hours in page
    assert "New name" in page
    assert Office.the().name == "Lantern Street Scans"


@pytest.mark.parametrize("currency", ["XXX", "usdollar", "12"])
def test_an_unknown_currency_is_refused_beside_its_field(owner_browser, typed, currency):
    answer = owner_browser.post("/settings/", typed | {"currency": currency})
    assert answer.status_code == 200
    assert "id_currency" in answer.content.decode()
    assert Office.the().currency == "USD"
