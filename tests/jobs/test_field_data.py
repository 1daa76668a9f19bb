"""The data behind the field pages: who is answered with what."""

import json
from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.urls import reverse

from jobs.actions.field_state import field_log, field_state
from jobs.actions.shoots import close_shoot, note_captured
from jobs.actions.spaces import remove_space
from office.actions.actors import Actor
from office.models import Event
from tests.cast import NOW
from tests.jobs.test_field_sync import log, send

pytestmark = pytest.mark.django_db
AS_JSON = {"Accept": "application/json"}
AT = "2027-03-03T15:12:00Z"


@pytest.fixture
def by_scanner(scanner):
    return Actor.of_person(scanner)


def post(browser, shoot, ops):
    address = reverse("jobs:field-sync", args=[shoot.number])
    return browser.post(address, json.dumps({"ops": ops}), content_type="application/json")


def as_sent(**more):
    return {"kind": "log", "uuid": str(uuid4()), "number": 1, "space": "H", "pass": "both", "at": AT, **more}


def test_a_phone_that_is_signed_in_is_answered_with_the_log_and_the_verdict(scanner_browser, confirmed):
    answer = post(scanner_browser, confirmed, [as_sent(), as_sent(number=1, space="S")])
    assert answer.status_code == 200
    told = answer.json()
    assert [(one["taken"], one["number"]) for one in told["taken"]] == [(True, 1), (True, 2)]
    assert [station["number"] for station in told["log"]["stations"]] == [1, 2]
    assert {finding["code"] for finding in told["log"]["verdict"]["findings"]} >= {"space-not-captured"}


@pytest.mark.parametrize("name", ["field-sync", "field-photo", "field-captured"])
def test_a_sender_who_is_signed_out_is_told_where_to_sign_in_as_json(client, confirmed, name):
    answer = client.post(
        reverse(f"jobs:{name}", args=[confirmed.number]), "{}", content_type="application/json", headers=AS_JSON
    )
    assert (answer.status_code, answer.json()) == (401, {"sign_in": "/account/login/"})


@pytest.mark.parametrize(("name", "args"), [("field-visits", []), ("field-state", ["S-2027-0001"])])
def test_reading_while_signed_out_is_answered_alike(client, confirmed, name, args):
    answer = client.get(reverse(f"jobs:{name}", args=args), headers=AS_JSON)
    assert (answer.status_code, answer.json()) == (401, {"sign_in": "/account/login/"})


def test_a_person_who_opens_the_data_while_signed_out_is_asked_to_sign_in(client, confirmed):
    answer = client.get(reverse("jobs:field-state", args=[confirmed.number]))
    assert answer.url == f"/account/login/?next=/field/{confirmed.number}/state.json"


def test_a_walk_that_is_closed_says_so_and_the_phone_keeps_its_queue(scanner_browser, confirmed, by_scanner, by_owner):
    send(confirmed, by_scanner, log(1))
    note_captured(shoot=confirmed, by=by_scanner, now=NOW)
    close_shoot(shoot=confirmed, by=by_owner, now=NOW)
    answer = post(scanner_browser, confirmed, [as_sent(number=2)])
    assert answer.status_code == 409
    assert "closed" in answer.json()["why"]
    assert answer.json()["log"]["is_open"] is False


@pytest.mark.parametrize("body", ["", "[1]", "\ufeff{}"])
def test_a_body_that_is_no_batch_is_a_400_as_json(scanner_browser, confirmed, body):
    address = reverse("jobs:field-sync", args=[confirmed.number])
    answer = scanner_browser.post(address, body, content_type="application/json")
    assert answer.status_code == 400
    assert answer.json()["why"]


def test_bytes_that_are_no_text_are_a_400_too(scanner_browser, confirmed):
    address = reverse("jobs:field-sync", args=[confirmed.number])
    assert scanner_browser.post(address, b"\xff\xfe", content_type="application/json").status_code == 400


def test_a_walk_that_is_not_there_is_not_found(scanner_browser, confirmed):
    answer = scanner_browser.post("/field/S-1999-0001/sync/", "{}", content_type="application/json")
    assert answer.status_code == 404


def test_sync_wants_the_anti_forgery_token(confirmed, scanner):
    from django.test import Client

    browser = Client(enforce_csrf_checks=True)
    browser.force_login(scanner, backend="allauth.account.auth_backends.AuthenticationBackend")
    assert post(browser, confirmed, [as_sent()]).status_code == 403
    token = browser.get(reverse("jobs:field-visits")).cookies["csrftoken"].value
    address = reverse("jobs:field-sync", args=[confirmed.number])
    sent = browser.post(
        address, json.dumps({"ops": [as_sent()]}), content_type="application/json", headers={"X-CSRFToken": token}
    )
    assert sent.status_code == 200


def test_the_state_holds_the_house_the_plan_and_the_log_and_no_code(confirmed, scanner, by_scanner, by_owner):
    from jobs.actions.entry_codes import write_entry_code

    write_entry_code(shoot=confirmed, kind="lockbox", code="7391#", by=by_owner, now=NOW)
    send(confirmed, by_scanner, log(1))
    state = field_state(confirmed, scanner)
    assert state["shape"]["entrance"] == "H"
    assert state["plan"][0]["text"].startswith("Start at the entrance")
    assert [station["space"] for station in state["log"]["stations"]] == ["H"]
    assert "7391" not in json.dumps(state)


def test_the_plan_read_again_when_the_house_changes(scanner_browser, confirmed, by_owner):
    address = reverse("jobs:field-state", args=[confirmed.number])
    before = scanner_browser.get(address).json()["shape_key"]
    assert post(scanner_browser, confirmed, []).json()["shape_key"] == before
    remove_space(space=confirmed.property.spaces.get(code="C"), by=by_owner, now=NOW)
    assert post(scanner_browser, confirmed, []).json()["shape_key"] != before


@pytest.fixture
def at_the_visit(time_machine):
    """Before anybody signs in, or their session would be older than it may be."""
    time_machine.move_to(NOW + timedelta(days=2), tick=False)


def test_the_list_has_the_persons_own_visits(at_the_visit, scanner_browser, confirmed):
    (visit,) = scanner_browser.get(reverse("jobs:field-visits")).json()["visits"]
    assert (visit["number"], visit["title"]) == (confirmed.number, "27 Alder Rise, Harrowfield")


def test_the_list_of_somebody_else_does_not_have_them(at_the_visit, owner_browser, confirmed):
    assert owner_browser.get(reverse("jobs:field-visits")).json()["visits"] == []


def test_saying_captured_twice_is_saying_it_once(scanner_browser, confirmed, by_scanner):
    send(confirmed, by_scanner, log(1))
    address = reverse("jobs:field-captured", args=[confirmed.number])
    answers = [scanner_browser.post(address, "{}", content_type="application/json") for _ in range(2)]
    assert [answer.status_code for answer in answers] == [200, 200]
    assert answers[1].json()["log"]["state"] == "captured"
    assert Event.objects.filter(verb="shoot-captured").count() == 1


def test_a_walk_without_a_station_is_not_captured(scanner_browser, confirmed):
    answer = scanner_browser.post(
        reverse("jobs:field-captured", args=[confirmed.number]), "{}", content_type="application/json"
    )
    assert (answer.status_code, "no station" in answer.json()["why"]) == (409, True)


def test_a_sync_asks_the_database_as_often_for_a_long_log_as_for_a_short_one(
    confirmed, by_scanner, django_assert_num_queries
):
    from django.test.utils import CaptureQueriesContext

    send(confirmed, by_scanner, log(1))
    field_log(confirmed)
    with CaptureQueriesContext(connection) as few:
        field_log(confirmed)
    send(confirmed, by_scanner, *[log(number, "H") for number in range(2, 30)])
    with django_assert_num_queries(len(few)):
        field_log(confirmed)
