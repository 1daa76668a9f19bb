"""What the top floor puts on the desk, and that acting takes it away."""

from datetime import timedelta

import pytest

from deliverables.actions.bundles import make_bundle
from deliverables.actions.fixes import return_fix, send_fixes, settle_fix
from deliverables.actions.plan_orders import accept_plan, order_plan, send_plan_order
from deliverables.actions.receipts import note_opened
from deliverables.desk import matters
from office.actions.actors import Actor
from office.models import CapabilityLink, Purpose
from tests.cast import NOW
from tests.deliverables.conftest import ask, make_shoot

LATER = NOW + timedelta(days=3)


def keys(now=NOW):
    return [matter.key.split(":")[0] for matter in matters(now)]


def test_a_captured_house_without_a_plan_order_is_a_matter(shoot, drafter, by_owner):
    assert keys() == ["no-plan-order"]
    order_plan(shoot=shoot, drafter=drafter, notes="", branded=False, measuring_rule="as-drawn", by=by_owner, now=NOW)
    assert keys() == ["plan-to-send"]


def test_a_sent_order_is_no_matter_until_it_is_late(plan_order, by_owner):
    order = send_plan_order(plan_order=plan_order, by=by_owner, now=NOW)
    assert keys(order.due_at) == []
    late = list(matters(order.due_at + timedelta(hours=5, minutes=30)))
    assert [matter.key for matter in late] == [f"plan-late:{order.pk}:0"]
    assert late[0].weight == 75
    assert late[0].why == "Fairline Drawing is 5 hours past the promise."


def test_lateness_weighs_a_hundred_at_most(sent_order):
    assert next(iter(matters(sent_order.due_at + timedelta(days=30)))).weight == 100


def test_a_draft_is_to_be_checked(draft):
    found = list(matters(NOW))
    assert [matter.action for matter in found] == ["Check it"]
    assert found[0].since == NOW


def test_fixes_that_were_asked_are_to_be_sent(fix, by_owner):
    assert [(matter.action, matter.why) for matter in matters(NOW)] == [
        ("Send the fixes", "1 fix is asked and not sent.")
    ]
    send_fixes(plan_order=fix.plan_order, by=by_owner, now=NOW)
    assert keys() == []


def test_late_fixes_are_a_matter(fix, by_owner):
    order = send_fixes(plan_order=fix.plan_order, by=by_owner, now=NOW)
    found = list(matters(order.due_at + timedelta(hours=1)))
    assert [matter.text for matter in found] == ["fixes on Plan order P-2027-0001 (27 Alder Rise) are late"]


def test_returned_fixes_are_to_be_looked_at(fix, draft, by_owner, by_drafter):
    ask(draft, by_owner, "The stair")
    send_fixes(plan_order=draft.plan_order, by=by_owner, now=NOW)
    return_fix(fix=fix, note="", by=by_drafter, now=NOW)
    assert keys() == ["fixes-returned"]


def test_the_last_returned_fix_makes_it_a_plan_to_check(fix, by_owner, by_drafter):
    send_fixes(plan_order=fix.plan_order, by=by_owner, now=NOW)
    return_fix(fix=fix, note="", by=by_drafter, now=NOW)
    assert [matter.why for matter in matters(NOW)] == ["1 fix was returned."]
    settle_fix(fix=fix, by=by_owner, now=NOW)
    accept_plan(plan_order=fix.plan_order, measured_area_m2=None, by=by_owner, now=NOW)
    assert keys() == ["handover-ready"]


def test_an_accepted_plan_waits_for_a_bundle(accepted, shoot, by_owner):
    assert keys() == ["handover-ready"]
    make_bundle(shoot=shoot, release_rule="at_once", message="", by=by_owner, now=NOW)
    assert keys() == []


@pytest.mark.parametrize(("url", "found"), [("https://tour.example/b/9", ["handover-ready"]), ("", [])])
def test_a_tour_alone_is_ready_once_it_has_a_link(client_of_office, house, tour_package, url, found):
    make_shoot(client_of_office, house, tour_package, tour_branded_url=url, tour_unbranded_url="")
    assert keys() == found


def test_a_handover_that_nobody_opens_is_a_matter_after_two_days(handed_over):
    assert keys(NOW + timedelta(days=2)) == []
    assert keys(LATER) == ["unopened"]
    client = Actor.of_link(CapabilityLink.objects.get(purpose=Purpose.HANDOVER))
    note_opened(bundle=handed_over, by=client, now=LATER)
    assert keys(LATER) == []
