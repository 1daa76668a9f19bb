"""Many jobs at once: to the last minor unit what `price` gives for each."""

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from billing.rules.card import AddOnOrder, NotOnCard
from billing.rules.job_columns import columns_of
from billing.rules.pricing import price
from billing.rules.reprice import reprice, repriced_to_json
from billing.rules.whole import ROOMY, between, exact_sum, part, peak, product, scaled, whole
from office.rules.money import half_up, minor_units
from tests.billing.cards_and_jobs import card, cards, job, jobs, package

D = Decimal
INTEGERS = st.lists(st.integers(-(10**6), 10**6) | st.integers(-(10**25), 10**25), max_size=6)


def in_minor_units(priced, currency: str) -> tuple[int, int, int]:
    net, total = (int(Fraction(amount) * 10 ** minor_units(currency)) for amount in (priced.net, priced.total))
    return net, total - net, total


def equal_to_one_by_one(rates, many) -> bool:
    repriced = reprice(rates, columns_of(many))
    rows = zip(repriced.net.tolist(), repriced.taxes.tolist(), repriced.total.tolist(), strict=True)
    return list(rows) == [in_minor_units(price(rates, each), rates.currency) for each in many]


@given(cards(), st.lists(jobs(), max_size=8))
@settings(max_examples=300, deadline=None)
def test_every_job_comes_to_what_it_comes_to_alone(any_card, many):
    assert equal_to_one_by_one(any_card, many)


@pytest.mark.parametrize("rounding", ["invoice", "line"])
def test_figures_too_large_for_64_bits_are_exact_too(rounding):
    huge = "9" * 18
    rates = card(
        packages=package(base=huge, per_extra_level=huge),
        add_ons={"x": {"percent": huge}, "y": {"per_unit_area": huge, "at_least": huge}, "z": {"fixed": huge}},
        travel=[{"up_to_km": None, "fee": huge, "per_km_beyond": huge, "beyond_km": "0.5"}],
        short_notice=[{"under_hours": huge, "percent": huge}],
        weekend_percent=huge,
        minimum=huge,
        round_net_to=huge,
        tax=[{"name": "T", "percent": huge}],
        tax_rounding=rounding,
    )
    orders = [{"code": code, "quantity": 1_000_000} for code in "xyz"]
    large = job(area=huge, levels=1_000_000, add_ons=orders, distance_km=huge, starts_at="2027-03-06T09:00:00Z")
    fine = job(area="0." + "1" * 17, area_unit="m2", shoots_last_90_days=5, hours_notice="0." + "1" * 17)
    assert equal_to_one_by_one(rates, [large, fine, job()])


def test_one_enormous_job_leaves_the_others_as_they_are():
    assert equal_to_one_by_one(card(), [job(area="1750.25"), job(area="9" * 18), job(area="150.5", area_unit="m2")])


def test_a_half_stays_a_half_through_the_conversion():
    flat = {"includes_area": "0", "area_bands": [{"up_to": None, "per_unit": "0.09290304"}]}
    metric = [job(area="0.005", area_unit="m2"), job(area="100.125", area_unit="m2"), job(area="7")]
    repriced = reprice(card(packages=package(**flat), tax=[]), columns_of(metric))
    assert repriced.net.tolist() == [18001, 18000 + 10013, 18000 + 65]


def test_no_jobs_come_to_nothing():
    nothing = columns_of([])
    assert repriced_to_json(reprice(card(), nothing), nothing, each=True) == {
        "jobs": 0, "net": "0.00", "taxes": "0.00", "total": "0.00", "by_package": {}, "per_job": []
    }  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "path", "found"),
    [
        ({"package": "tour"}, "package", "'tour'"),
        ({"add_ons": [{"code": "drone", "quantity": 1}]}, "add_ons", "'drone'"),
        ({"distance_km": "60.25"}, "distance_km", "60.25"),
    ],
)
def test_the_first_job_that_is_not_on_the_card_is_named(changes, path, found):
    rates = card(travel=[{"up_to_km": "60", "fee": "35"}])
    with pytest.raises(NotOnCard) as refusal:
        reprice(rates, columns_of([job(), job(**changes), job(), job(**changes)]))
    assert (refusal.value.path, refusal.value.row) == (path, 1)
    assert refusal.value.expected.endswith(f"found {found}")


def test_columns_keep_the_jobs_in_order():
    sheet = {"code": "area_sheet", "quantity": 3}
    many = [
        job(area="12.5", add_ons=[sheet]),
        job(area_unit="m2", starts_at="2027-03-06T00:30:00+13:00"),
        job(add_ons=[{"code": "exterior", "quantity": 2}, sheet]),
    ]
    columns = columns_of(many)
    assert (columns.area.digits.tolist(), columns.area.places) == ([125, 15000, 15000], 1)
    assert [columns.area_unit.values[code] for code in columns.area_unit.codes] == ["sqft", "m2", "sqft"]
    assert columns.weekend.tolist() == [False, True, False]
    ordered = {code: (each.rows.tolist(), each.quantity.tolist()) for code, each in columns.add_ons.items()}
    assert ordered == {"area_sheet": ([0, 2], [3, 3]), "exterior": ([2], [2])}


def test_one_instant_in_two_places_is_a_weekend_in_one():
    starts = ("2027-03-05T23:30:00-06:00", "2027-03-06T05:30:00+00:00", "2027-03-05T23:30:00-06:00")
    many = [job(starts_at=start) for start in starts]
    assert many[0].starts_at == many[1].starts_at
    assert columns_of(many).weekend.tolist() == [False, True, False]
    assert equal_to_one_by_one(card(), many)


@given(INTEGERS, st.fractions(0, 10**9, max_denominator=10**6))
def test_a_part_is_rounded_half_away_from_zero(values, ratio):
    def rounded_half_up(value: int) -> int:
        exact = abs(value) * ratio
        size = (exact + Fraction(1, 2)).__floor__()
        return size if value >= 0 else -size

    assert part(whole(values), ratio).tolist() == [rounded_half_up(value) for value in values]


@given(st.lists(st.integers(-(10**9), 10**9), max_size=6), st.decimals(0, 100, places=2))
def test_a_part_rounds_as_money_does(cents, percent):
    expected = [int(half_up(D(value) * percent / 100, D(1))) for value in cents]
    assert part(whole(cents), Fraction(percent) / 100).tolist() == expected


@given(INTEGERS, st.integers(0, 10**20))
def test_products_and_sums_are_exact_and_small_only_where_they_fit(values, factor):
    found = product(whole(values), whole([factor]))
    assert found.tolist() == [value * factor for value in values]
    assert (found.dtype == np.int64) == (peak(found) < ROOMY)
    assert exact_sum(whole(values)) == sum(values)


@given(st.lists(st.integers(0, 100), max_size=5), st.integers(0, 10**20), st.none() | st.integers(0, 10**20))
def test_between_is_what_lies_in_the_band(sizes, start, end):
    expected = [max(min(size, size if end is None else end) - start, 0) for size in sizes]
    assert between(whole(sizes), start, end).tolist() == expected


@given(st.lists(st.decimals(0, 10**6, places=3)), st.integers(3, 20))
def test_scaled_decimals_keep_their_value(values, places):
    column = scaled(values)
    assert [D(int(digits)).scaleb(-column.places) for digits in column.digits] == values
    assert [D(int(digits)).scaleb(-places) for digits in column.at(places)] == values


def test_orders_of_one_code_are_kept_apart_by_quantity():
    many = [job(add_ons=[{"code": "exterior", "quantity": count}]) for count in (1, 3, 1, 2)]
    ordered = columns_of(many).add_ons["exterior"]
    assert dict(zip(ordered.rows.tolist(), ordered.quantity.tolist(), strict=True)) == {0: 1, 1: 3, 2: 1, 3: 2}
    assert many[1].add_ons == (AddOnOrder(code="exterior", quantity=3),)
