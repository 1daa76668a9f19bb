"""Past jobs under another card: sums to the cent, by every grouping, and for whom it changes."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from billing.actions.rate_cards import card_of
from billing.actions.repricing import reprice_past
from billing.models import CardPackage, CardTravel, Quote, QuoteState, RateCard
from billing.rules.card import job_from_json
from billing.rules.pricing import price
from billing.rules.revenue import Earned, band_of, by_group, in_all, more_and_less
from jobs.models import Client, Covers, Package, Shoot
from tests.billing.conftest import make_rate_card
from tests.cast import NOW

pytestmark = pytest.mark.django_db
JOB = {
    "package": "both", "area": "2450", "area_unit": "sqft", "levels": 3, "add_ons": [], "distance_km": "0",
    "hours_notice": "200", "starts_at": "2027-02-03T09:00:00-06:00", "shoots_last_90_days": 0,
}  # fmt: skip
PERIOD = {"first_day": date(2027, 2, 1), "last_day": date(2027, 2, 28)}


@pytest.fixture
def dearer(package, exterior, rate_card):
    """The next card, not begun: base 200 instead of 180, area 0.05 instead of 0.06 up to 3,000."""
    card = make_rate_card(package, exterior, number=4, starts_on=date(2028, 1, 1))
    row = CardPackage.objects.get(card=card)
    row.base = 200
    row.save()
    row.bands.filter(up_to=3000).update(per_unit=Decimal("0.05"))
    return card


@pytest.fixture
def accept(rate_card, client_of_office, house, package):
    """Make an accepted quote of a job, priced under the old card."""

    def made(answered_at=datetime(2027, 2, 10, tzinfo=UTC), client=client_of_office, currency="USD", **job):
        number = Quote.objects.count() + 1
        shoot = Shoot.objects.create(
            number=f"S-{number}", client=client, property=house, package=package, ordered_at=NOW
        )  # fmt: skip
        ordered = {**JOB, **job}
        card = card_of(RateCard.objects.with_rows().get(number=3), date(2027, 1, 1))
        priced = price(card, job_from_json(ordered))
        return Quote.objects.create(
            number=f"Q-{number}", shoot=shoot, client=client, card=rate_card, state=QuoteState.ACCEPTED,
            offered_at=NOW, valid_until=NOW, ordered=ordered, currency=currency, net=priced.net, total=priced.total,
            answered_at=answered_at,
        )  # fmt: skip

    return made


def rows(revenues):
    return [(row.group, row.jobs, row.then, row.now) for row in revenues]


def test_the_change_in_all(accept, dearer):
    accept()  # 287.00 then; 200 + 950 × 0.05 + 50 = 297.50 now
    accept(area="1500", levels=1)  # 180.00 then, 200.00 now
    found = reprice_past(rate_card=dearer, **PERIOD)
    assert rows([found.everything]) == [("everything", 2, Decimal("467.00"), Decimal("497.50"))]
    assert found.everything.change == Decimal("30.50")


def test_every_job_is_priced_as_one_by_one(accept, dearer):
    for area in range(800, 6000, 431):
        accept(area=str(area), levels=1 + area % 4, hours_notice=str(area % 60), distance_km=str(area % 90))
    card = card_of(RateCard.objects.with_rows().get(number=4), date(2027, 1, 1))
    one_by_one = sum(price(card, job_from_json(quote.ordered)).net for quote in Quote.objects.all())
    assert reprice_past(rate_card=dearer, **PERIOD).everything.now == one_by_one


def test_groups_by_area_band_of_the_new_card_levels_and_package(accept, dearer):
    accept(area="3000")
    accept(area="3000.01", levels=1)
    accept(area="929.03", area_unit="m2")  # 10,000 sq ft
    found = reprice_past(rate_card=dearer, **PERIOD)
    assert [(row.group, row.jobs) for row in found.areas] == [(Decimal(3000), 1), (None, 2)]
    assert [(row.group, row.jobs) for row in found.levels] == [(1, 1), (3, 2)]
    assert [(row.group, row.jobs) for row in found.packages] == [("both", 3)]


def test_who_pays_more_and_who_less(accept, dearer, client_of_office):
    other = Client.objects.create(name="Iva Sand", email="iva@example.org")
    accept(area="1500", levels=1)  # 20.00 more
    accept(area="3000", levels=1, client=other)  # 270.00 then; 200 + 75 = 275.00: 5.00 more
    accept(area="3000", levels=1, client=other)
    found = reprice_past(rate_card=dearer, **PERIOD)
    assert [(found.names[row.group], row.change) for row in found.more] == [
        ("Odile Marchetti, Marchetti Homes", Decimal("20.00")), ("Iva Sand", Decimal("10.00")),
    ]  # fmt: skip
    assert found.less == []


def test_days_are_the_office_s_and_both_count(accept, dearer):
    accept(answered_at=datetime(2027, 2, 1, 5, 59, tzinfo=UTC))  # still January in Chicago
    accept(answered_at=datetime(2027, 2, 1, 6, 0, tzinfo=UTC))
    accept(answered_at=datetime(2027, 3, 1, 5, 59, tzinfo=UTC))
    accept(answered_at=datetime(2027, 3, 1, 6, 0, tzinfo=UTC))
    assert reprice_past(rate_card=dearer, **PERIOD).everything.jobs == 2


def test_only_what_was_accepted_counts(accept, dearer):
    quote = accept()
    for state in (QuoteState.OFFERED, QuoteState.DECLINED, QuoteState.LAPSED, QuoteState.WITHDRAWN):
        Quote.objects.filter(pk=quote.pk).update(state=state)
        assert reprice_past(rate_card=dearer, **PERIOD).everything.jobs == 0


def test_what_the_card_cannot_price_is_left_out_and_counted(accept, dearer):
    accept()
    Package.objects.create(code="plan", name="Floor plan only", covers=Covers.PLAN)
    odd = accept()
    Quote.objects.filter(pk=odd.pk).update(ordered={**JOB, "package": "plan"})
    odd = accept()
    Quote.objects.filter(pk=odd.pk).update(ordered={**JOB, "add_ons": [{"code": "moat", "quantity": 1}]})
    accept(distance_km="80")
    accept(currency="EUR")
    CardTravel.objects.filter(card=dearer, up_to_km=None).delete()
    found = reprice_past(rate_card=dearer, **PERIOD)
    assert found.everything.jobs == 1
    assert found.left_out == {
        "the card has no package plan": 1,
        "the card has no add-on moat": 1,
        "farther than the card's travel rows reach": 1,
        "quoted in another currency": 1,
    }


def test_the_same_card_changes_nothing(accept, rate_card):
    accept()
    accept(area="4000", distance_km="70", hours_notice="3", starts_at="2027-02-06T09:00:00-06:00")
    assert reprice_past(rate_card=rate_card, **PERIOD).everything.change == 0


class TestPage:
    def ask(self, browser, card, **changes):
        query = {"card": card.pk, "first_day": "2027-02-01", "last_day": "2027-02-28", **changes}
        return " ".join(browser.get(reverse("billing:reprice"), query).content.decode().split())

    def test_it_starts_with_the_last_year_and_the_card_asked_for(self, owner_browser, rate_card):
        page = owner_browser.get(reverse("billing:reprice"), {"card": rate_card.pk}).content.decode()
        assert f'<option value="{rate_card.pk}" selected>' in page
        assert "No quote accepted" not in page

    def test_tables_and_drawing_say_the_same(self, owner_browser, accept, dearer):
        accept()
        page = self.ask(owner_browser, dearer)
        assert "$10.50 more" in page
        assert '<svg role="img" aria-labelledby="chart-title chart-text"' in page
        assert "Tour and floor plan: then $287.00, by this card $297.50." in page
        assert "up to 3,000 sq ft" in page
        assert "Odile Marchetti, Marchetti Homes" in page

    def test_a_house_beyond_every_band_is_said_to_be(self, owner_browser, accept, dearer):
        accept(area="4000")
        page = self.ask(owner_browser, dearer)
        assert "over 3,000 sq ft" in page
        assert "any area" not in page

    @pytest.mark.parametrize("period", [{"first_day": "0001-01-01"}, {"last_day": "9999-12-31"}])
    def test_a_period_beyond_all_calendars_is_refused(self, owner_browser, dearer, period):
        assert "Ensure this value is" in self.ask(owner_browser, dearer, **period)

    def test_an_empty_period_says_so(self, owner_browser, accept, dearer):
        accept()
        page = self.ask(owner_browser, dearer, first_day="2020-01-01", last_day="2020-01-31")
        assert "No quote accepted in this period" in page

    def test_a_period_backwards_is_refused_beside_its_field(self, owner_browser, dearer):
        assert "not before the first" in self.ask(owner_browser, dearer, last_day="2027-01-01")

    def test_it_asks_the_same_for_more_jobs(self, owner_browser, accept, dearer, django_assert_max_num_queries):
        accept()
        with django_assert_max_num_queries(30) as one:
            self.ask(owner_browser, dearer)
        for _time in range(8):
            accept()
        with django_assert_max_num_queries(30) as nine:
            self.ask(owner_browser, dearer)
        assert len(nine) == len(one)


MONEY = st.decimals(0, 10_000, places=2)
JOBS = st.lists(st.tuples(MONEY, MONEY, st.sampled_from("abc")), max_size=30)


@given(JOBS)
def test_groups_add_up_to_the_whole(jobs):
    earned = [Earned(then, now) for then, now, _group in jobs]
    groups = by_group(earned, [group for _then, _now, group in jobs])
    whole = in_all(earned)
    assert sum(row.then for row in groups) == whole.then
    assert sum(row.now for row in groups) == whole.now
    assert sum(row.jobs for row in groups) == whole.jobs == len(jobs)
    more, less = more_and_less(groups, 3)
    assert sum(row.change for row in [*more, *less]) == whole.change
    assert [row.change for row in more] == sorted((row.change for row in more), reverse=True)


@given(st.decimals(0, 9000, places=2), st.sets(st.integers(1, 9000), max_size=5))
def test_a_band_is_the_first_whose_end_is_not_exceeded(area, ends):
    rising = sorted(map(Decimal, ends))
    found = band_of(area, rising)
    assert found == next((end for end in rising if area <= end), None)


def test_a_drawing_of_nothing_has_no_length(owner_browser, accept, dearer):
    CardPackage.objects.update(base=0, per_extra_level=0)
    RateCard.objects.update(minimum=0)
    quote = accept(area="1000", levels=1)
    assert quote.net == 0
    page = TestPage().ask(owner_browser, dearer)
    assert 'width="0"' in page


def test_the_period_may_be_one_day(accept, dearer):
    accept(answered_at=datetime(2027, 2, 10, 12, tzinfo=UTC))
    day = date(2027, 2, 10)
    assert reprice_past(rate_card=dearer, first_day=day, last_day=day).everything.jobs == 1
    before = day - timedelta(days=1)
    assert reprice_past(rate_card=dearer, first_day=before, last_day=before).everything.jobs == 0
