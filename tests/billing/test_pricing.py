"""The price of one job: every line at its boundaries, and what holds for all cards and jobs."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from billing.rules.card import card_from_json, card_to_json, job_from_json, job_to_json
from billing.rules.pricing import NotOnCard, price
from office.rules.money import smallest
from office.rules.units import AreaUnit
from tests.billing.cards_and_jobs import CARD, JOB, card, cards, job, jobs, package

D = Decimal
CLOSED_TRAVEL = [{"up_to_km": "25", "fee": "10"}, {"up_to_km": "60", "fee": "35"}]


def amounts(priced) -> dict[str, str]:
    """Amounts by code; two area bands are joined by a plus."""
    found: dict[str, str] = {}
    for line in priced.lines:
        found[line.code] = f"{found[line.code]}+{line.amount}" if line.code in found else str(line.amount)
    return found


def reasons(priced) -> dict[str, str]:
    return {line.code: line.why for line in priced.lines}


def test_a_saturday_at_short_notice_line_by_line():
    priced = price(card_from_json(CARD), job_from_json(JOB))
    assert [(line.code, str(line.quantity), str(line.unit_price), str(line.amount)) for line in priced.lines] == [
        ("package", "1", "180.00", "180.00"),
        ("area", "950", "0.0600", "57.00"),
        ("levels", "2", "25.00", "50.00"),
        ("exterior", "1", "60.00", "60.00"),
        ("short_notice", "1", "86.75", "86.75"),  # 25 % of 347.00
        ("weekend", "1", "52.05", "52.05"),  # 15 % of 347.00, not of the short notice
        ("volume", "1", "-24.29", "-24.29"),  # 5 % of 485.80 is 24.29
        ("travel", "1", "35.00", "35.00"),
    ]
    assert (priced.card, priced.currency) == (3, "USD")
    assert (priced.net, priced.total) == (D("496.51"), D("532.51"))
    assert [(tax.name, tax.base, tax.amount) for tax in priced.taxes] == [("Sales tax", D("496.51"), D("36.00"))]


def test_each_line_says_why():
    ordered = [
        {"code": "exterior", "quantity": 2},
        {"code": "area_sheet", "quantity": 1},
        {"code": "staging_pass", "quantity": 1},
    ]
    priced = price(card(round_net_to="0.05"), job_from_json(JOB | {"add_ons": ordered, "distance_km": "81.4"}))
    assert reasons(priced) == {
        "package": "The base price, 1,500 sq ft and 1 level included",
        "area": "950 sq ft over the 1,500 included, at $0.06",
        "levels": "2 levels over the 1 included, at $25.00",
        "exterior": "2 at $60.00",
        "area_sheet": "2,450 sq ft at $0.02",
        "staging_pass": "10% of $287.00 for package, area and levels",
        "short_notice": "20 hours' notice is under 24: 25% of $484.70 for house and add-ons",
        "weekend": "Saturday: 15% of $484.70 for house and add-ons",
        "volume": "6 shoots in the last 90 days, 5 or more: 5% of $678.59 off",
        "travel": "81.4 km, any distance: $35.00 and 21.4 km over 60, at $0.90",
        "rounding": "Brings the net to a multiple of $0.05",
    }


@pytest.mark.parametrize(
    ("area", "expected"),
    [
        ("0", None),
        ("1499", None),
        ("1500", None),
        ("1500.08", None),  # 0.0048 rounds to nothing, and a line of nothing is left out
        ("1500.09", "0.01"),
        ("3000", "90.00"),
        ("3000.1", "90.00"),
        ("3001", "90.00+0.05"),  # 0.045, half up
        ("4000", "90.00+45.00"),
    ],
)
def test_bands_are_graduated_over_the_whole_area(area, expected):
    assert amounts(price(card(), job(area=area))).get("area") == expected


@pytest.mark.parametrize(
    ("includes", "expected"),
    [("0", "180.00+45.00"), ("2999", "0.06+45.00"), ("3000", "45.00"), ("3500", "22.50"), ("4000", None)],
)
def test_charging_starts_at_the_area_included_in_whichever_band_that_is(includes, expected):
    rates = card(packages=package(includes_area=includes))
    assert amounts(price(rates, job(area="4000"))).get("area") == expected


def test_no_bands_no_charge_for_area():
    assert amounts(price(card(packages=package(area_bands=[])), job(area="9000"))) == {"package": "180.00"}


def test_a_job_in_the_other_unit_is_converted_exactly():
    metric = price(card(), job(area="227.612448", area_unit="m2"))  # 2450 × 0.09290304
    assert amounts(metric) == amounts(price(card(), job(area="2450")))


@pytest.mark.parametrize(
    ("card_unit", "rate", "area", "unit"),
    [
        ("sqft", "0.09290304", "0.005", "m2"),
        ("sqft", "0.09290304", "100.125", "m2"),
        ("m2", "1", "12.5", "sqft"),  # 1.161288 m²
    ],
)
def test_a_half_stays_a_half_through_the_conversion(card_unit, rate, area, unit):
    flat = {"base": "0", "includes_area": "0", "area_bands": [{"up_to": None, "per_unit": rate}]}
    rates = card(area_unit=card_unit, packages=package(**flat), minimum="0")
    exact = D(area) if unit == "m2" else D(area) * D("0.09290304")
    assert price(rates, job(area=area, area_unit=unit)).net == (exact + D("0.005")).quantize(D("0.01"), "ROUND_DOWN")


@pytest.mark.parametrize(("levels", "expected"), [(1, None), (2, "25.00"), (4, "75.00")])
def test_only_levels_beyond_those_included_are_charged(levels, expected):
    assert amounts(price(card(), job(levels=levels))).get("levels") == expected
    assert "levels" not in amounts(price(card(packages=package(includes_levels=9)), job(levels=levels)))


@pytest.mark.parametrize(
    ("code", "quantity", "area", "expected"),
    [
        ("exterior", 3, "1500", "180.00"),
        ("area_sheet", 1, "1249", "25.00"),  # 24.98 is under the least
        ("area_sheet", 1, "1250", "25.00"),
        ("area_sheet", 1, "1251", "25.02"),
        ("area_sheet", 2, "1251", "25.02"),
        ("staging_pass", 1, "1500", "18.00"),
        ("staging_pass", 2, "2000", "21.00"),  # 10 % of 180.00 and 30.00
    ],
)
def test_add_ons_each_under_its_own_code(code, quantity, area, expected):
    priced = price(card(), job(area=area, add_ons=[{"code": code, "quantity": quantity}]))
    assert amounts(priced)[code] == expected


def test_an_add_on_for_the_whole_house_says_that_it_is_charged_once():
    orders = [{"code": "area_sheet", "quantity": 2}, {"code": "staging_pass", "quantity": 3}]
    said = reasons(price(card(), job(area="1000", add_ons=orders)))
    assert said["area_sheet"] == (
        "1,000 sq ft at $0.02 is under $25.00, the least for this; charged once for the house, though 2 are ordered"
    )
    assert said["staging_pass"].endswith("; charged once for the house, though 3 are ordered")


def test_add_ons_keep_the_order_of_the_job_and_a_percentage_leaves_the_others_out():
    orders = [{"code": code, "quantity": 1} for code in ("staging_pass", "exterior", "area_sheet")]
    assert list(amounts(price(card(), job(add_ons=orders))).items()) == [
        ("package", "180.00"),
        ("staging_pass", "18.00"),
        ("exterior", "60.00"),
        ("area_sheet", "30.00"),
    ]


@pytest.mark.parametrize(
    ("hours", "expected"), [("0", "45.00"), ("23.99", "45.00"), ("24", "18.00"), ("47.9", "18.00"), ("48", None)]
)
def test_short_notice_is_the_first_row_with_more_hours_than_are_left(hours, expected):
    assert amounts(price(card(), job(hours_notice=hours))).get("short_notice") == expected


def test_short_notice_takes_the_rows_as_they_stand():
    rows = [{"under_hours": "48", "percent": "10"}, {"under_hours": "24", "percent": "25"}]
    assert amounts(price(card(short_notice=rows), job(hours_notice="1")))["short_notice"] == "18.00"


@pytest.mark.parametrize(
    ("starts_at", "weekend"),
    [
        ("2027-03-05T23:59:59-06:00", False),  # Saturday in UTC
        ("2027-03-06T00:00:00-06:00", True),
        ("2027-03-07T23:59:59-06:00", True),  # Monday in UTC
        ("2027-03-08T00:00:00+13:00", False),  # Sunday in UTC
        ("2027-03-05T23:00Z", False),
    ],
)
def test_the_weekend_is_that_of_the_offset_given(starts_at, weekend):
    found = amounts(price(card(), job(starts_at=starts_at)))
    assert found.get("weekend") == ("27.00" if weekend else None)


@pytest.mark.parametrize(
    ("least", "expected"), [("180", None), ("180.004", None), ("180.005", "0.01"), ("200", "20.00")]
)
def test_the_minimum_tops_up_what_comes_to_less(least, expected):
    assert amounts(price(card(minimum=least), job())).get("minimum") == expected


def test_travel_is_no_part_of_the_minimum_and_of_the_discount():
    found = amounts(price(card(minimum="200"), job(distance_km="26", shoots_last_90_days=5)))
    assert found == {"package": "180.00", "minimum": "20.00", "volume": "-10.00", "travel": "35.00"}


@pytest.mark.parametrize(
    ("shoots", "expected"), [(4, None), (5, "-9.00"), (14, "-9.00"), (15, "-18.00"), (400, "-18.00")]
)
def test_volume_is_the_best_row_reached(shoots, expected):
    for rows in (CARD["client_volume"], CARD["client_volume"][::-1]):
        assert amounts(price(card(client_volume=rows), job(shoots_last_90_days=shoots))).get("volume") == expected


def test_a_discount_of_half_a_cent_goes_away_from_zero():
    rates = card(packages=package(base="180.10"), client_volume=[{"from_shoots": 0, "percent_off": "5"}])
    assert amounts(price(rates, job()))["volume"] == "-9.01"  # 9.005


@pytest.mark.parametrize(
    ("km", "expected"),
    [("0", None), ("25", None), ("25.01", "35.00"), ("60", "35.00"), ("60.01", "35.01"), ("100", "71.00")],
)
def test_travel_is_the_first_row_that_reaches(km, expected):
    assert amounts(price(card(), job(distance_km=km))).get("travel") == expected


def test_the_fee_and_the_km_beyond_are_rounded_together():
    rows = [{"up_to_km": None, "fee": "10.004", "per_km_beyond": "0.001", "beyond_km": "10"}]
    assert amounts(price(card(travel=rows), job(distance_km="11")))["travel"] == "10.01"
    assert amounts(price(card(travel=rows), job(distance_km="9")))["travel"] == "10.00"


def test_a_card_without_travel_rows_charges_no_travel():
    assert "travel" not in amounts(price(card(travel=[]), job(distance_km="999")))


def test_a_distance_that_no_row_reaches_is_refused():
    assert amounts(price(card(travel=CLOSED_TRAVEL), job(distance_km="60")))["travel"] == "35.00"
    with pytest.raises(NotOnCard, match=r"^distance_km: expected 60 or less, .* found 60\.1$"):
        price(card(travel=CLOSED_TRAVEL), job(distance_km="60.1"))


def test_what_is_not_on_the_card_is_refused_by_name():
    with pytest.raises(NotOnCard, match=r"^package: expected one of both, found 'tour'$"):
        price(card(), job(package="tour"))
    orders = [{"code": "exterior", "quantity": 1}, {"code": "drone", "quantity": 1}]
    with pytest.raises(
        NotOnCard, match=r"^add_ons\[1\]\.code: expected one of exterior, area_sheet, staging_pass, found"
    ):
        price(card(), job(add_ons=orders))


@pytest.mark.parametrize(
    ("base", "step", "rounding", "net"),
    [
        ("180.02", "0.05", "-0.02", "180.00"),
        ("180.03", "0.05", "0.02", "180.05"),
        ("180.50", "1", "0.50", "181.00"),
        ("180.49", "1", "-0.49", "180.00"),
        ("180.25", "2.5", "-0.25", "180.00"),
        ("181.25", "2.5", "1.25", "182.50"),
        ("180.01", "0.005", None, "180.01"),  # a part of a cent: every net is a multiple already
        ("180.00", "1000", "-180.00", "0.00"),
    ],
)
def test_the_net_comes_to_a_multiple_of_the_step(base, step, rounding, net):
    priced = price(card(packages=package(base=base), round_net_to=step), job())
    assert (amounts(priced).get("rounding"), str(priced.net)) == (rounding, net)


@pytest.mark.parametrize(
    ("each", "per_line", "per_invoice"),
    [("33.33", "20.01", "20.00"), ("10.12", "6.06", "6.07")],  # common practice, no source: 20 % of three lines
)
def test_tax_is_rounded_once_or_line_by_line(each, per_line, per_invoice):
    changes = {
        "packages": package(base=each),
        "add_ons": {"one": {"fixed": each}, "two": {"fixed": each}},
        "minimum": "0",
        "tax": [{"name": "VAT", "percent": "20"}],
    }
    wanted = job(add_ons=[{"code": "one", "quantity": 1}, {"code": "two", "quantity": 1}])
    for mode, expected in (("line", per_line), ("invoice", per_invoice)):
        priced = price(card(**changes, tax_rounding=mode), wanted)
        assert [str(tax.amount) for tax in priced.taxes] == [expected]


def test_tax_by_line_counts_negative_lines_too():
    rates = card(
        tax_rounding="line",
        tax=[{"name": "T", "percent": "10"}],
        client_volume=[{"from_shoots": 0, "percent_off": "25"}],
    )
    priced = price(rates, job(area="1506"))  # 180.00, 0.36, and 25 % off: -45.09
    assert [str(tax.amount) for tax in priced.taxes] == ["13.53"]  # 18.00 + 0.04 - 4.51


def test_several_taxes_stand_on_the_net_each():
    rates = card(
        tax=[
            {"name": "State", "percent": "5"},
            {"name": "City", "percent": "0"},
            {"name": "Stadium", "percent": "1.125"},
        ]
    )
    priced = price(rates, job())
    assert [(tax.name, str(tax.base), str(tax.amount)) for tax in priced.taxes] == [
        ("State", "180.00", "9.00"),
        ("City", "180.00", "0.00"),
        ("Stadium", "180.00", "2.03"),  # 2.025
    ]
    assert priced.total == D("191.03")


def test_no_tax_no_tax_line():
    priced = price(card(tax=[]), job())
    assert (priced.taxes, priced.total) == ((), D("180.00"))


@pytest.mark.parametrize(
    ("currency", "step", "expected"),
    [
        ("JPY", "1", ["180", "3", "5", "14", "202"]),  # 3.03 for the area, 4.5 for short notice, 13.63 tax
        ("KWD", "0.001", ["180.000", "3.030", "4.576", "13.601", "201.207"]),  # 4.57575, 13.601435
    ],
)
def test_currencies_without_and_with_thousandths(currency, step, expected):
    notice = [{"under_hours": "24", "percent": "2.5"}]
    priced = price(
        card(currency=currency, round_net_to=step, short_notice=notice), job(area="1550.5", hours_notice="1")
    )
    assert [str(line.amount) for line in priced.lines] == expected[:3]
    assert [str(tax.amount) for tax in priced.taxes] == expected[3:4]
    assert str(priced.total) == expected[4]


def test_a_package_that_costs_nothing_is_still_the_first_line():
    rates = card(packages=package(base="0.00"), minimum="0")
    assert amounts(price(rates, job())) == {"package": "0.00"}


def test_the_largest_figures_that_a_file_can_hold_are_priced_exactly():
    huge = "9" * 18
    rates = card(packages=package(base=huge, per_extra_level=huge), weekend_percent=huge, minimum=huge)
    priced = price(rates, job(area=huge, levels=1_000_000, distance_km=huge, starts_at="2027-03-06T09:00:00Z"))
    assert sum((line.amount for line in priced.lines), D(0)) > D("1e39")
    assert amounts(priced)["levels"] == str(D(huge) * 999_999) + ".00"


@given(cards())
def test_a_card_survives_its_file(any_card):
    assert card_from_json(card_to_json(any_card)) == any_card


@given(jobs())
def test_a_job_survives_its_file(any_job):
    again = job_from_json(job_to_json(any_job))
    assert (again, again.starts_at.utcoffset()) == (any_job, any_job.starts_at.utcoffset())


@given(cards(), jobs())
def test_lines_sum_to_the_net_and_net_and_taxes_to_the_total(any_card, any_job):
    priced = price(any_card, any_job)
    coin = smallest(any_card.currency)
    assert sum((line.amount for line in priced.lines), D(0)) == priced.net
    assert priced.net + sum((tax.amount for tax in priced.taxes), D(0)) == priced.total
    assert all(line.amount % coin == 0 for line in priced.lines)
    assert priced.net % max(any_card.round_net_to, coin) == 0
    assert [line.code for line in priced.lines if line.amount == 0] in ([], ["package"])


@given(cards(), jobs(), st.decimals(0, 3000, places=2), st.integers(0, 3), st.decimals(0, 1))
@settings(max_examples=300)
def test_more_area_more_levels_or_less_notice_are_never_cheaper(any_card, any_job, area, levels, share):
    larger = replace(any_job, area=any_job.area + area)
    taller = replace(any_job, levels=any_job.levels + levels)
    sooner = replace(any_job, hours_notice=(any_job.hours_notice * share).quantize(D("0.0001")))
    before = price(any_card, any_job)
    for more in (larger, taller, sooner):
        after = price(any_card, more)
        assert after.net >= before.net
        # Tax rounded by line may lose a cent when the same net is spread over other lines.
        assert any_card.tax_rounding == "line" or after.total >= before.total


@given(cards(), jobs())
def test_the_unit_of_the_job_does_not_matter(any_card, any_job):
    metric = replace(any_job, area=any_job.area * D("0.09290304"), area_unit=AreaUnit.M2)
    imperial = replace(any_job, area_unit=AreaUnit.SQFT)
    ours, theirs = price(any_card, metric), price(any_card, imperial)
    assert amounts(ours) == amounts(theirs)
    assert ours.total == theirs.total
