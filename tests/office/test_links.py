"""Capability links: made, opened, asked for a passcode, ended."""

from datetime import timedelta

import pytest
from django.test import Client as Browser

from office.actions.links import find_link, make_link, open_link_to, revoke_link, token_of, url_of
from office.errors import Refused
from office.models import CapabilityLink, Event, LinkUse, Purpose
from tests.cast import NOW

pytestmark = pytest.mark.django_db


@pytest.fixture
def link(by_owner):
    return make_link(
        purpose=Purpose.QUOTE, subject_id=7, holder_name="Odile", holder_email="odile@example.org", by=by_owner, now=NOW
    )


def test_a_token_has_256_bits_and_stands_nowhere_in_the_database(link):
    token = token_of(link.key)
    assert len(token) == 43  # 32 bytes in base64 without padding, RFC 4648 §5
    stored = CapabilityLink.objects.filter(pk=link.pk).values().get()
    assert not any(token in str(value) for value in stored.values())
    assert url_of(link).endswith(f"/open/{token}/")


def test_two_links_have_two_tokens(link, by_owner):
    other = make_link(purpose=Purpose.QUOTE, subject_id=7, holder_name="Odile", holder_email="", by=by_owner, now=NOW)
    assert token_of(link.key) != token_of(other.key)


def test_a_link_is_found_until_it_ends(link):
    token = token_of(link.key)
    assert find_link(token, NOW) == link
    assert find_link(token, link.expires_at - timedelta(seconds=1)) == link
    assert find_link(token, link.expires_at) is None
    assert find_link(token + "x", NOW) is None


def test_a_revoked_link_opens_nothing_and_ends_once(link, by_owner):
    revoke_link(link=link, by=by_owner, now=NOW)
    assert find_link(token_of(link.key), NOW) is None
    with pytest.raises(Refused):
        revoke_link(link=link, by=by_owner, now=NOW)
    assert Event.objects.filter(verb="link-revoked").count() == 1


def test_asking_again_gives_the_link_that_is_still_open(link, by_owner):
    again = open_link_to(
        purpose=Purpose.QUOTE, subject_id=7, holder_name="Odile", holder_email="odile@example.org", by=by_owner, now=NOW
    )
    assert again == link


def test_a_closed_and_an_unknown_link_look_the_same(link, by_owner):
    CapabilityLink.objects.filter(pk=link.pk).update(revoked_at=NOW)
    closed = Browser().get(f"/open/{token_of(link.key)}/")
    unknown = Browser().get("/open/nobody-has-this/")
    assert closed.status_code == unknown.status_code == 404
    assert b"This link is closed" in closed.content
    assert _main(closed) == _main(unknown)


def _main(answer):
    return answer.content.split(b"<main")[1].split(b"</main>")[0]


def test_the_passcode_is_asked_for_and_a_wrong_one_opens_nothing(by_owner, settings):
    link = make_link(
        purpose=Purpose.QUOTE, subject_id=7, holder_name="Odile", holder_email="", by=by_owner, now=NOW,
        days=10_000, passcode="alder",
    )  # fmt: skip
    browser, address = Browser(), f"/open/{token_of(link.key)}/"
    assert b"asks for a passcode" in browser.get(address).content
    wrong = browser.post(address, {"passcode": "elder"})
    assert wrong.status_code == 422
    assert b"not the passcode" in wrong.content
    assert not LinkUse.objects.exists()
    assert "links" not in browser.session


def test_the_address_bar_keeps_no_token_and_the_use_is_logged_by_network(by_owner):
    link = make_link(
        purpose=Purpose.QUOTE, subject_id=7, holder_name="Odile", holder_email="", by=by_owner, now=NOW, days=10_000
    )
    token = token_of(link.key)
    answer = Browser().get(f"/open/{token}/", REMOTE_ADDR="203.0.113.77")
    assert answer.status_code == 302
    assert token not in answer["Location"]
    assert LinkUse.objects.get().network == "203.0.113.0/24"
