"""Writing a rate card on its page: every figure kept, every fault beside its field, prices while typing."""

import json
from datetime import date
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from billing.actions.card_edits import change_card, follow_card
from billing.actions.pricing import local_day
from billing.actions.rate_cards import card_json, card_of
from billing.forms.cards import CardForms, typed_card, with_row_added, with_row_removed
from billing.models import RateCard
from jobs.models import Covers, Package
from office.errors import Refused, WrongState
from office.models import Event
from tests.billing.conftest import make_rate_card
from tests.cast import NOW

pytestmark = pytest.mark.django_db


@pytest.fixture
def plan(office):
    """A package that the card does not have."""
    return Package.objects.create(code="plan", name="Floor plan only", covers=Covers.PLAN, order=2)


def stored(number=3):
    return RateCard.objects.with_rows().get(number=number)


@pytest.fixture
def typed(rate_card, plan):
    """The stored card as somebody would have typed it."""
    return typed_card(card_json(stored(), date(2027, 1, 1)), "Spring", None)


def send(browser, name, *args, data, **changes):
    fields = {**data.dict(), "once": str(uuid4()), **changes}
    return browser.post(reverse(f"billing:{name}", args=args), fields)


def fault_beside(answer, field_id):
    """The text of the first fault shown with a field."""
    page = answer.content.decode()
    assert f'id="{field_id}"' in page, page
    after = page.split(f'id="{field_id}"', 1)[1]
    return after.split("<strong>", 1)[1].split("</strong>", 1)[0] if "invalid-feedback" in after[:900] else ""


class TestTyping:
    def test_a_stored_card_typed_again_is_the_same_card(self, rate_card, typed):
        forms = CardForms(typed)
        assert forms.is_valid()
        before = vars(card_of(stored(), date(2027, 1, 1)))
        assert vars(forms.card(3)) == {**before, "tax": ()}

    def test_a_row_added_is_blank_and_passed_over(self, typed):
        forms = CardForms(with_row_added(typed, "travel"))
        assert len(forms.travel.forms) == 3
        assert forms.is_valid()
        assert len(forms.travel.as_file()) == 2

    def test_a_row_removed_moves_the_others_up_whatever_their_order(self, typed):
        backwards = typed.copy()
        backwards.clear()
        for key in sorted(typed, reverse=True):
            backwards[key] = typed[key]
        for data in (typed, backwards):
            forms = CardForms(with_row_removed(with_row_added(data, "short_notice"), "short_notice", 0))
            assert forms.is_valid()
            assert forms.short_notice.as_file() == [{"under_hours": "48", "percent": "10"}]
            assert len(forms.short_notice.forms) == 2

    def test_rows_of_a_prefix_that_begins_alike_stay(self, typed, package):
        other = f"bands-{package.pk}1-0-up_to"
        typed[other] = "77"
        assert with_row_removed(typed, f"bands-{package.pk}", 0)[other] == "77"

    @pytest.mark.parametrize("row", ["travel:remove:99", "travel:remove:-1", "travel:remove:x", "nothing:add", "", ":"])
    def test_a_row_that_is_not_there_changes_nothing_typed(self, owner_browser, typed, row):
        answer = send(owner_browser, "rate-card-edit", 3, data=typed, row=row)
        assert answer.status_code == 200
        assert 'value="0.045"' in answer.content.decode()


class TestSaving:
    def test_a_changed_price_is_saved_and_the_rest_stays(self, owner_browser, typed, package):
        before = card_json(stored(), date(2027, 1, 1))
        answer = send(owner_browser, "rate-card-edit", 3, data=typed, **{f"package-{package.pk}-base": "199.50"})
        assert answer.status_code == 302
        after = card_json(stored(), date(2027, 1, 1))
        before["packages"]["both"]["base"] = "199.50"
        assert after == before
        assert stored().name == "Spring"
        assert Event.objects.get(verb="card-changed").text == "changed Rate card 3"

    def test_a_new_card_gets_the_next_number(self, owner_browser, typed):
        answer = send(owner_browser, "rate-card-new", data=typed)
        assert answer.url == "/rate-cards/4/"
        assert stored(4).packages.count() == 1

    def test_sent_twice_it_is_made_once(self, owner_browser, typed):
        key = str(uuid4())
        for _time in range(2):
            send(owner_browser, "rate-card-new", data=typed, once=key)
        assert RateCard.objects.count() == 2

    def test_a_package_ticked_off_leaves_the_card(self, owner_browser, typed, package):
        without = typed.copy()
        del without[f"package-{package.pk}-on_card"]
        send(owner_browser, "rate-card-edit", 3, data=without)
        assert not stored().packages.exists()

    def test_the_blank_page_has_the_office_s_currency_and_unit(self, owner_browser, office):
        page = owner_browser.get(reverse("billing:rate-card-new")).content.decode()
        assert 'value="USD"' in page
        assert 'value="0.01"' in page
        assert "nothing to price" in page


FAULTS = [
    ("bands-{pk}-0-per_unit", "-0.06", "greater than or equal to 0"),
    ("bands-{pk}-0-per_unit", "", "required"),
    ("bands-{pk}-0-per_unit", "0.0000001", "no more than 6 decimal places"),
    ("bands-{pk}-0-up_to", "", "Only the last row may be without an end"),
    ("bands-{pk}-1-up_to", "3000", "more than 3000 of the row before"),
    ("bands-{pk}-1-up_to", "2000", "more than 3000 of the row before"),
    ("bands-{pk}-1-up_to", "4000", "Leave the last one empty"),
    ("package-{pk}-base", "", "Expected a figure"),
    ("package-{pk}-base", "NaN", "Enter a number"),
    ("package-{pk}-base", "12,5x", "Enter a number"),
    ("package-{pk}-includes_levels", "1.5", "whole number"),
    ("travel-0-up_to_km", "", "Only the last row"),
    ("travel-0-fee", "-1", "greater than or equal to 0"),
    ("travel-1-beyond_km", "", "beside the other"),
    ("travel-1-per_km_beyond", "", "beside the other"),
    ("short_notice-1-under_hours", "24", "more than 24 of the row before"),
    ("short_notice-0-percent", "", "required"),
    ("client_volume-1-percent_off", "101", "less than or equal to 100"),
    ("client_volume-1-from_shoots", "5", "more than 5 of the row before"),
    ("client_volume-0-from_shoots", "0", "greater than or equal to 1"),
    ("starts_on", "31/12/2027x", "valid date"),
    ("currency", "XXQ", "ISO 4217"),
    ("round_net_to", "0.003", "multiple of 0.01 USD"),
    ("round_net_to", "0", "more than zero"),
    ("weekend_percent", "-1", "greater than or equal to 0"),
]


@pytest.mark.parametrize(("field", "value", "said"), FAULTS)
def test_a_fault_stands_beside_its_field_and_nothing_typed_is_lost(
    owner_browser, typed, package, field, value, said
):  # fmt: skip
    name = field.format(pk=package.pk)
    answer = send(owner_browser, "rate-card-edit", 3, data=typed, **{name: value})
    assert answer.status_code == 200
    assert said in fault_beside(answer, f"id_{name}")
    page = answer.content.decode()
    for figure in ("25.00", "Spring", "175.00", "35.00"):
        assert f'value="{figure}"' in page
    assert stored().name == ""


def test_several_faults_show_at_once(owner_browser, typed, package):
    faults = {f"package-{package.pk}-base": "x", "travel-0-fee": "x", "short_notice-0-percent": "x"}
    answer = send(owner_browser, "rate-card-edit", 3, data=typed, **faults)
    assert all(fault_beside(answer, f"id_{name}") for name in faults)


def test_an_add_on_needs_its_amount_and_a_least_only_by_area(owner_browser, typed, exterior):
    name = f"add-on-{exterior.pk}"
    answer = send(owner_browser, "rate-card-edit", 3, data=typed, **{f"{name}-amount": "", f"{name}-at_least": "5"})
    assert "Expected a figure" in fault_beside(answer, f"id_{name}-amount")
    assert "priced by area" in fault_beside(answer, f"id_{name}-at_least")


class TestRows:
    def test_the_fragment_has_one_more_row_with_what_was_typed(self, owner_browser, typed):
        answer = send(owner_browser, "rate-card-row", data=typed, row="travel:add", **{"travel-0-fee": "12.34"})
        page = answer.content.decode()
        assert 'name="travel-TOTAL_FORMS" value="3"' in page
        assert 'value="12.34"' in page
        assert "<html" not in page

    def test_without_scripts_the_whole_page_comes_back_unsaved(self, owner_browser, typed):
        answer = send(owner_browser, "rate-card-edit", 3, data=typed, row="travel:remove:0", minimum="177.77")
        page = answer.content.decode()
        assert 'name="travel-TOTAL_FORMS" value="1"' in page
        assert 'value="177.77"' in page
        assert stored().minimum == 175

    def test_a_kind_of_row_that_does_not_exist_is_refused(self, owner_browser, typed):
        assert send(owner_browser, "rate-card-row", data=typed, row="made-up:add").status_code == 400

    def test_rows_have_an_end(self, owner_browser, typed):
        answer = send(owner_browser, "rate-card-row", data=typed, row="travel:add", **{"travel-TOTAL_FORMS": "999999"})
        assert answer.status_code == 200
        assert len(answer.content) < 200_000


class TestSamples:
    def test_three_houses_are_priced_by_what_is_typed(self, owner_browser, typed, package):
        answer = send(owner_browser, "rate-card-sample", data=typed, **{f"package-{package.pk}-base": "200"})
        page = answer.content.decode()
        # a flat of 810 sq ft on one level: the base, and nothing over it
        assert "810" in page
        assert "$200.00" in page
        # 2,480 sq ft on two levels: 200 + 980 × 0.06 + 25 = 283.80; six shoots: 5 % off 283.80 is 14.19
        assert "$269.61" in page
        # 5,010 sq ft, four levels: 200 + 1,500 × 0.06 + 2,010 × 0.045 + 75 = 455.45; short notice 25 % 113.86,
        # weekend 15 % 68.32; 70 km: 35 + 10 × 0.90
        assert "$681.63" in page

    def test_half_typed_it_says_what_is_missing(self, owner_browser, typed, package):
        answer = send(owner_browser, "rate-card-sample", data=typed, **{f"package-{package.pk}-base": ""})
        assert "Base: Expected a figure" in answer.content.decode()

    def test_an_empty_card_invites(self, owner_browser, typed, package):
        without = typed.copy()
        del without[f"package-{package.pk}-on_card"]
        assert "Put a package on the card" in send(owner_browser, "rate-card-sample", data=without).content.decode()

    def test_what_the_card_has_no_price_for_is_said(self, owner_browser, typed):
        data = typed.copy()
        answer = send(
            owner_browser, "rate-card-sample", data=data,
            **{"travel-1-up_to_km": "30", "travel-1-per_km_beyond": "", "travel-1-beyond_km": ""},
        )  # fmt: skip
        assert "30 or less" in answer.content.decode()

    def test_nothing_is_saved_by_trying(self, owner_browser, typed, package):
        before = card_json(stored(), date(2027, 1, 1))
        send(owner_browser, "rate-card-sample", data=typed, **{f"package-{package.pk}-base": "1"})
        assert card_json(stored(), date(2027, 1, 1)) == before


class TestFrozen:
    def test_a_quoted_card_is_not_changed(self, offered, typed, owner_browser, by_owner):
        answer = send(owner_browser, "rate-card-edit", 3, data=typed)
        assert "has been quoted" in answer.content.decode()
        with pytest.raises(WrongState):
            change_card(
                rate_card=offered.card, card=card_of(stored(), date(2027, 1, 1)), name="x", client=None, by=by_owner,
                now=NOW,
            )  # fmt: skip
        assert stored().name == ""

    def test_its_page_offers_the_next_card_instead(self, offered, owner_browser):
        page = owner_browser.get(reverse("billing:rate-card", args=[3])).content.decode()
        assert "Make the next card" in page
        assert "Change the card" not in page
        answer = owner_browser.get(reverse("billing:rate-card-edit", args=[3]), follow=True)
        assert "has been quoted" in answer.content.decode()

    def test_the_next_card_is_a_copy_from_tomorrow(self, offered, owner_browser):
        send(owner_browser, "rate-card-next", 3, data=typed_card(card_json(stored(), date(2027, 1, 1)), "", None))
        old, new = card_json(stored(), date(2027, 1, 1)), card_json(stored(4), date(2027, 1, 1))
        tomorrow = max(local_day(timezone.now()), date(2027, 1, 1)).toordinal() + 1
        assert new == {**old, "number": 4, "from": date.fromordinal(tomorrow).isoformat()}
        assert stored(4).frozen_at is None

    def test_it_follows_a_card_that_has_not_begun_by_a_day(self, package, exterior, by_owner, office):
        later = make_rate_card(package, exterior, number=8, starts_on=date(2029, 5, 31), name="Later")
        following = follow_card(rate_card=later, by=by_owner, now=NOW)
        assert (following.number, following.starts_on, following.name) == (9, date(2029, 6, 1), "Later")

    def test_a_client_s_card_is_followed_for_the_same_client(self, package, exterior, by_owner, client_of_office):
        own = make_rate_card(package, exterior, number=8, client=client_of_office)
        assert follow_card(rate_card=own, by=by_owner, now=NOW).client == client_of_office


def test_in_force_today_is_marked_and_others_say_what_they_are(
    owner_browser, rate_card, package, exterior, client_of_office
):
    RateCard.objects.update(starts_on=date(2026, 1, 1))
    make_rate_card(package, exterior, number=4, starts_on=date(2025, 1, 1))
    make_rate_card(package, exterior, number=5, starts_on=date(2999, 1, 1))
    make_rate_card(package, exterior, number=6, starts_on=date(2026, 1, 1), client=client_of_office)
    page = owner_browser.get(reverse("billing:rate-cards")).content.decode()
    assert [page.count(word) for word in ("In force", "Followed", "To come", "Client's own")] == [1, 1, 1, 1]


class TestFiles:
    def test_out_and_in_again_is_the_same_card(self, owner_browser, rate_card, by_owner):
        from django.core.files.uploadedfile import SimpleUploadedFile

        answer = owner_browser.get(reverse("billing:rate-card-export", args=[3]))
        assert answer["Content-Disposition"] == 'attachment; filename="rate-card-3.json"'
        out = json.loads(answer.content)
        upload = SimpleUploadedFile("card.json", answer.content)
        answer = owner_browser.post(reverse("billing:rate-card-import"), {"card": upload, "once": str(uuid4())})
        assert answer.url == "/rate-cards/4/"
        again = json.loads(owner_browser.get(reverse("billing:rate-card-export", args=[4])).content)
        assert again == {**out, "number": 4}

    @pytest.mark.parametrize(
        ("change", "said"),
        [
            ({"weekend_percent": "-1"}, "card.json: weekend_percent: expected zero or more, found -1"),
            ({"travel": [{"up_to_km": None}]}, "card.json: travel[0].fee: expected this key"),
            ({"packages": {"castle": None}}, "packages.castle"),
            ({"add_ons": {"moat": {"fixed": "1"}}}, "add_ons.moat: expected a code that this office has: exterior"),
            ({"minimum": "1.00001"}, "minimum: Ensure that there are no more than 4 decimal places."),
            ({"minimum": "123456789012345678"}, "minimum: Ensure that there are no more than 14 digits"),
            ({"tax": [{"name": "Sales tax", "percent": "8"}]}, "tax[0].percent: expected 7.25"),
            ({"tax": [{"name": "N" * 61, "percent": "1"}]}, "tax[0].name: Ensure this value has at most 60 characters"),
            ({"tax": [{"name": "City tax", "percent": "1.00001"}]}, "tax[0].percent: Ensure that there are no more"),
            ({"tax": [{"name": "City tax", "percent": "1000"}]}, "tax[0].percent: Ensure that there are no more"),
            ({"tax": [{"name": "City tax", "percent": "1"}] * 2}, "tax[1].name: expected each tax once"),
            ({"more": 1}, "card.json: more: unknown key"),
        ],
    )
    def test_a_file_that_does_not_fit_is_refused_by_key_path(self, owner_browser, rate_card, change, said):
        from django.core.files.uploadedfile import SimpleUploadedFile
        from django.utils.html import escape

        data = {**card_json(stored(), date(2027, 1, 1)), **change}
        upload = SimpleUploadedFile("card.json", json.dumps(data).encode())
        answer = owner_browser.post(reverse("billing:rate-card-import"), {"card": upload, "once": str(uuid4())})
        assert escape(said) in answer.content.decode()
        assert RateCard.objects.count() == 1

    @pytest.mark.parametrize("content", [b"", b"{", b"\xff\xfe", b"[]", b"null", b"{" * 5000])
    def test_rubbish_is_refused(self, owner_browser, rate_card, content):
        from django.core.files.uploadedfile import SimpleUploadedFile

        upload = SimpleUploadedFile("card.json", content)
        answer = owner_browser.post(reverse("billing:rate-card-import"), {"card": upload, "once": str(uuid4())})
        assert answer.status_code == 200
        assert "invalid-feedback" in answer.content.decode()
        assert RateCard.objects.count() == 1

    def test_rows_in_an_unusual_order_keep_it(self, rate_card, by_owner):
        from billing.actions.card_files import import_card

        data = card_json(stored(), date(2027, 1, 1))
        data["short_notice"].reverse()
        data["travel"].reverse()
        card = import_card(text=json.dumps(data), source="x", by=by_owner, now=NOW)
        again = card_json(stored(card.number), date(2027, 1, 1))
        assert (again["short_notice"], again["travel"]) == (data["short_notice"], data["travel"])

    def test_a_tax_that_the_office_lacks_comes_with_the_card(self, rate_card, by_owner):
        from billing.actions.card_files import import_card
        from billing.models import TaxRate

        data = card_json(stored(), date(2027, 1, 1)) | {"tax": [{"name": "City tax", "percent": "1"}]}
        import_card(text=json.dumps(data), source="x", by=by_owner, now=NOW)
        assert [str(rate) for rate in TaxRate.objects.on(date(2027, 1, 1))] == ["City tax 1 %", "Sales tax 7.25 %"]

    def test_a_tax_that_begins_later_is_not_set_against(self, rate_card, by_owner):
        from billing.actions.card_files import import_card
        from billing.models import TaxRate

        TaxRate.objects.create(name="City tax", percent=2, starts_on=date(2028, 1, 1))
        data = card_json(stored(), date(2027, 1, 1)) | {"tax": [{"name": "City tax", "percent": "1"}]}
        with pytest.raises(Refused, match=r"^tax\[0\]: City tax 2 %, from 2028-01-01, holds"):
            import_card(text=json.dumps(data), source="x", by=by_owner, now=NOW)
        assert RateCard.objects.count() == 1
