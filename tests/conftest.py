"""What every test shares."""

import os
from pathlib import Path

import hypothesis
import pytest
from django.core.cache import cache

from office.actions.actors import Actor
from office.models import Role
from tests import cast

# A busy machine is slow, not wrong: no test fails by the clock.
hypothesis.settings.register_profile("no clock", deadline=None)
hypothesis.settings.load_profile("no clock")

CHECKS_DIR = Path(os.environ.get("CHECKS_DIR", Path(__file__).parent.parent.parent / "shared" / "checks"))


@pytest.fixture(scope="session")
def checks() -> Path:
    """The folder of published check data; absent outside the workshop, where these tests skip."""
    if CHECKS_DIR.is_dir():
        return CHECKS_DIR
    if os.environ.get("CI") == "true":
        pytest.fail(f"CHECKS_DIR ({CHECKS_DIR}) holds no published check data")
    pytest.skip("no published check data here: set CHECKS_DIR")


@pytest.fixture(autouse=True)
def fresh_cache():
    """What one test counts against a throttle is not counted against the next."""
    cache.clear()


@pytest.fixture
def office(db):
    return cast.make_office()


@pytest.fixture
def owner(office):
    return cast.make_person("Maren Quist", Role.OWNER)


@pytest.fixture
def scanner(office):
    return cast.make_person("Tobias Renn", Role.SCANNER)


@pytest.fixture
def by_owner(owner):
    return Actor.of_person(owner)


@pytest.fixture
def client_of_office(office):
    return cast.make_client()


@pytest.fixture
def house(office):
    return cast.make_house()


@pytest.fixture
def package(office):
    return cast.make_package()


@pytest.fixture
def exterior(office):
    return cast.make_add_on()


@pytest.fixture
def owner_browser(client, owner):
    """Django's test client, signed in as the owner."""
    client.force_login(owner, backend="allauth.account.auth_backends.AuthenticationBackend")
    return client


@pytest.fixture
def scanner_browser(client, scanner):
    client.force_login(scanner, backend="allauth.account.auth_backends.AuthenticationBackend")
    return client


BROWSER_ARGUMENTS = [
    "--no-sandbox", "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip


def pytest_collection_modifyitems(items):
    """Mark what touches the database, so that it can be run again on another one."""
    for item in items:
        if {"db", "transactional_db"} & set(getattr(item, "fixturenames", [])) or item.get_closest_marker("django_db"):
            item.add_marker("needs_database")


@pytest.fixture(scope="session")
def redis_address():
    """A real Redis-protocol server, started by tools/run_tests.py."""
    return _server("TEST_REDIS")


@pytest.fixture(scope="session")
def chromium():
    """The path of a real Chromium."""
    return _server("CHROMIUM")


@pytest.fixture(scope="session")
def browser(chromium):
    """One Chromium for all tests of a process: a second one beside it cannot be started."""
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"  # Playwright keeps an event loop in the test's thread
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=chromium, args=BROWSER_ARGUMENTS)
        yield running
        running.close()


def _server(variable: str) -> str:
    if found := os.environ.get(variable):
        return found
    if os.environ.get("CI") == "true":
        pytest.fail(f"{variable} is not set; run the tests by `make test`")
    pytest.skip(f"{variable} is not set; `make test` sets it")
