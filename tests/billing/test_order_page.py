"""The public order page: a price while typing, an order that ends as a pencilled shoot, and nothing of anybody else."""

from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.core import mail
from django.core.cache import cache
from django.urls import reverse
from django.utils import timezone

from billing.actions.card_edits import change_card
from billing.actions.public_offer import public_offer
from billing.actions.rate_cards import card_of
from billing.actions.taxes import change_tax_rate
from billing.desk import matters
from billing.models import CardPackage, PlacedOrder, RateCard
from jobs.actions.shoots import lapse_holds
from jobs.models import Client, Package, Property, Shoot, ShootState
from office.actions.notices import send_waiting
from office.models import Event, Office
from tests.billing.conftest import make_rate_card

pytestmark = pytest.mark.django_db
HOUSE = {"package": "both", "add_ons": ["exterior"], "area": "2450", "area_unit": "sqft", "levels": "3"}
CONTACT = {
    "street": "9 Quarry Lane", "town": "Harrowfield", "name": "Jun Abe", "email": "jun@abe.example",
    "phone": "515 555 0177", "wished_days": "any Tuesday", "notes": "Beware of the goat.",
}  # fmt: skip


@pytest.fixture(autouse=True)
def _empty_cache():
    cache.clear()
    yield
    cache.clear()


@pytest.fixture
def page_open(office, rate_card, sales_tax):
    Office.objects.update(order_page_open=True)
    RateCard.objects.update(starts_on=date(2020, 1, 1))


def price(browser, **changes):
    answer = browser.post(reverse("billing:order-price"), {**HOUSE, **changes})
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


def send(browser, **changes):
    return browser.post(reverse("billing:order"), {**HOUSE, **CONTACT, "once": str(uuid4()), **changes})


class TestPrice:
    def test_it_is_that_of_the_card_for_everyone(self, client, page_open):
        shown = price(client)
        assert "$372.16" in shown
        assert "tax included" in shown
        assert "950 sq ft over the 1,500 included" in shown
        assert "Exterior pass" in shown
        assert "Areas are approximate" in shown

    def test_each_keystroke_asks_the_database_once(self, client, page_open, django_assert_num_queries):
        price(client)
        for area in ("2", "24", "245", "2450"):
            with django_assert_num_queries(1):
                price(client, area=area)

    def test_half_typed_it_waits(self, client, page_open):
        for missing in ("package", "area", "levels"):
            assert "the price shows here" in price(client, **{missing: ""})

    @pytest.mark.parametrize("area", ["-1", "0", "NaN", "1e9", "9999999", "x"])
    def test_an_impossible_area_has_no_price(self, client, page_open, area):
        assert "the price shows here" in price(client, area=area)

    def test_square_metres_come_to_the_same(self, client, page_open):
        assert "$372.16" in price(client, area="227.61", area_unit="m2")

    def test_beyond_the_largest_area_we_call(self, client, page_open):
        # 929.0304 m² are 10,000 sq ft
        assert "$" in price(client, area="10000")
        assert "We will call you" in price(client, area="10001")

    def test_beyond_the_most_levels_we_call(self, client, page_open):
        assert "$" in price(client, levels="4")
        shown = price(client, levels="5")
        assert "We will call you" in shown
        assert "$" not in shown

    def test_a_changed_card_shows_at_once(
        self, client, page_open, by_owner, django_capture_on_commit_callbacks
    ):  # fmt: skip
        price(client)
        with django_capture_on_commit_callbacks(execute=True):
            row = RateCard.objects.with_rows().get()
            CardPackage.objects.update(base=280)
            card = card_of(RateCard.objects.with_rows().get(), date(2027, 1, 1))
            change_card(rate_card=row, card=card, name="", client=None, by=by_owner, now=timezone.now())
        assert "$479.41" in price(client)

    def test_a_changed_tax_shows_at_once(
        self, client, page_open, sales_tax, by_owner, django_capture_on_commit_callbacks
    ):  # fmt: skip
        price(client)
        with django_capture_on_commit_callbacks(execute=True):
            change_tax_rate(rate=sales_tax, fields={"percent": Decimal(0)}, by=by_owner, now=timezone.now())
        assert "$347.00" in price(client)

    def test_the_next_day_s_card_prices_the_next_day(self, page_open, package, exterior):
        make_rate_card(package, exterior, number=4, starts_on=date(2027, 3, 2))
        assert public_offer(date(2027, 3, 1)).card.number == 3
        assert public_offer(date(2027, 3, 2)).card.number == 4

    def test_a_client_s_own_card_is_nobody_else_s(self, client, page_open, package, exterior, client_of_office):
        own = make_rate_card(package, exterior, number=9, client=client_of_office, starts_on=date(2026, 6, 1))
        CardPackage.objects.filter(card=own).update(base=1)
        assert "$372.16" in price(client)

    def test_what_is_no_longer_offered_is_not_priced(self, client, page_open, package):
        RateCard.objects.get().packages.create(package=Package.objects.create(code="plan", name="Plan"), base=90)
        package.offered = False
        package.save()
        assert "the price shows here" in price(client)
        assert "$" in price(client, package="plan", add_ons=[])


class TestOrder:
    def test_it_pencils_a_shoot_for_a_new_client_at_a_new_property(self, client, page_open):
        answer = send(client)
        assert answer.url == reverse("billing:order-thanks")
        shoot = Shoot.objects.select_related("client", "property", "package").get()
        assert (shoot.state, shoot.package.code, shoot.wished_days) == (ShootState.PENCILLED, "both", "any Tuesday")
        assert (shoot.client.name, shoot.client.email) == ("Jun Abe", "jun@abe.example")
        assert (shoot.property.street, shoot.property.level_count) == ("9 Quarry Lane", 3)
        assert shoot.property.area_m2 == Decimal("227.6124")
        assert shoot.property.area_source == "stated"
        assert [extra.add_on.code for extra in shoot.add_ons.all()] == ["exterior"]
        assert shoot.notes == "Beware of the goat.\nOrdered on the order page by Jun Abe, 515 555 0177."
        assert Event.objects.get(verb="order-placed").actor_name == "Visitor of the order page"

    def test_the_price_shown_is_kept_with_it(self, client, page_open):
        send(client)
        order = PlacedOrder.objects.get()
        assert (order.shown_total, order.shown_currency) == (Decimal("372.16"), "USD")

    def test_a_large_house_is_ordered_without_a_price(self, client, page_open):
        send(client, levels="9")
        assert PlacedOrder.objects.get().shown_total is None
        (matter,) = [matter for matter in matters(timezone.now()) if matter.key.startswith("ordered")]
        assert "promised a call" in matter.why

    def test_it_comes_to_the_desk_until_somebody_answers(self, client, page_open):
        send(client)
        (matter,) = [matter for matter in matters(timezone.now()) if matter.key.startswith("ordered")]
        assert matter.text == "Jun Abe ordered S-" + matter.text.split("ordered S-")[1]
        assert "The page showed $372.16" in matter.why

    def test_the_hold_lapses_after_the_office_s_hours(self, client, page_open):
        send(client)
        shoot = Shoot.objects.get()
        assert shoot.hold_until - shoot.ordered_at == timedelta(hours=48)
        assert lapse_holds(shoot.hold_until) == 1
        shoot.refresh_from_db()
        assert shoot.state == ShootState.CANCELLED
        assert not PlacedOrder.objects.unanswered().exists()

    def test_the_visitor_is_mailed_what_they_ordered(self, client, page_open):
        send(client)
        send_waiting(now=timezone.now())
        (sent,) = mail.outbox
        assert sent.to == ["Jun Abe <jun@abe.example>"]
        for text in (sent.body, sent.alternatives[0].content):
            for piece in (
                "9 Quarry Lane",
                "Tour and floor plan, Exterior pass",
                "any Tuesday",
                "$372.16",
                "not yet an",
            ):
                assert piece in text

    def test_a_known_email_finds_its_client_and_changes_nothing_of_it(self, client, page_open, client_of_office):
        answer = send(client, email="ODILE@marchettihomes.example", name="Somebody Else", phone="1", follow=True)
        shoot = Shoot.objects.get()
        assert shoot.client == client_of_office
        client_of_office.refresh_from_db()
        assert (client_of_office.name, client_of_office.phone) == ("Odile Marchetti", "+1 515 555 0142")
        assert "by Somebody Else, 1" in shoot.notes
        assert Client.objects.count() == 1
        send_waiting(now=timezone.now())
        shown = answer.content.decode() + client.get(answer.url).content.decode() + mail.outbox[0].body
        for secret in ("Odile", "Marchetti Homes", "0142"):
            assert secret not in shown

    def test_a_client_s_discounts_do_not_show_to_who_types_their_email(
        self, client, page_open, client_of_office, house, package
    ):
        now = timezone.now()
        Shoot.objects.bulk_create(
            Shoot(
                number=f"S-{day}", client=client_of_office, property=house, package=package, state="closed",
                ordered_at=now, starts_at=now - timedelta(days=day), window_end=now - timedelta(days=day),
                ends_at=now - timedelta(days=day - 0.1),
            )
            for day in range(1, 20)
        )  # fmt: skip
        assert "$372.16" in price(client, email=client_of_office.email)
        send(client, email=client_of_office.email)
        assert PlacedOrder.objects.get().shown_total == Decimal("372.16")

    @pytest.mark.parametrize("missing", ["street", "town", "name", "email", "phone", "package", "area", "levels"])
    def test_what_is_missing_is_asked_for_and_nothing_typed_is_lost(self, client, page_open, missing):
        answer = send(client, **{missing: ""})
        page = answer.content.decode()
        assert "This field is required" in page
        assert "Beware of the goat." in page
        assert not Shoot.objects.exists()

    def test_a_wrong_email_or_unit_is_refused(self, client, page_open):
        assert "valid email" in send(client, email="jun(at)abe").content.decode()
        assert "Select a valid choice" in send(client, area_unit="acre").content.decode()
        assert "Select a valid choice" in send(client, package="castle").content.decode()
        assert "Select a valid choice" in send(client, add_ons=["moat"]).content.decode()
        assert not Shoot.objects.exists()

    def test_what_a_program_fills_in_is_dropped_without_a_word(self, client, page_open):
        answer = send(client, website="https://spam.example")
        assert answer.url == reverse("billing:order-thanks")
        assert not Shoot.objects.exists()
        assert not Client.objects.exists()

    def test_sent_twice_it_counts_once(self, client, page_open):
        key = str(uuid4())
        answers = [send(client, once=key) for _time in range(2)]
        assert [answer.url for answer in answers] == [reverse("billing:order-thanks")] * 2
        assert Shoot.objects.count() == 1
        assert Client.objects.count() == 1

    def test_one_network_orders_ten_times_an_hour(self, client, page_open):
        answers = [send(client).status_code for _time in range(11)]
        assert answers == [302] * 10 + [429]
        assert Shoot.objects.count() == 10

    def test_prices_have_a_limit_too(self, client, page_open):
        codes = [client.post(reverse("billing:order-price"), HOUSE).status_code for _time in range(241)]
        assert codes == [200] * 240 + [429]

    def test_the_order_is_refused_without_its_token(self, page_open):
        from django.test import Client as Browser

        strict = Browser(enforce_csrf_checks=True)
        assert send(strict).status_code == 403


class TestClosed:
    @pytest.mark.parametrize("name", ["order", "order-thanks"])
    def test_closed_by_the_owner_it_is_not_there(self, client, office, rate_card, name):
        answer = client.get(reverse(f"billing:{name}"))
        assert answer.status_code == 404
        assert "Orders are closed here" in answer.content.decode()

    def test_closed_it_takes_no_order_and_tells_no_price(self, client, office, rate_card):
        RateCard.objects.update(starts_on=date(2020, 1, 1))
        assert send(client).status_code == 404
        assert client.post(reverse("billing:order-price"), HOUSE).status_code == 404
        assert not Property.objects.exists()

    def test_without_a_card_it_is_closed_too(self, client, office):
        Office.objects.update(order_page_open=True)
        assert client.get(reverse("billing:order")).status_code == 404

    def test_with_nothing_to_offer_it_is_closed_too(self, client, page_open, package):
        package.offered = False
        package.save()
        assert client.get(reverse("billing:order")).status_code == 404

    def test_the_browser_may_fill_in_who_the_visitor_is(self, client, page_open):
        # WCAG 2.2, 1.3.5 Identify Input Purpose: the tokens of its section 7
        page = client.get(reverse("billing:order")).content.decode()
        assert all(f'autocomplete="{token}"' in page for token in ("name", "organization", "email", "tel"))

    def test_open_it_needs_no_account(self, client, page_open):
        page = client.get(reverse("billing:order")).content.decode()
        assert "Order a visit" in page
        assert 'class="honey" aria-hidden="true"' in page
