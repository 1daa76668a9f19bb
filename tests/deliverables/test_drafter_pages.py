"""The pages behind a drafter's link: theirs alone, and everything a drafter needs."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from deliverables.actions.drafters import link_of_drafter
from deliverables.actions.fixes import send_fixes, withdraw_fix
from deliverables.actions.plan_orders import send_plan_order
from deliverables.models import Draft, DraftPage, FixState
from jobs.models import Station
from office.actions.links import revoke_link, url_of
from tests.cast import NOW
from tests.deliverables.conftest import ask, make_drafter, make_order, open_by
from tests.deliverables.papers import plan_pdf, plan_picture, sent

ONCE = "6f1f4f0c-7d43-4b1e-9d2b-0c5f3f2f9a11"


@pytest.fixture
def link(drafter, by_owner):
    return link_of_drafter(drafter=drafter, by=by_owner, now=NOW)


@pytest.fixture
def browser(client, link, frozen):
    open_by(client, link)
    return client


@pytest.fixture
def frozen(time_machine):
    time_machine.move_to(NOW, tick=False)


@pytest.fixture
def page(draft):
    picture = DraftPage(draft=draft, number=1, width=600, height=400)
    picture.file.save("1.png", sent(plan_picture()))
    return picture


@pytest.fixture
def told(fix, by_owner):
    send_fixes(plan_order=fix.plan_order, by=by_owner, now=NOW)
    fix.refresh_from_db()
    return fix


def address(name, drafter, *args):
    return reverse(f"deliverables:{name}", args=[drafter.pk, *args])


def test_the_mailed_link_leads_to_the_drafters_page(client, link, drafter, sent_order, frozen):
    response = client.get(url_of(link).removeprefix("http://127.0.0.1:8000"), follow=True)
    assert response.redirect_chain[-1][0] == address("drafter-home", drafter)
    assert "P-2027-0001" in response.text


def test_orders_wait_with_their_due_times_in_the_drafters_zone(browser, drafter, sent_order):
    text = browser.get(address("drafter-home", drafter)).text
    assert "Tue, Mar 2, 2027, 5:00" in text
    assert "Asia/Manila" in text


def test_an_order_that_is_not_sent_is_not_shown(browser, drafter, plan_order):
    assert "P-2027-0001" not in browser.get(address("drafter-home", drafter)).text
    assert browser.get(address("drafter-order", drafter, plan_order.number)).status_code == 404


def test_an_order_says_everything_that_is_asked(browser, drafter, sent_order, levels):
    text = browser.get(address("drafter-order", drafter, sent_order.number)).text
    for words in (
        "27 Alder Rise", "https://capture.example/27-alder-rise", "ANSI Z765", "Please show the stove.",
        "Basement", "Ground floor", "Workshop (room)", "Unbranded",
    ):  # fmt: skip
        assert words in text
    assert text.index("Basement") < text.index("Ground floor")


def test_contact_details_are_shown_for_a_branded_plan_only(browser, drafter, sent_order):
    where = address("drafter-order", drafter, sent_order.number)
    assert "odile@marchettihomes.example" not in browser.get(where).text
    sent_order.branded = True
    sent_order.save()
    assert "odile@marchettihomes.example" in browser.get(where).text


def test_nothing_of_money_or_access_is_shown(browser, drafter, sent_order, house):
    house.access_notes = "Key under the third pot"
    house.save()
    assert "third pot" not in browser.get(address("drafter-order", drafter, sent_order.number)).text


def test_the_station_log_can_be_saved(browser, drafter, sent_order, shoot, levels, owner):
    space = levels[0].spaces.get()
    Station.objects.create(
        shoot=shoot, number=1, space=space, level=space.level, captured_for="plan", logged_by=owner, logged_at=NOW
    )
    response = browser.get(address("drafter-walk", drafter, sent_order.number))
    assert response["Content-Disposition"] == 'attachment; filename="S-2027-0001-walk.csv"'
    assert response.text.splitlines()[0] == "station,level,space,pass,pair_of,opening,ties_to,x,y"
    assert response.text.splitlines()[1].startswith("1,1,B1,plan")


def test_a_draft_is_sent_in(browser, drafter, sent_order):
    where = address("drafter-upload", drafter, sent_order.number)
    response = browser.post(
        where, {"once": ONCE, "upload": sent(plan_pdf(), "Alder.pdf"), "note": "First."}, follow=True
    )
    assert "Thank you. Draft 1 has arrived." in response.text
    draft = Draft.objects.get()
    assert (draft.note, draft.file_name, draft.received_from) == ("First.", "Alder.pdf", "Ines Fajardo")


def test_the_same_form_twice_makes_one_draft(browser, drafter, sent_order):
    where = address("drafter-upload", drafter, sent_order.number)
    for _twice in range(2):
        browser.post(where, {"once": ONCE, "upload": sent(plan_pdf(), "Alder.pdf")})
    assert Draft.objects.count() == 1


def test_a_refused_file_is_said_beside_the_field(browser, drafter, sent_order):
    where = address("drafter-upload", drafter, sent_order.number)
    response = browser.post(where, {"once": ONCE, "upload": sent(b"words", "plan.pdf")})
    assert "whatever its name" in response.text
    assert not Draft.objects.exists()


def test_fixes_are_shown_on_the_drawing_with_their_numbers(browser, drafter, told, page):
    text = browser.get(address("drafter-order", drafter, told.plan_order.number)).text
    assert 'transform="translate(150 200)"' in text
    assert "The pantry is missing." in text


def test_a_fix_that_was_not_sent_is_not_shown(browser, drafter, told, draft, by_owner):
    ask(draft, by_owner, "A secret for now.")
    assert "A secret for now." not in browser.get(address("drafter-order", drafter, told.plan_order.number)).text


def test_a_fix_is_returned_with_a_note(browser, drafter, told):
    response = browser.post(
        address("drafter-fix-return", drafter, told.pk), {"once": ONCE, "note": "Drawn."}, follow=True
    )
    told.refresh_from_db()
    assert (told.state, told.drafter_note) == (FixState.RETURNED, "Drawn.")
    assert "Fix 1 is returned." in response.text


def test_a_draft_can_return_fixes_by_ticking_them(browser, drafter, told):
    where = address("drafter-upload", drafter, told.plan_order.number)
    browser.post(where, {"once": ONCE, "upload": sent(plan_pdf()), "returns": [told.pk]})
    told.refresh_from_db()
    assert told.state == FixState.RETURNED


def test_a_fix_that_was_withdrawn_meanwhile_does_not_stop_an_upload(browser, drafter, told, by_owner):
    withdraw_fix(fix=told, by=by_owner, now=NOW)
    where = address("drafter-upload", drafter, told.plan_order.number)
    browser.post(where, {"once": ONCE, "upload": sent(plan_pdf()), "returns": [told.pk, "x", "999999"]})
    told.refresh_from_db()
    assert (told.state, Draft.objects.count()) == (FixState.WITHDRAWN, 2)


def test_drafts_and_their_pictures_can_be_seen(browser, drafter, draft, page):
    saved = browser.get(address("drafter-draft", drafter, draft.pk))
    assert b"".join(saved.streaming_content) == plan_picture()
    assert saved["Content-Disposition"] == 'attachment; filename="P-2027-0001-draft-1.png"'
    assert browser.get(address("drafter-preview", drafter, draft.pk, 1))["Content-Type"] == "image/png"


@pytest.fixture
def foreign(shoot, by_owner):
    """Another drafter's sent order."""
    other = make_drafter("Kettle Plans")
    return send_plan_order(plan_order=make_order(shoot, other, by_owner), by=by_owner, now=NOW)


def test_another_drafters_order_is_not_found(browser, drafter, foreign):
    for name in ("drafter-order", "drafter-walk"):
        assert browser.get(address(name, drafter, foreign.number)).status_code == 404
    where = address("drafter-upload", drafter, foreign.number)
    assert browser.post(where, {"once": ONCE, "upload": sent()}).status_code == 404


def test_another_drafters_page_is_closed(browser, foreign, sent_order):
    assert browser.get(address("drafter-home", foreign.drafter)).status_code == 404
    assert browser.get(address("drafter-order", foreign.drafter, foreign.number)).status_code == 404
    assert browser.get(address("drafter-order", foreign.drafter, sent_order.number)).status_code == 404


def test_another_drafters_draft_picture_and_fix_are_not_found(client, frozen, by_other_drafter, draft, page, told):
    link = by_other_drafter.link
    open_by(client, link)
    for name, args in (("drafter-draft", [draft.pk]), ("drafter-preview", [draft.pk, 1])):
        assert client.get(reverse(f"deliverables:{name}", args=[link.subject_id, *args])).status_code == 404
    where = reverse("deliverables:drafter-fix-return", args=[link.subject_id, told.pk])
    assert client.post(where, {"once": ONCE}).status_code == 404


def test_without_a_link_every_page_is_closed(client, drafter, draft, frozen):
    for name, args in (("drafter-home", []), ("drafter-order", ["P-2027-0001"]), ("drafter-draft", [draft.pk])):
        assert client.get(address(name, drafter, *args)).status_code == 404


def test_a_revoked_link_closes_at_once(browser, link, drafter, by_owner):
    revoke_link(link=link, by=by_owner, now=NOW)
    assert browser.get(address("drafter-home", drafter)).status_code == 404


def test_an_accepted_order_takes_no_more_drafts(browser, drafter, accepted):
    text = browser.get(address("drafter-order", drafter, accepted.number)).text
    assert "We have accepted your plan." in text
    assert "Send in a draft" not in text


def test_the_cost_of_a_page_does_not_grow(browser, drafter, shoot, by_owner):
    def cost():
        with CaptureQueriesContext(connection) as queries:
            browser.get(address("drafter-home", drafter))
        return len(queries)

    send_plan_order(plan_order=make_order(shoot, drafter, by_owner), by=by_owner, now=NOW)
    first = cost()
    for _more in range(5):
        send_plan_order(plan_order=make_order(shoot, drafter, by_owner), by=by_owner, now=NOW)
    assert cost() == first
