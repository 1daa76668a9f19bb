"""The diary's pages: week, day, month, the phone's list, the board that visits are moved on."""

import re
from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from jobs.actions.leave import add_leave
from jobs.actions.shoots import confirm_shoot, pencil_shoot, set_time
from jobs.models import Property
from office.models import Role
from tests.cast import NOW, make_person, visit

pytestmark = pytest.mark.django_db

DAY = "2027-03-03"


@pytest.fixture
def on_monday(time_machine, office):
    time_machine.move_to(NOW, tick=False)


@pytest.fixture
def owners(on_monday, owner, client):
    client.force_login(owner, backend="allauth.account.auth_backends.AuthenticationBackend")
    return client


def page(browser, address):
    answer = browser.get(address)
    assert answer.status_code == 200
    return answer.content.decode()


def day_page(browser, day=DAY):
    return page(browser, reverse("jobs:diary-day", args=[day]))


def test_the_week_shows_people_against_days(owners, confirmed, scanner):
    week = page(owners, reverse("jobs:diary"))
    assert "Tobias Renn" in week
    assert "Maren Quist" in week
    assert f'href="{confirmed.get_absolute_url()}"' in week
    assert 'data-day="2027-03-07"' in week
    assert "No visit on this day." in week  # today's list, Monday


def test_the_week_asked_for_is_shown_from_its_monday(owners):
    assert 'data-day="2027-04-05"' in page(owners, reverse("jobs:diary") + "?week=2027-04-08")


@pytest.mark.parametrize("week", ["soon", "0000-01-01", "9999-12-31", "2027-02-30"])
def test_a_week_that_is_none_shows_this_one(owners, week):
    assert 'data-day="2027-03-01"' in page(owners, reverse("jobs:diary") + f"?week={week}")


def test_a_visit_is_drawn_with_its_drives_and_can_be_moved_by_the_owner(owners, confirmed):
    day = day_page(owners)
    bodies = re.findall(r'class="strip-body" x="([\d.]+)" y="14%" width="([\d.]+)"', day)
    # nine to half past ten on a strip from seven to seven, a thousand wide
    assert bodies == [("166.67", "125.00")]
    assert "30 minutes' drive to 27 Alder Rise" in day
    move = f'data-move="{reverse("jobs:shoot-time", args=[confirmed.number])}" data-begins="540" data-window="30"'
    assert f'{move} data-minutes="60" data-crew="' in day


def test_a_scanner_sees_the_board_but_moves_nothing_and_lists_only_their_own(on_monday, confirmed, client, scanner):
    other = make_person("Ines Okafor", Role.SCANNER)
    client.force_login(other, backend="allauth.account.auth_backends.AuthenticationBackend")
    day = day_page(client)
    assert "strip-body" in day
    assert "data-move" not in day
    assert "No visit on this day." in day
    client.force_login(scanner, backend="allauth.account.auth_backends.AuthenticationBackend")
    mine = day_page(client)
    assert "Check in" in mine
    assert "geo:41.600000,-93.610000" in mine  # RFC 5870
    assert 'href="tel:+1 515 555 0142"' in mine


def test_a_visit_called_off_is_not_drawn(owners, confirmed, by_owner):
    from jobs.actions.shoots import cancel_shoot

    cancel_shoot(shoot=confirmed, why="sold", by=by_owner, now=NOW)
    assert "strip-body" not in day_page(owners)


def test_holidays_and_leave_are_named(owners, scanner, by_owner, shoot):
    leave = {"person": scanner, "first_day": NOW.date(), "last_day": NOW.date() + timedelta(days=2), "why": "dentist"}
    add_leave(**leave, by=by_owner, now=NOW)
    assert "dentist" in day_page(owners)
    assert "Memorial Day" in day_page(owners, "2027-05-31")
    month = page(owners, reverse("jobs:diary-month") + "?month=2027-05-10")
    assert "Memorial Day" in month
    assert "Tobias Renn away" in page(owners, reverse("jobs:diary-month"))


def test_the_month_counts_visits_by_state(owners, confirmed):
    month = page(owners, reverse("jobs:diary-month"))
    assert re.search(r"<p>1\s+<span class=.state good.>.*?Confirmed</span>", month, re.DOTALL)


def test_the_way_on_leads_over_the_end_of_the_year(owners):
    december = page(owners, reverse("jobs:diary-month") + "?month=2027-12-31")
    assert "?month=2028-01-01" in december
    assert "?month=2027-11-01" in december


@pytest.mark.parametrize("day", ["soon", "2027-02-30", "0001-01-01", "9999-12-31"])
def test_a_day_that_is_none_is_not_found(owners, day):
    assert owners.get(reverse("jobs:diary-day", args=[day])).status_code == 404


def test_a_day_with_a_clock_change_is_drawn_by_the_face_of_the_clock(owners, shoot, scanner, by_owner):
    from datetime import datetime
    from zoneinfo import ZoneInfo

    start = datetime(2027, 3, 14, 9, tzinfo=ZoneInfo("America/Chicago"))  # an hour after a short night
    set_time(shoot=shoot, crew=[scanner], by=by_owner, now=NOW, **visit(start))
    assert 'data-begins="540"' in day_page(owners, "2027-03-14")


def test_the_board_costs_the_same_however_many_visits_it_shows(owners, client_of_office, package, by_owner, shoot):
    def queries(address):
        with CaptureQueriesContext(connection) as found:
            page(owners, address)
        return len(found)

    def visits(people):
        for person in people:
            for hour in (0, 3):
                house = Property.objects.create(street="1 Elm", town="N", area_m2=100, zone="America/Chicago")
                order = {"client": client_of_office, "property": house, "package": package, "add_ons": {}}
                one = pencil_shoot(**order, by=by_owner, now=NOW)
                start = NOW + timedelta(days=2, hours=hour)
                set_time(shoot=one, crew=[person], by=by_owner, now=NOW, **visit(start))
                confirm_shoot(shoot=one, by=by_owner, now=NOW)

    addresses = [
        reverse("jobs:diary"), reverse("jobs:diary-day", args=[DAY]), reverse("jobs:diary-month"),
        reverse("jobs:shoot-time", args=[shoot.number]),
    ]  # fmt: skip
    visits([make_person("Ada One", Role.SCANNER)])
    before = [queries(address) for address in addresses]
    visits([make_person(f"P{n} Two", Role.SCANNER) for n in range(3)])
    assert [queries(address) for address in addresses] == before
    assert max(before) <= 26


def test_a_button_leads_back_to_the_day_it_stood_on_and_nowhere_else(owners, confirmed, by_owner):
    hold = {"decide_at": "2027-03-02T12:00", "note": "rain", "once": str(uuid4())}
    owners.post(reverse("jobs:shoot-weather", args=[confirmed.number]), hold)
    press = {"day": "//elsewhere.example/", "once": str(uuid4())}
    answer = owners.post(reverse("jobs:shoot-goes-ahead", args=[confirmed.number]), press)
    assert answer["Location"] == confirmed.get_absolute_url()


def test_a_fee_is_shown_and_waived(owners, confirmed, by_owner):
    from jobs.actions.shoots import note_no_access

    note_no_access(shoot=confirmed, why="nobody came", by=by_owner, now=NOW)
    assert "50 % of the price: nobody let us in: nobody came" in page(owners, confirmed.get_absolute_url())
    owners.post(reverse("jobs:shoot-fee-waive", args=[confirmed.number]), {"once": str(uuid4())})
    assert "% of the price" not in page(owners, confirmed.get_absolute_url()).split('id="history"')[0]


def test_what_was_written_to_the_client_stands_on_the_job_page(owners, confirmed):
    assert "Visit confirmed" in page(owners, confirmed.get_absolute_url())


def test_names_that_look_like_markup_stay_words(owners, confirmed, house):
    house.street = "<b>\"27' Alder</b>"
    house.save()
    assert "<b>" not in day_page(owners)
    assert "&lt;b&gt;" in day_page(owners)
