"""Logging a walk on a phone: without a signal, on two phones, through a killed browser and an ended session."""

import os
import re
import signal
import subprocess
from datetime import timedelta
from pathlib import Path

import pytest
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from django.contrib.sessions.models import Session
from django.utils import timezone
from PIL import Image
from playwright.sync_api import BrowserContext, Page, expect

from jobs.actions.shoots import close_shoot, confirm_shoot, note_captured, pencil_shoot, set_time
from jobs.actions.spaces import remove_space, start_shape
from jobs.actions.walks import judge
from jobs.models import PhotoNote, Shoot, ShootState, Station
from jobs.rules.first_shape import FirstFacts
from office.models import Role
from tests.cast import make_person, visit
from tests.conftest import BROWSER_ARGUMENTS

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.browser]
SOON = 10_000
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True}
BACKEND = "allauth.account.auth_backends.AuthenticationBackend"


def session_of(person) -> str:
    """The key of a session in which the person is signed in."""
    session = SessionStore()
    session[SESSION_KEY] = str(person.pk)
    session[BACKEND_SESSION_KEY] = BACKEND
    session[HASH_SESSION_KEY] = person.get_session_auth_hash()
    session.create()
    return session.session_key


@pytest.fixture
def phone(browser, live_server):
    """Makes phones: each a browser context of its own, in which somebody is signed in."""
    phones = []

    def make(person) -> BrowserContext:
        context = browser.new_context(**PHONE)
        phones.append(context)
        context.add_cookies([{"name": "sessionid", "value": session_of(person), "url": live_server.url}])
        return context

    yield make
    for context in phones:
        context.close()


@pytest.fixture
def other(office):
    return make_person("Ines Okafor", Role.SCANNER)


@pytest.fixture
def walkable(client_of_office, house, package, scanner, other, by_owner):
    """A confirmed visit, now, to a house with two levels and a closet."""
    now = timezone.now()
    start_shape(house=house, facts=FirstFacts(levels=2, bedrooms=1, bathrooms=1), by=by_owner, now=now)
    shoot = pencil_shoot(client=client_of_office, property=house, package=package, add_ons={}, by=by_owner, now=now)
    set_time(shoot=shoot, crew=[scanner, other], by=by_owner, now=now, **visit(now + timedelta(minutes=5)))
    return confirm_shoot(shoot=shoot, by=by_owner, now=now)


def opened(context: BrowserContext, live_server, shoot) -> Page:
    """The walk's page, kept by the phone from now on."""
    page = context.new_page()
    page.goto(f"{live_server.url}/field/{shoot.number}/")
    expect(page.locator("html[data-kept='yes']")).to_be_attached(timeout=SOON)
    expect(page.locator("#sent")).to_have_text("All sent", timeout=SOON)
    return page


def log(page: Page, times: int = 1) -> None:
    for _ in range(times):
        before = page.locator("#next-number").inner_text()
        page.locator("#log-station").click()
        expect(page.locator("#next-number")).not_to_have_text(before)


def unsent(page: Page, count: int) -> None:
    expect(page.locator("#sent")).to_contain_text(f"{count} not sent yet", timeout=SOON)


def all_sent(page: Page) -> None:
    expect(page.locator("#sent")).to_have_text("All sent", timeout=20_000)


def stored(shoot) -> list[int]:
    return list(Station.objects.filter(shoot=shoot).order_by("number").values_list("number", flat=True))


def test_the_walk_is_logged_without_a_signal_and_sent_when_there_is_one(phone, live_server, walkable, scanner):
    context = phone(scanner)
    page = opened(context, live_server, walkable)
    context.set_offline(True)
    log(page, 3)
    unsent(page, 3)
    expect(page.locator("#sent")).to_contain_text("it lies safe on this phone", timeout=SOON)
    assert stored(walkable) == []
    context.set_offline(False)
    all_sent(page)
    assert stored(walkable) == [1, 2, 3]


def test_the_page_opens_without_a_signal_and_still_knows_everything(phone, live_server, walkable, scanner):
    context = phone(scanner)
    page = opened(context, live_server, walkable)
    context.set_offline(True)
    log(page, 2)
    page.reload()
    expect(page.locator("#where")).to_have_text("27 Alder Rise, Harrowfield")
    unsent(page, 2)
    expect(page.locator("#log-title")).to_have_text("2 stations")
    page.locator("text=Visits").first.click()
    expect(page.locator(".visit-link")).to_contain_text("2 not sent yet")
    expect(page.locator(".visit-link")).to_contain_text("Ready without a signal")
    context.set_offline(False)
    page.locator(".visit-link").click()
    all_sent(page)
    assert stored(walkable) == [1, 2]


def test_the_signal_comes_and_goes_and_nothing_is_lost_or_doubled(phone, live_server, walkable, scanner):
    context = phone(scanner)
    page = opened(context, live_server, walkable)
    for flip in range(6):
        context.set_offline(flip % 2 == 0)
        log(page, 2)
    context.set_offline(False)
    all_sent(page)
    assert stored(walkable) == list(range(1, 13))


def test_an_answer_that_is_lost_on_the_way_back_makes_no_second_station(phone, live_server, walkable, scanner):
    context = phone(scanner)
    page = opened(context, live_server, walkable)
    lost = []

    def lose(route):
        if lost:
            route.continue_()
            return
        route.fetch()
        lost.append(1)
        route.abort()

    page.route(re.compile("/sync/$"), lose)
    log(page, 2)
    all_sent(page)
    assert lost == [1]
    assert stored(walkable) == [1, 2]


def test_two_phones_on_one_walk_keep_every_station_and_each_its_own_order(phone, live_server, walkable, scanner, other):
    first, second = phone(scanner), phone(other)
    mine, theirs = opened(first, live_server, walkable), opened(second, live_server, walkable)
    first.set_offline(True)
    second.set_offline(True)
    log(mine, 3)
    log(theirs, 2)
    first.set_offline(False)
    all_sent(mine)
    second.set_offline(False)
    all_sent(theirs)
    expect(theirs.locator("#said")).to_have_text("Another phone was there first. New numbers: 1 → 4, 2 → 5")
    expect(theirs.locator("#log-title")).to_have_text("5 stations")
    logged = list(Station.objects.order_by("number").values_list("number", "logged_by__name"))
    assert logged == [
        (1, "Tobias Renn"),
        (2, "Tobias Renn"),
        (3, "Tobias Renn"),
        (4, "Ines Okafor"),
        (5, "Ines Okafor"),
    ]
    expect(mine.locator("#log-title")).to_have_text("5 stations", timeout=20_000)


def test_a_station_logged_by_mistake_is_undone_sent_or_not(phone, live_server, walkable, scanner):
    context = phone(scanner)
    page = opened(context, live_server, walkable)
    log(page, 2)
    all_sent(page)
    context.set_offline(True)
    log(page)
    page.locator("#undo").click()
    expect(page.locator("#log-title")).to_have_text("2 stations")
    page.locator("#undo").click()
    expect(page.locator("#log-title")).to_have_text("1 station")
    context.set_offline(False)
    all_sent(page)
    assert stored(walkable) == [1]


def test_the_session_ends_meanwhile_the_queue_stays_and_goes_after_signing_in(phone, live_server, walkable, scanner):
    context = phone(scanner)
    page = opened(context, live_server, walkable)
    Session.objects.all().delete()
    log(page, 2)
    expect(page.locator("#notice")).to_contain_text("Sign in again", ignore_case=True, timeout=SOON)
    unsent(page, 2)
    page.reload()
    unsent(page, 2)
    assert stored(walkable) == []
    page.locator("#notice a").click()
    page.locator("input[name=login]").fill(scanner.email)
    page.locator("input[name=password]").fill("correct-horse-stairs")
    page.locator("form[action*=login] button[type=submit], main form button").first.click()
    expect(page).to_have_url(re.compile(f"/field/{walkable.number}/$"), timeout=SOON)
    all_sent(page)
    assert stored(walkable) == [1, 2]


def test_a_killed_browser_loses_nothing(browser, chromium, live_server, walkable, scanner, tmp_path):
    context = browser.browser_type.launch_persistent_context(
        tmp_path / "phone", executable_path=chromium, args=BROWSER_ARGUMENTS, **PHONE
    )
    context.add_cookies([{"name": "sessionid", "value": session_of(scanner), "url": live_server.url}])
    page = opened(context, live_server, walkable)
    context.set_offline(True)
    log(page, 4)
    kill_browser_of(tmp_path / "phone")
    again = browser.browser_type.launch_persistent_context(
        tmp_path / "phone", executable_path=chromium, args=BROWSER_ARGUMENTS, offline=True, **PHONE
    )
    page = again.new_page()
    page.goto(f"{live_server.url}/field/{walkable.number}/")
    unsent(page, 4)
    expect(page.locator("#log-title")).to_have_text("4 stations")
    again.add_cookies([{"name": "sessionid", "value": session_of(scanner), "url": live_server.url}])
    again.set_offline(False)
    all_sent(page)
    assert stored(walkable) == [1, 2, 3, 4]
    again.close()


def kill_browser_of(folder: Path) -> None:
    """The browser whose profile lies there, and no other, without a chance to tidy up."""
    found = subprocess.run(["pgrep", "-f", f"user-data-dir={folder}"], capture_output=True, text=True, check=True)
    for process in found.stdout.split():
        try:
            os.kill(int(process), signal.SIGKILL)
        except ProcessLookupError:
            continue


def test_what_the_office_refuses_is_named_and_kept_until_it_is_thrown_away(
    phone, live_server, walkable, scanner, by_owner
):
    context = phone(scanner)
    page = opened(context, live_server, walkable)
    context.set_offline(True)
    page.locator("#choose-space").click()
    page.locator(".choice", has_text="Closet 1").click()
    log(page)
    remove_space(space=walkable.property.spaces.get(kind="closet"), by=by_owner, now=timezone.now())
    context.set_offline(False)
    expect(page.locator("#refused-list")).to_contain_text("no space “C1” any more", timeout=SOON)
    page.reload()
    expect(page.locator("#refused-list")).to_contain_text("no space “C1” any more", timeout=SOON)
    page.locator("#refused-list .btn-danger").click()
    expect(page.locator("#refused")).to_be_hidden()
    assert stored(walkable) == []


def test_a_walk_closed_meanwhile_is_said_and_the_queue_stays(phone, live_server, walkable, scanner, by_owner):
    context = phone(scanner)
    page = opened(context, live_server, walkable)
    log(page)
    all_sent(page)
    context.set_offline(True)
    log(page)
    note_captured(shoot=walkable, by=by_owner, now=timezone.now())
    close_shoot(shoot=Shoot.objects.get(pk=walkable.pk), by=by_owner, now=timezone.now())
    context.set_offline(False)
    expect(page.locator("#notice")).to_contain_text("The walk of a closed shoot cannot change.", timeout=SOON)
    expect(page.locator("#log-station")).to_be_disabled()
    unsent(page, 1)
    page.reload()
    unsent(page, 1)


def test_a_picture_taken_without_a_signal_arrives_small_and_with_its_words(
    phone, live_server, walkable, scanner, tmp_path, settings
):
    settings.MEDIA_ROOT = tmp_path / "files"
    Image.new("RGB", (3000, 2000), "#97331c").save(tmp_path / "door.jpg")
    context = phone(scanner)
    page = opened(context, live_server, walkable)
    context.set_offline(True)
    log(page)
    page.locator("#stations summary").first.click()
    page.locator("#stations button", has_text="Picture").first.click()
    page.locator("#photo-file").set_input_files(tmp_path / "door.jpg")
    page.locator("#photo-note").fill("door sticks")
    page.locator("#chooser button", has_text="Keep").click()
    unsent(page, 2)
    page.reload()
    unsent(page, 2)
    context.set_offline(False)
    all_sent(page)
    photo = PhotoNote.objects.get()
    assert (photo.note, photo.station.number, photo.taken_by) == ("door sticks", 1, scanner)
    with Image.open(photo.picture) as picture:
        assert picture.size == (1600, 1067)


def test_following_the_plan_with_one_thumb_leaves_nothing_before_leaving(phone, live_server, walkable, scanner):
    context = phone(scanner)
    page = opened(context, live_server, walkable)
    context.set_offline(True)
    for _ in range(80):
        if page.locator("#step-count").inner_text() == "The plan is walked to its end.":
            break
        log(page)
    expect(page.locator("#leave-title")).to_have_text("Before you leave: nothing left")
    context.set_offline(False)
    all_sent(page)
    assert judge(walkable).findings == ()
    page.locator("#leave-title").click()
    page.locator("#captured").click()
    expect(page.locator("#captured-line")).to_have_text("The office knows that the house is captured.", timeout=SOON)
    walkable.refresh_from_db()
    assert walkable.state == ShootState.CAPTURED


def test_leaving_with_a_must_takes_a_second_tap(phone, live_server, walkable, scanner):
    page = opened(phone(scanner), live_server, walkable)
    log(page)
    all_sent(page)
    page.locator("#leave-title").click()
    page.locator("#captured").click()
    expect(page.locator("#captured")).to_have_text("Musts are left. Captured all the same")
    walkable.refresh_from_db()
    assert walkable.state == ShootState.CONFIRMED


def test_a_door_is_captured_open_then_closed_as_a_pair(phone, live_server, walkable, scanner):
    page = opened(phone(scanner), live_server, walkable)
    page.locator("#choose-space").click()
    page.locator(".choice", has_text="Bedroom 1").click()
    for word, passed in (("Open", "Plan"), ("Closed", "Tour")):
        if word == "Closed":
            page.locator("#choose-space").click()
            page.locator(".choice", has_text="Bedroom 1").click()
        page.locator("#choose-opening").click()
        group = page.locator("h3", has_text="Closet 1").locator("xpath=following-sibling::div[1]")
        group.locator("button", has_text=word).click()
        expect(page.locator("#passes [aria-pressed=true]")).to_have_text(passed)
        log(page)
    all_sent(page)
    opened_half, closed_half = Station.objects.order_by("number")
    assert (opened_half.captured_for, closed_half.captured_for) == ("plan", "tour")
    assert (closed_half.pair_of, closed_half.opening) == (opened_half.number, opened_half.opening)


@pytest.mark.parametrize("light", ["day", "night"])
def test_the_page_is_made_for_one_thumb_and_for_everybody(phone, live_server, walkable, scanner, light):
    from axe_playwright_python.sync_playwright import Axe

    context = phone(scanner)
    said = []
    page = context.new_page()
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.goto(f"{live_server.url}/field/{walkable.number}/")
    all_sent(page)
    if page.locator("html").get_attribute("data-light") != light:
        page.locator("#light").click()
    log(page, 2)
    all_sent(page)
    page.locator("#leave-title").click()
    small = page.evaluate(
        """() => [...document.querySelectorAll("button, summary, a.btn")]
            .filter((target) => target.checkVisibility() && target.getBoundingClientRect().height < 48)
            .map((target) => target.id || target.textContent)"""
    )
    assert small == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    found = Axe().run(page, options={"runOnly": ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa"]})
    assert found.violations_count == 0, found.generate_report()
    assert said == []
