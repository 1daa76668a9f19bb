"""A real Chromium against the live server. Every page must leave the console clean: no error, no blocked script."""

import pytest

from office.actions.links import token_of
from office.models import CapabilityLink
from tests.cast import PASSWORD

DESK = {"width": 1280, "height": 900}
PHONE = {"width": 390, "height": 844}


@pytest.fixture
def new_page(browser, live_server, settings):
    """Makes a page with a visitor of its own; at the end, whatever the consoles said is an error."""
    settings.OUTSIDE_ADDRESS = live_server.url
    contexts, complaints = [], []

    def make(viewport=DESK):
        context = browser.new_context(base_url=live_server.url, viewport=viewport)
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(10_000)
        page.on("console", lambda said: complaints.append(said.text) if said.type in {"error", "warning"} else None)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        return page

    yield make
    for context in contexts:
        context.close()
    assert complaints == []


@pytest.fixture
def signed_in(new_page):
    """Makes a page of somebody who has signed in by the form."""

    def make(person, password=PASSWORD, viewport=DESK):
        page = new_page(viewport)
        page.goto("/account/login/")
        page.get_by_label("Email").fill(person.email)
        page.get_by_label("Password").fill(password)
        page.get_by_role("button", name="Sign in").click()
        page.get_by_role("heading", name="What needs you now").wait_for()
        return page

    return make


@pytest.fixture
def by_link(new_page):
    """Makes a page of somebody who has opened the newest link of a purpose."""

    def make(purpose, viewport=DESK):
        page = new_page(viewport)
        page.goto(f"/open/{token_of(CapabilityLink.objects.filter(purpose=purpose).latest('pk').key)}/")
        return page

    return make
