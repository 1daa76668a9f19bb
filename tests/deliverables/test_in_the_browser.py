"""What only a real browser shows: pins by mouse and keyboard, a check that arrives by itself, uploads."""

import pytest

from deliverables.actions.checks import keep_inspection
from deliverables.actions.drafters import link_of_drafter
from deliverables.actions.previews import PagePicture
from deliverables.models import Draft, FixRequest
from deliverables.rules.plan.verdict import PageVerdict, PlanVerdict
from office.actions.links import token_of
from tests.cast import NOW, PASSWORD
from tests.deliverables.papers import plan_pdf, plan_picture

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
CLEAN = PlanVerdict((PageVerdict(1, 600, 400, 72, (), ("Kitchen",)),), ())


@pytest.fixture
def page(browser):
    """A page of a visitor of its own; at the end its console must have kept silent."""
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    page.set_default_timeout(10_000)
    said = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    yield page
    context.close()
    assert said == []


@pytest.fixture
def signed_in(page, live_server, owner):
    page.goto(f"{live_server.url}/account/login/")
    page.fill("input[name=login]", owner.email)
    page.fill("input[name=password]", PASSWORD)
    page.get_by_role("main").get_by_role("button").first.click()
    page.wait_for_url(f"{live_server.url}/")
    return page


def inspect(draft):
    picture = PagePicture(1, 600, 400, plan_picture())
    keep_inspection(Draft.objects.get(pk=draft.pk), [picture], CLEAN)


def test_a_click_on_the_drawing_pins_a_fix(signed_in, live_server, draft):
    inspect(draft)
    signed_in.goto(live_server.url + draft.plan_order.get_absolute_url())
    board = signed_in.locator("[data-pinning]")
    box = board.bounding_box()
    board.click(position={"x": box["width"] * 0.25, "y": box["height"] * 0.75})
    signed_in.fill("textarea[name=text]", "The window is missing.")
    signed_in.get_by_role("button", name="Note this fix").click()
    signed_in.get_by_text("Fix 1 is noted.").wait_for()
    fix = FixRequest.objects.get()
    assert (float(fix.x), float(fix.y)) == (pytest.approx(0.25, abs=0.01), pytest.approx(0.75, abs=0.01))
    assert signed_in.locator(".drawing-pin").count() == 1


def test_arrow_keys_move_the_crosshair_and_enter_pins(signed_in, live_server, draft):
    inspect(draft)
    signed_in.goto(live_server.url + draft.plan_order.get_absolute_url())
    signed_in.locator("[data-pinning]").focus()
    for key in ("ArrowRight", "ArrowRight", "Shift+ArrowUp", "Enter"):
        signed_in.keyboard.press(key)
    assert signed_in.input_value("input[name=across]") == "51.000"
    assert signed_in.input_value("input[name=down]") == "45.000"
    assert signed_in.evaluate("document.activeElement.name") == "text"


def test_the_result_of_a_check_appears_by_itself(signed_in, live_server, draft):
    signed_in.goto(live_server.url + draft.plan_order.get_absolute_url())
    signed_in.get_by_text("Draft 1 is being checked.").wait_for()
    inspect(draft)
    signed_in.get_by_text("The plan check found nothing to put right.").wait_for()
    signed_in.locator("[data-pinning]").wait_for()


def test_a_drafter_sends_a_draft_in(page, live_server, sent_order, drafter, by_owner, tmp_path):
    plan = tmp_path / "27 Alder Rise.pdf"
    plan.write_bytes(plan_pdf())
    link = link_of_drafter(drafter=drafter, by=by_owner, now=NOW)
    page.goto(f"{live_server.url}/open/{token_of(link.key)}/")
    page.get_by_role("link", name=sent_order.number).click()
    page.set_input_files("input[name=upload]", plan)
    page.get_by_role("button", name="Send it in").click()
    page.get_by_text("Thank you. Draft 1 has arrived.").wait_for()
    assert page.url.endswith(f"/orders/{sent_order.number}/")
    assert Draft.objects.get().file_name == "27 Alder Rise.pdf"


def test_a_refused_draft_keeps_the_page_and_says_why(page, live_server, sent_order, drafter, by_owner, tmp_path):
    plan = tmp_path / "plan.pdf"
    plan.write_bytes(b"only words")
    link = link_of_drafter(drafter=drafter, by=by_owner, now=NOW)
    page.goto(f"{live_server.url}/open/{token_of(link.key)}/")
    page.get_by_role("link", name=sent_order.number).click()
    page.set_input_files("input[name=upload]", plan)
    page.get_by_role("button", name="Send it in").click()
    page.get_by_text("whatever its name").wait_for()
    assert page.url.endswith(f"/orders/{sent_order.number}/")
    assert not Draft.objects.exists()
