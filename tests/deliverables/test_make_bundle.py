"""Bundles in the making: what is gathered, what is put in and taken out, what is missing."""

import pytest

from deliverables.actions.bundles import add_file, add_link, make_bundle, remove_item, withdraw_bundle
from deliverables.actions.drafts import receive_draft
from deliverables.actions.fixes import ask_fix
from deliverables.actions.gaps import gaps_of
from deliverables.actions.plan_orders import accept_plan, reopen_plan, send_plan_order
from deliverables.models import Bundle, BundleState, ItemKind
from jobs.models import AddOn
from office.errors import WrongState
from tests.cast import NOW
from tests.deliverables.conftest import make_order
from tests.deliverables.papers import plan_pdf, sent


def make(shoot, by, rule="at_once"):
    return make_bundle(shoot=shoot, release_rule=rule, message="", by=by, now=NOW)


def kinds(bundle):
    return [item.kind for item in bundle.items.all()]


def texts(bundle):
    return [gap.text for gap in gaps_of(bundle)]


def test_both_tour_links_and_the_accepted_plan_are_gathered(bundle, draft):
    assert kinds(bundle) == [ItemKind.TOUR_BRANDED, ItemKind.TOUR_UNBRANDED, ItemKind.PLAN]
    plan = bundle.items.get(kind=ItemKind.PLAN)
    assert (plan.file.name, plan.sha256, plan.size) == (draft.file.name, draft.sha256, draft.size)
    assert plan.file_name == "S-2027-0001-P-2027-0001-plan.png"
    assert gaps_of(bundle) == []


def test_a_tour_only_job_gathers_no_plan(accepted, shoot, tour_package, by_owner):
    shoot.package = tour_package
    shoot.save()
    assert kinds(make(shoot, by_owner)) == [ItemKind.TOUR_BRANDED, ItemKind.TOUR_UNBRANDED]


def test_gathering_again_takes_what_is_new_and_keeps_what_was_added(shoot, sent_order, by_owner):
    bundle = make(shoot, by_owner)
    add_link(bundle=bundle, kind="other", title="Street view", url="https://x.example/", by=by_owner, now=NOW)
    shoot.tour_branded_url = ""
    shoot.save()
    again = make(shoot, by_owner, "on_payment")
    assert again == bundle
    assert kinds(again) == [ItemKind.TOUR_UNBRANDED, ItemKind.OTHER]
    again.refresh_from_db()
    assert again.release_rule == "on_payment"


def test_what_is_missing_is_said_with_what_would_supply_it(shoot, plan_order, blocking_task, by_owner):
    shoot.tour_branded_url = shoot.tour_unbranded_url = ""
    shoot.save()
    gaps = gaps_of(make(shoot, by_owner))
    assert [gap.text for gap in gaps] == [
        "The tour has no link.",
        "1 editing task that must be done is open.",
        "There is no accepted plan.",
    ]
    assert gaps[2].remedy == "Accept the draft of Plan order P-2027-0001, then gather again."
    assert gaps[2].url == plan_order.get_absolute_url()


def test_without_any_order_a_plan_is_to_be_ordered(shoot, by_owner):
    assert gaps_of(make(shoot, by_owner))[0].url == "/plans/new/S-2027-0001/"


def test_an_open_fix_and_an_unaccepted_second_plan_are_missing(bundle, draft, by_owner):
    order = reopen_plan(plan_order=draft.plan_order, by=by_owner, now=NOW)
    ask_fix(draft=draft, kind="void", text="Void", page=1, x=None, y=None, by=by_owner, now=NOW)
    assert texts(bundle) == [f"{order} is not accepted yet.", "1 fix is open."]


def test_a_plan_accepted_after_gathering_asks_to_gather_again(bundle, by_owner):
    remove_item(item=bundle.items.get(kind=ItemKind.PLAN), by=by_owner, now=NOW)
    assert gaps_of(bundle)[0].remedy == "Gather again: a plan has been accepted."


def test_an_ordered_area_sheet_is_said_to_be_missing_and_does_not_block(bundle, shoot, by_owner):
    sheet = AddOn.objects.create(code="area_sheet", name="Area sheet")
    shoot.add_ons.create(add_on=sheet)
    assert texts(bundle) == ["An area sheet was ordered and is not here."]
    assert not gaps_of(bundle)[0].blocks
    add_file(bundle=bundle, kind="area_sheet", title="Areas", upload=sent(), by=by_owner, now=NOW)
    assert texts(bundle) == []


def test_a_file_is_put_in_under_a_name_that_is_still_free(bundle, by_owner):
    for _twice in range(2):
        add_file(bundle=bundle, kind="other", title="Notes", upload=sent(name="Notes.pdf"), by=by_owner, now=NOW)
    names = list(bundle.items.filter(kind="other").values_list("file_name", flat=True))
    assert names == ["Notes.pdf", "Notes (2).pdf"]


def test_gathering_again_leaves_names_that_somebody_has_used_since(bundle, shoot, by_owner):
    name = bundle.items.get(kind=ItemKind.PLAN).file_name
    remove_item(item=bundle.items.get(kind=ItemKind.PLAN), by=by_owner, now=NOW)
    add_file(bundle=bundle, kind="other", title="N", upload=sent(name=name), by=by_owner, now=NOW)
    again = make(shoot, by_owner).items.get(kind=ItemKind.PLAN)
    assert again.file_name == name.replace(".png", " (2).png")


def test_a_file_of_another_type_is_kept_as_bytes(bundle, by_owner):
    page = sent(b"<html><script>1</script>", "page.html", "text/html")
    item = add_file(bundle=bundle, kind="other", title="Page", upload=page, by=by_owner, now=NOW)
    assert item.content_type == "application/octet-stream"


def test_taking_out_an_added_file_deletes_it(bundle, by_owner, django_capture_on_commit_callbacks):
    item = add_file(bundle=bundle, kind="other", title="N", upload=sent(), by=by_owner, now=NOW)
    with django_capture_on_commit_callbacks(execute=True):
        remove_item(item=item, by=by_owner, now=NOW)
    assert not item.file.storage.exists(item.file.name)


def test_taking_out_the_plan_leaves_the_draft(bundle, draft, by_owner, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        remove_item(item=bundle.items.get(kind=ItemKind.PLAN), by=by_owner, now=NOW)
    assert draft.file.storage.exists(draft.file.name)


def test_nothing_is_put_into_a_bundle_that_is_handed_over(handed_over, by_owner):
    with pytest.raises(WrongState):
        add_file(bundle=handed_over, kind="other", title="N", upload=sent(), by=by_owner, now=NOW)
    with pytest.raises(WrongState):
        add_link(bundle=handed_over, kind="other", title="N", url="https://x.example/", by=by_owner, now=NOW)


def test_nothing_is_taken_out_of_a_bundle_that_is_handed_over(handed_over, by_owner):
    with pytest.raises(WrongState):
        remove_item(item=handed_over.items.first(), by=by_owner, now=NOW)


def test_a_bundle_in_the_making_can_be_withdrawn_and_another_made(bundle, shoot, by_owner):
    assert withdraw_bundle(bundle=bundle, by=by_owner, now=NOW).state == BundleState.WITHDRAWN
    assert make(shoot, by_owner).number == 2


def test_two_accepted_plans_are_both_gathered(accepted, shoot, drafter, by_owner):
    garage = send_plan_order(plan_order=make_order(shoot, drafter, by_owner, branded=True), by=by_owner, now=NOW)
    receive_draft(plan_order=garage, upload=sent(plan_pdf()), note="", by=by_owner, now=NOW)
    accept_plan(plan_order=garage, measured_area_m2=None, by=by_owner, now=NOW)
    assert kinds(make(shoot, by_owner)).count(ItemKind.PLAN) == 2


def test_a_bundle_being_made_is_not_yet_what_the_client_sees(bundle):
    assert not Bundle.objects.handed_over().exists()
