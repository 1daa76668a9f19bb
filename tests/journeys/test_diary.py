"""Moving a visit on the board: by the mouse, by the keys, and looking before it is saved; the phone's list."""

from datetime import datetime, time, timedelta
from urllib.parse import parse_qs, urlsplit
from zoneinfo import ZoneInfo

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from jobs.actions.diary_rules import set_drive
from jobs.actions.leave import add_leave
from jobs.actions.shoots import confirm_shoot, pencil_shoot, set_time
from office.actions.actors import Actor
from office.models import Role
from tests import cast
from tests.cast import visit

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.browser]

PHONE = {"width": 390, "height": 844}
CHICAGO = ZoneInfo("America/Chicago")
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


@pytest.fixture
def booked(client_of_office, house, package, scanner, owner):
    """A confirmed visit at ten next Monday, with a colleague who is free."""
    cast.make_person("Ursel Vogt", Role.SCANNER)
    by, now = Actor.of_person(owner), timezone.now()
    order = {"client": client_of_office, "property": house, "package": package, "add_ons": {}, "by": by, "now": now}
    shoot = pencil_shoot(**order)
    today = now.astimezone(CHICAGO).date()
    monday = today + timedelta(days=7 - today.weekday())
    start = datetime.combine(monday, time(10), CHICAGO)
    set_time(shoot=shoot, crew=[scanner], by=by, now=now, **visit(start, 120))
    return confirm_shoot(shoot=shoot, by=by, now=now)


def board_of(page, shoot):
    day = shoot.starts_at.astimezone(CHICAGO).date().isoformat()
    page.goto(f"/diary/day/{day}/")
    return day, page.locator("[data-move]").first


def chosen(page):
    return parse_qs(urlsplit(page.url).query)


def test_the_arrow_keys_move_a_visit_onto_the_page_that_tells_what_it_means(signed_in, booked, owner, scanner):
    page = signed_in(owner)
    day, drawn = board_of(page, booked)
    drawn.focus()
    for key in ("ArrowRight", "ArrowRight", "Shift+ArrowRight", "ArrowLeft"):
        page.keyboard.press(key)
    expect(page.locator("[data-board-live]")).to_contain_text("11:15")
    page.keyboard.press("Escape")
    expect(page.locator("[data-board-live]")).to_have_text("")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowDown")
    expect(page.locator("[data-board-live]")).to_contain_text("Ursel Vogt")
    page.keyboard.press("Enter")
    expect(page.get_by_text("was promised the old time")).to_be_visible()
    expect(page.get_by_text("Taken off and told so: Tobias Renn.")).to_be_visible()
    assert chosen(page)["starts_at"] == [f"{day}T10:15"]
    page.get_by_role("button", name="Move the visit").click()
    expect(page.get_by_text("The visit has its time.")).to_be_visible()
    booked.refresh_from_db()
    assert booked.starts_at.astimezone(CHICAGO).time() == time(10, 15)
    assert [str(person) for person in booked.crew.all()] == ["Ursel Vogt"]


def test_a_drag_moves_by_quarters_of_an_hour_and_a_click_opens_the_job(signed_in, booked, owner):
    page = signed_in(owner)
    day, drawn = board_of(page, booked)
    body = drawn.locator(".strip-body").bounding_box()
    strip = page.locator("[data-strip]").first.bounding_box()
    hour = strip["width"] / 12
    x, y = body["x"] + 10, body["y"] + body["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + hour * 1.02, y, steps=6)
    page.mouse.move(x + hour * 2.03, y, steps=6)
    page.mouse.up()
    page.wait_for_url("**/time/**")
    assert chosen(page)["starts_at"] == [f"{day}T12:00"]
    assert chosen(page)["minutes"] == ["90"]
    booked.refresh_from_db()
    assert booked.starts_at.astimezone(CHICAGO).time() == time(10)
    page.go_back()
    drawn.locator(".strip-body").click()
    page.wait_for_url(f"**/shoots/{booked.number}/")


def test_a_drag_in_the_week_reaches_another_day(signed_in, booked, owner):
    page = signed_in(owner)
    monday = booked.starts_at.astimezone(CHICAGO).date()
    page.goto(f"/diary/?week={monday.isoformat()}")
    drawn = page.locator("[data-move]").first
    body = drawn.locator(".strip-body").bounding_box()
    wednesday = page.locator(f'[data-day="{monday + timedelta(days=2)}"]').last.bounding_box()
    page.mouse.move(body["x"] + 2, body["y"] + 10)
    page.mouse.down()
    page.mouse.move(wednesday["x"] + wednesday["width"] / 2, wednesday["y"] + 15, steps=8)
    page.mouse.up()
    page.wait_for_url("**/time/**")
    assert chosen(page)["starts_at"][0].startswith((monday + timedelta(days=2)).isoformat())


def test_tabbing_away_drops_what_was_planned(signed_in, booked, owner):
    page = signed_in(owner)
    _day, drawn = board_of(page, booked)
    address = page.url
    drawn.focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Tab")
    expect(page.locator("[data-board-live]")).to_have_text("")
    assert page.url == address


def test_the_phone_shows_todays_list_and_no_board(signed_in, booked, scanner):
    page = signed_in(scanner, viewport=PHONE)
    page.goto("/diary/")
    expect(page.get_by_role("heading", name="Today")).to_be_visible()
    expect(page.locator("[data-board]")).to_be_hidden()
    day = booked.starts_at.astimezone(CHICAGO).date().isoformat()
    page.goto(f"/diary/day/{day}/")
    expect(page.get_by_role("heading", name="10:00")).to_be_visible()
    button = page.get_by_role("link", name="Kit list").bounding_box()
    assert button["height"] >= 48
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]


def addresses(shoot, person) -> list[str]:
    day = shoot.starts_at.astimezone(CHICAGO).date()
    number = [shoot.number]
    chosen = f"?starts_at={day}T11:00&window_minutes=30&minutes=20&crew={person.pk}"
    return [
        reverse("jobs:diary") + f"?week={day}",
        reverse("jobs:diary-day", args=[day]),
        reverse("jobs:diary-month") + f"?month={day}",
        reverse("jobs:day-order", args=[day, person.pk]),
        reverse("jobs:shoot-time", args=number),
        reverse("jobs:shoot-time", args=number) + chosen,
        *(reverse(f"jobs:shoot-{page}", args=number) for page in ("cancel", "no-access", "weather", "kit")),
        reverse("jobs:shoot", args=number),
        *(reverse(f"jobs:{page}") for page in ("crew", "leave-new", "drives", "lists", "diary-rules")),
        reverse("jobs:crew-hours", args=[person.pk]),
        reverse("jobs:package-lists", args=[shoot.package_id]),
    ]


@pytest.mark.parametrize("viewport", [PHONE, {"width": 1280, "height": 900}])
def test_the_diarys_pages_are_open_to_everybody(signed_in, owner, booked, scanner, viewport):
    by, now = Actor.of_person(owner), timezone.now()
    add_leave(person=scanner, first_day=timezone.localdate(), last_day=timezone.localdate(), why="", by=by, now=now)
    set_drive(start=None, end=booked.property, minutes=12, by=by, now=now)
    page = signed_in(owner, viewport=viewport)
    wrong = []
    for address in addresses(booked, scanner):
        page.goto(address)
        if page.evaluate("document.documentElement.scrollWidth") > viewport["width"]:
            wrong.append(f"{address} is wider than the screen")
        found = Axe().run(page, options={"runOnly": RULES})
        wrong += [f"{address} {each['id']}: {each['nodes'][0]['html'][:160]}" for each in found.response["violations"]]
    assert wrong == []
