"""One job from order to paid in a real browser: owner, scanner, drafter and client in turn."""

import re
from datetime import timedelta

import pytest
from django.utils import timezone

from billing.models import Invoice, Quote
from deliverables.demo.cast import PASSWORD, invent
from deliverables.demo.drawing import draw_draft
from deliverables.models import Draft, FixRequest, PlanOrder
from jobs.actions.shapes import shape_of
from jobs.models import Property, Shoot
from jobs.rules.walk import walk_csv
from jobs.rules.walkplan import plan_walk
from office.actions.errands import run_waiting
from office.models import Purpose

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.browser]


@pytest.fixture
def company(transactional_db):
    return invent(now=timezone.now() - timedelta(days=1))


def press(page, name, within=None):
    """Click the button or link of this name and wait for the page that follows."""
    place = within or page
    named = place.get_by_role("button", name=name, exact=True).or_(place.get_by_role("link", name=name, exact=True))
    with page.expect_navigation():
        named.first.click()


def go_to_job(page):
    page.goto(f"/shoots/{Shoot.objects.get().number}/")


def test_a_job_goes_from_order_to_paid(company, signed_in, by_link):
    owner = signed_in(company.owner, PASSWORD)
    order_and_quote(owner, company)
    accept(by_link(Purpose.QUOTE))
    book(owner)
    walk_the_house(signed_in(company.scanner, PASSWORD))
    order_the_plan(owner)
    drafter = by_link(Purpose.DRAFTER)
    send_in(drafter, with_void=True)
    ask_for_a_fix(owner)
    return_the_fix(drafter)
    accept_the_plan(owner)
    hand_over(owner)
    collect(by_link(Purpose.HANDOVER))
    bill(owner)
    look_at_the_invoice(by_link(Purpose.INVOICE))
    take_the_payment(owner)
    close(owner)


def order_and_quote(owner, company):
    owner.goto("/shoots/new/")
    owner.get_by_label("Client").select_option(label=str(company.client))
    owner.get_by_label("Property").select_option(label=str(company.house))
    owner.get_by_label("Package").select_option(label="Tour and floor plan")
    press(owner, "Pencil it")
    press(owner, "Offer this quote")
    assert Quote.objects.get().state == "offered"


def accept(client):
    assert "950 sq ft over the 1,500 included" in client.inner_text("main")
    client.get_by_label("Your name").first.fill("Odile Marchetti")
    press(client, re.compile("Accept for"))
    assert Quote.objects.get().state == "accepted"


def book(owner):
    go_to_job(owner)
    press(owner, re.compile("^Find a time"), within=owner.locator("#visit"))
    start = timezone.localtime(timezone.now() + timedelta(days=2)).strftime("%Y-%m-%dT09:00")
    owner.get_by_label("Arrival from").fill(start)
    owner.get_by_label("Tobias Renn").check()
    press(owner, "Show what it would mean")
    press(owner, "Set the time")
    if Shoot.objects.get().state == "pencilled":
        press(owner, "Confirm the visit")
    assert Shoot.objects.get().state == "confirmed"


def walk_the_house(scanner):
    house = Property.objects.with_shape().get()
    log = walk_csv([step.station for step in plan_walk(shape_of(house), "both")])
    scanner.goto(f"/shoots/{Shoot.objects.get().number}/walk/")
    scanner.set_input_files("input[type=file]", {"name": "walk.csv", "mimeType": "text/csv", "buffer": log.encode()})
    press(scanner, "Bring it in")
    go_to_job(scanner)
    press(scanner, "The house is captured")
    assert "out of the public tour" in scanner.inner_text("#walk")
    while scanner.get_by_role("button", name="Done", exact=True).count():
        press(scanner, "Done")
    press(scanner, "Set the links")
    for label in ("Capture link", "Branded tour link", "Unbranded tour link"):
        scanner.get_by_label(label, exact=False).first.fill("https://tour.example/27-alder-rise")
    press(scanner, "Save")


def order_the_plan(owner):
    go_to_job(owner)
    press(owner, re.compile("Order the plan|Order a plan|Ask a drafter"), within=owner.locator("#plan"))
    owner.get_by_label("Drafter*").select_option(label="Pemberley Drawing Office")
    press(owner, "Write the order")
    press(owner, re.compile("Send to"))
    assert PlanOrder.objects.get().state == "with_drafter"


def send_in(drafter, *, with_void):
    if not drafter.locator("input[type=file]").count():
        drafter.goto(f"{drafter.url.rstrip('/')}/orders/{PlanOrder.objects.get().number}/")
    count = Draft.objects.count()
    content = draw_draft(with_void=with_void)
    drafter.set_input_files("input[type=file]", {"name": "plan.pdf", "mimeType": "application/pdf", "buffer": content})
    drafter.get_by_role("button", name="Send it in").click()
    drafter.get_by_text(f"Draft {count + 1}").first.wait_for()
    run_waiting(now=timezone.now())
    assert not Draft.objects.filter(check_state="waiting").exists()


def ask_for_a_fix(owner):
    owner.goto(PlanOrder.objects.get().get_absolute_url())
    assert "Void" in owner.inner_text("#check") or "blank" in owner.inner_text("#check")
    press(owner, "Ask for a fix")
    press(owner, re.compile("Send 1 fix"))
    assert FixRequest.objects.get().state == "asked"


def return_the_fix(drafter):
    drafter.reload()
    drafter.get_by_label("Note", exact=True).first.fill("Drawn from the two stations in it.")
    press(drafter, "Returned")
    assert FixRequest.objects.get().state == "returned"
    send_in(drafter, with_void=False)


def accept_the_plan(owner):
    owner.goto(PlanOrder.objects.get().get_absolute_url())
    press(owner, "Settled")
    press(owner, "Accept the plan")
    assert PlanOrder.objects.get().state == "accepted"


def hand_over(owner):
    press(owner, "Make the bundle")
    press(owner, "Gather")
    press(owner, "Hand over")


def collect(client):
    with client.expect_download() as download:
        client.get_by_role("link", name=re.compile("Save everything as one ZIP")).click()
    assert download.value.suggested_filename.endswith(".zip")
    press(client, "It looks right")


def bill(owner):
    go_to_job(owner)
    press(owner, "Draw up the invoice")
    press(owner, re.compile("Issue"))
    assert Invoice.objects.get().state == "issued"


def look_at_the_invoice(client):
    assert Invoice.objects.get().number in client.inner_text("main")


def take_the_payment(owner):
    owner.goto(Invoice.objects.get().get_absolute_url())
    press(owner, re.compile("payment"))
    press(owner, "Note the payment")
    assert Invoice.objects.get().state == "settled"


def close(owner):
    go_to_job(owner)
    press(owner, "Close the job")
    assert Shoot.objects.get().state == "closed"
