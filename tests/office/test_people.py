"""Inviting people, changing them, and keeping one owner."""

import pytest
from django.core import mail

from office.actions.notices import send_waiting
from office.actions.people import change_person, invite_person
from office.errors import Refused
from office.models import Person, Role
from tests.cast import NOW, PASSWORD

pytestmark = pytest.mark.django_db

NEW = {
    "name": "Ines Okafor",
    "email": "ines@lanternstreet.example",
    "phone": "",
    "role": Role.SCANNER,
    "is_active": True,
}


def test_the_invited_choose_their_own_password(by_owner, client):
    invite_person(fields=NEW, by=by_owner, now=NOW)
    send_waiting(now=NOW)
    address = next(word for word in mail.outbox[0].body.split() if word.startswith("http"))
    page = client.get(address.replace("http://127.0.0.1:8000", ""), follow=True)
    assert page.status_code == 200
    client.post(page.redirect_chain[-1][0], {"password1": PASSWORD, "password2": PASSWORD})
    assert Person.objects.get(email=NEW["email"]).check_password(PASSWORD)


def test_nobody_is_invited_twice(by_owner):
    invite_person(fields=NEW, by=by_owner, now=NOW)
    with pytest.raises(Refused) as refusal:
        invite_person(fields=NEW, by=by_owner, now=NOW)
    assert refusal.value.field == "email"


@pytest.mark.parametrize(
    "change", [{"role": Role.SCANNER, "is_active": True}, {"role": Role.OWNER, "is_active": False}]
)
def test_the_last_owner_stays(by_owner, owner, change):
    with pytest.raises(Refused, match="last owner"):
        change_person(person=owner, fields=change, by=by_owner, now=NOW)
    owner.refresh_from_db()
    assert (owner.role, owner.is_active) == (Role.OWNER, True)


def test_nobody_can_sign_up(client, office):
    assert b"password1" not in client.get("/account/signup/").content


def test_sign_in_is_throttled(client, owner):
    answers = [
        client.post("/account/login/", {"login": owner.email, "password": f"wrong-{attempt}"}) for attempt in range(12)
    ]
    assert b"Too many" in answers[-1].content
    right = client.post("/account/login/", {"login": owner.email, "password": PASSWORD})
    assert right.status_code != 302
