"""The office's own pages of the top floor: what they show, what their buttons do, what they cost."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from deliverables.actions.bundles import make_bundle
from deliverables.actions.drafts import receive_draft
from deliverables.actions.fixes import send_fixes
from deliverables.actions.plan_orders import send_plan_order
from deliverables.models import (
    Bundle,
    BundleState,
    CheckState,
    Draft,
    Drafter,
    DraftPage,
    FixRequest,
    FixState,
    PlanOrder,
    PlanOrderState,
)
from tests.cast import NOW
from tests.deliverables.conftest import ask, make_drafter, make_order, make_shoot
from tests.deliverables.papers import plan_picture, sent

ONCE = "6f1f4f0c-7d43-4b1e-9d2b-0c5f3f2f9a13"


def address(name, *args):
    return reverse(f"deliverables:{name}", args=args)


def press(browser, page, /, *args, **fields):
    return browser.post(address(page, *args), {"once": ONCE, **fields}, follow=True)


@pytest.fixture
def checked(draft):
    """Draft 1 with one void found on its one page."""
    void = {"x": 100, "y": 50, "width": 200, "height": 100, "share": 0.05}
    draft.check_state = CheckState.DONE
    draft.check_result = {
        "pages": [{"number": 1, "width_px": 1200, "height_px": 800, "dpi": 150, "voids": [void], "labels": []}],
        "findings": [
            {"code": "void", "severity": "must", "page": 1, "text": "A void.", "across": "16.667", "down": "12.500"},
            {"code": "low-resolution", "severity": "should", "page": 1, "text": "Few dots."},
        ],
    }
    draft.save()
    picture = DraftPage(draft=draft, number=1, width=600, height=400)
    picture.file.save("1.png", sent(plan_picture()))
    return draft


def test_the_plan_room_lists_orders_by_state(owner_browser, sent_order, shoot, drafter, by_owner):
    make_order(shoot, drafter, by_owner)
    everything = owner_browser.get(address("plan-room")).text
    assert "P-2027-0001" in everything
    assert "P-2027-0002" in everything
    out = owner_browser.get(address("plan-room") + "?state=with_drafter").text
    assert "P-2027-0001" in out
    assert "P-2027-0002" not in out


@pytest.mark.parametrize(("past", "marked"), [(timedelta(hours=-1), False), (timedelta(hours=1), True)])
def test_a_late_order_is_marked(owner_browser, sent_order, past, marked):
    PlanOrder.objects.update(due_at=timezone.now() - past)
    assert ("Late" in owner_browser.get(address("plan-room")).text) is marked


def test_a_plan_is_ordered_from_the_job(owner_browser, shoot, drafter):
    response = owner_browser.post(
        address("plan-order-new", shoot.number),
        {"once": ONCE, "drafter": drafter.pk, "measuring_rule": "as-drawn", "notes": ""}, follow=True,
    )  # fmt: skip
    assert f"{PlanOrder.objects.get()} is written." in response.text


def test_without_drafters_the_page_says_what_to_do(owner_browser, shoot):
    assert address("drafter-new") in owner_browser.get(address("plan-order-new", shoot.number)).text


def test_an_order_is_sent_withdrawn_and_taken_up_by_its_buttons(owner_browser, plan_order):
    assert "Sent to Fairline Drawing." in press(owner_browser, "plan-order-send", plan_order.number).text
    plan_order.refresh_from_db()
    assert plan_order.state == PlanOrderState.WITH_DRAFTER


def test_a_refusal_is_said_on_the_page_one_came_from(owner_browser, accepted):
    where = accepted.get_absolute_url()
    response = owner_browser.post(
        address("plan-order-send", accepted.number), {"once": ONCE}, headers={"Referer": f"http://testserver{where}"},
        follow=True,
    )  # fmt: skip
    assert "is accepted, so it cannot become with drafter" in response.text


def test_a_draft_is_put_in_by_hand(owner_browser, sent_order):
    response = press(owner_browser, "draft-upload", sent_order.number, upload=sent(), drawn_by_us="on", note="Ours")
    assert "Draft 1 is in and is being checked." in response.text
    assert Draft.objects.get().drawn_by_us


def test_a_refused_draft_is_said_beside_the_field(owner_browser, sent_order):
    assert "whatever its name" in press(owner_browser, "draft-upload", sent_order.number, upload=sent(b"no")).text


def test_while_a_check_runs_the_page_asks_again_but_not_for_ever(owner_browser, draft):
    assert f"{address('draft-check', draft.pk)}?look=1" in owner_browser.get(draft.plan_order.get_absolute_url()).text
    assert "look=8" in owner_browser.get(address("draft-check", draft.pk) + "?look=7").text
    assert "hx-get" not in owner_browser.get(address("draft-check", draft.pk) + "?look=150").text


def test_findings_are_shown_in_words_and_voids_on_the_picture(owner_browser, checked):
    text = owner_browser.get(address("draft-check", checked.pk)).text
    assert "A void." in text
    # The check's picture is twice as large as the one on the page.
    assert '<rect class="drawing-void" x="50" y="25" width="100" height="50">' in text
    assert "hx-get" not in text


def test_one_click_on_a_finding_asks_a_pinned_fix(owner_browser, checked):
    response = press(
        owner_browser, "fix-ask", checked.pk, text="A void.", kind="void", page=1, across="16.667", down="12.5"
    )
    fix = FixRequest.objects.get()
    assert (fix.kind, str(fix.x), str(fix.y)) == ("void", "0.16667", "0.12500")
    assert "asked as fix 1" in response.text


def test_a_fix_without_a_pin_is_asked_by_words_alone(owner_browser, checked):
    press(owner_browser, "fix-ask", checked.pk, text="Names in capitals, please.", kind="other", page=1)
    assert FixRequest.objects.get().x is None


def test_a_wrong_pin_is_said_beside_its_field_and_the_text_stays(owner_browser, checked):
    text = press(owner_browser, "fix-ask", checked.pk, text="Keep me", kind="void", page=1, across="120", down="3").text
    assert "Keep me" in text
    assert not FixRequest.objects.exists()


def test_a_scanner_may_ask_but_not_send_or_settle(scanner_browser, fix):
    assert press(scanner_browser, "fix-ask", fix.draft_id, text="Also this", kind="other", page=1).status_code == 200
    assert scanner_browser.post(address("fixes-send", fix.plan_order.number), {"once": ONCE}).status_code == 403
    assert scanner_browser.post(address("fix-settle", fix.pk), {"once": ONCE}).status_code == 403


def test_fixes_are_sent_and_settled_by_their_buttons(owner_browser, fix):
    assert "in one mail" in press(owner_browser, "fixes-send", fix.plan_order.number).text
    owner_browser.post(address("fix-settle", fix.pk), {"once": ONCE.replace("13", "14")})
    fix.refresh_from_db()
    assert fix.state == FixState.SETTLED


def test_a_plan_is_accepted_with_its_area_in_the_offices_unit(owner_browser, checked, house):
    press(owner_browser, "plan-order-accept", checked.plan_order.number, measured_area="2500")
    house.refresh_from_db()
    # 2500 × 0.3048² m²
    assert str(house.area_m2) == "232.2576"


def test_an_older_draft_can_be_looked_at(owner_browser, checked, by_owner):
    receive_draft(plan_order=checked.plan_order, upload=sent(), note="", by=by_owner, now=NOW)
    page = checked.plan_order.get_absolute_url()
    assert "A void." not in owner_browser.get(page).text
    assert "A void." in owner_browser.get(page + "?draft=1").text


def test_a_bundle_is_made_filled_and_handed_over_by_its_pages(owner_browser, accepted, shoot):
    press(owner_browser, "bundle-make", shoot.number, release_rule="at_once", message="Enjoy")
    bundle = Bundle.objects.get()
    owner_browser.post(
        address("bundle-item-add", bundle.pk),
        {"once": ONCE.replace("13", "15"), "kind": "other", "title": "Notes", "upload": sent(name="notes.pdf")},
    )
    assert bundle.items.filter(file_name="notes.pdf").exists()
    owner_browser.post(address("bundle-hand-over", bundle.pk), {"once": ONCE.replace("13", "16")})
    bundle.refresh_from_db()
    assert bundle.state == BundleState.HANDED_OVER


@pytest.mark.parametrize("fields", [{}, {"url": "https://x.example/", "upload": True}, {"url": "javascript:alert(1)"}])
def test_an_item_is_a_file_or_a_web_link(owner_browser, bundle, fields):
    fields = {**fields, **({"upload": sent()} if fields.get("upload") else {})}
    before = bundle.items.count()
    press(owner_browser, "bundle-item-add", bundle.pk, kind="other", title="x", **fields)
    assert bundle.items.count() == before


def test_an_incomplete_bundle_asks_for_a_reason(owner_browser, bundle, blocking_task):
    text = press(owner_browser, "bundle-hand-over", bundle.pk, override="").text
    assert "Not ready" in text
    assert "1 editing task that must be done is open." in text


def test_the_bundle_page_offers_files_as_attachments(owner_browser, bundle):
    response = owner_browser.get(address("bundle-item", bundle.items.get(kind="plan").pk))
    assert response["Content-Disposition"].startswith("attachment")


def test_handovers_show_what_is_ready_and_what_was_given(owner_browser, accepted, shoot, by_owner):
    assert "Ready to hand over" in owner_browser.get(address("handovers")).text
    make_bundle(shoot=shoot, release_rule="at_once", message="", by=by_owner, now=NOW)
    text = owner_browser.get(address("handovers")).text
    assert "Ready to hand over" not in text
    assert "bundle 1" in text


def test_the_job_page_has_a_plan_and_a_handover(owner_browser, handed_over, shoot):
    text = owner_browser.get(shoot.get_absolute_url()).text
    assert 'id="plan"' in text
    assert "P-2027-0001" in text
    assert 'id="handover"' in text
    assert "Bundle 1" in text


def test_a_drafter_is_added_with_hours_and_prices(owner_browser, office):
    fields = {
        "name": "Fairline", "email": "f@fairline.example", "zone": "Asia/Manila", "hours_mon": "09:00-18:00",
        "holidays": "2027-12-24, 2027-12-25", "plan_hours": "8", "fix_hours": "4", "price_per_plan": "12",
        "price_per_m2": "0", "price_per_level": "0", "currency": "usd", "active": "on",
    }  # fmt: skip
    assert "Added: Fairline" in press(owner_browser, "drafter-new", **fields).text
    drafter = Drafter.objects.get()
    assert drafter.hours == {"mon": [["09:00", "18:00"]]}
    assert drafter.holidays == ["2027-12-24", "2027-12-25"]
    assert drafter.currency == "USD"


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"hours_mon": ""}, "works at least on one day"),
        ({"zone": "Manila"}, "is not a time zone"),
        ({"holidays": "24.12.2027"}, "is not a date"),
        ({"currency": "ZZZ"}, "not an ISO 4217 currency"),
        ({"plan_hours": "0"}, "greater than or equal"),
        ({"price_per_plan": "-1"}, "greater than or equal"),
    ],
)
def test_a_drafter_without_sense_is_not_added(owner_browser, office, fields, said):
    whole = {
        "name": "Fairline", "email": "f@fairline.example", "zone": "Asia/Manila", "hours_mon": "09:00-18:00",
        "plan_hours": "8", "fix_hours": "4", "price_per_plan": "12", "price_per_m2": "0", "price_per_level": "0",
        "currency": "USD", "active": "on",
    }  # fmt: skip
    assert said in press(owner_browser, "drafter-new", **{**whole, **fields}).text


def test_a_drafters_link_is_mailed_again(owner_browser, drafter):
    assert "on its way to fairline@fairline.example" in press(owner_browser, "drafter-link", drafter.pk).text


def cost(browser, where):
    with CaptureQueriesContext(connection) as queries:
        assert browser.get(where).status_code == 200
    return len(queries)


def test_lists_cost_the_same_however_long_they_are(
    owner_browser, draft, client_of_office, house, package, tour_package, by_owner
):
    pages = [address("plan-room"), address("handovers"), address("drafters"), reverse("office:desk")]

    def one_more(number):
        shoot = make_shoot(client_of_office, house, package, f"S-2027-1{number:03}")
        order = send_plan_order(
            plan_order=make_order(shoot, make_drafter(f"Drafter{number}"), by_owner), by=by_owner, now=NOW
        )
        receive_draft(plan_order=order, upload=sent(), note="", by=by_owner, now=NOW)
        make_bundle(shoot=shoot, release_rule="at_once", message="", by=by_owner, now=NOW)
        make_shoot(client_of_office, house, tour_package, f"S-2027-2{number:03}")

    one_more(0)
    first = [cost(owner_browser, page) for page in pages]
    for number in range(1, 6):
        one_more(number)
    assert [cost(owner_browser, page) for page in pages] == first


def test_one_orders_page_costs_the_same_however_many_fixes_it_has(owner_browser, checked, by_owner):
    ask(checked, by_owner)
    where = checked.plan_order.get_absolute_url()
    first = cost(owner_browser, where)
    for number in range(5):
        ask(checked, by_owner, f"Fix the door {number}")
    assert cost(owner_browser, where) == first
    send_fixes(plan_order=checked.plan_order, by=by_owner, now=NOW)
