"""Prices that follow what is typed, in a real browser: the visitor's order, and the owner's rate card."""

from datetime import date
from decimal import Decimal

import pytest

from billing.models import RateCard, TaxRate
from jobs.models import Shoot
from office.models import Office
from tests.billing.conftest import make_rate_card

from .conftest import PHONE

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.browser]


@pytest.fixture
def rate_card(package, exterior):
    TaxRate.objects.create(name="Sales tax", percent=Decimal("7.25"), starts_on=date(2020, 1, 1))
    return make_rate_card(package, exterior, starts_on=date(2020, 1, 1))


@pytest.fixture
def order_page(rate_card, new_page):
    """The order page on a phone, with a house typed that costs 372.16."""
    from playwright.sync_api import expect

    Office.objects.update(order_page_open=True)
    page = new_page(PHONE)
    page.goto("/order/")
    page.get_by_label("Tour and floor plan").check()
    page.get_by_label("Exterior pass").check()
    page.get_by_label("Floor area").fill("2450")
    page.get_by_label("Levels").fill("3")
    expect(page.locator("#price")).to_contain_text("$372.16")
    return page


def test_a_visitor_sees_the_price_change_with_every_answer(order_page):
    from playwright.sync_api import expect

    price = order_page.locator("#price")
    order_page.get_by_label("Exterior pass").uncheck()
    expect(price).to_contain_text("$307.81")
    order_page.get_by_label("Measured in").select_option("m2")
    expect(price).to_contain_text("We will call you with a price.")
    order_page.get_by_label("Floor area").fill("")
    expect(price).to_contain_text("the price shows here")


def test_the_lines_once_opened_stay_open(order_page):
    """The field that is left by opening them must not fetch the same price again."""
    from playwright.sync_api import expect

    order_page.get_by_text("Line by line").click()
    reason = order_page.get_by_text("2 levels over the 1 included")
    expect(reason).to_be_visible()
    order_page.get_by_label("Your name").fill("Jun Abe")
    order_page.wait_for_timeout(700)  # longer than the pause after which a price is fetched
    expect(reason).to_be_visible()


def test_the_order_sent_has_the_price_that_was_seen(order_page):
    answers = {"Street and number": "9 Quarry Lane", "Town": "Harrowfield", "Your name": "Jun Abe", "Phone": "515"}
    for label, answer in (answers | {"Email": "jun@abe.example"}).items():
        order_page.get_by_label(label).fill(answer)
    order_page.get_by_role("button", name="Send the order").click()
    order_page.get_by_role("heading", name="Thank you").wait_for()
    assert Shoot.objects.get().placed_order.shown_total == Decimal("372.16")


def test_the_owner_tries_a_price_on_three_houses_before_saving_it(rate_card, owner, signed_in):
    from playwright.sync_api import expect

    page = signed_in(owner)
    page.goto("/rate-cards/3/edit/")
    sample = page.locator(".card-sample")
    expect(sample).to_contain_text("$180.00")
    page.get_by_label("Base").fill("200")
    expect(sample).to_contain_text("$200.00")
    page.get_by_label("Base").fill("-2")
    expect(sample).to_contain_text("Base: Ensure this value is greater than or equal to 0.")
    page.get_by_label("Base").fill("210.50")

    travel = page.locator("#set-travel")
    travel.get_by_role("button", name="Add a row").click()
    expect(travel.get_by_role("group")).to_have_count(3)
    travel.get_by_role("button", name="Take away row 3").click()
    expect(travel.get_by_role("group")).to_have_count(2)
    expect(page.get_by_label("Base")).to_have_value("210.50")

    page.get_by_role("button", name="Save the card").last.click()
    page.get_by_role("heading", name="Rate card 3").wait_for()
    assert RateCard.objects.get().packages.get().base == Decimal("210.50")
