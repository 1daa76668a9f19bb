"""Estimates of minutes and stations: the trade's figures first, then the office's own."""

from decimal import Decimal
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from jobs.rules.estimate import (
    LEAST_MINUTES,
    CapturedVisit,
    Coverage,
    Visit,
    coverage,
    replayed,
    trade_estimator,
)

SQFT_1000 = Decimal("92.90304")


def visit(**changes: Any) -> Visit:
    facts: dict[str, Any] = {
        "area_m2": 2 * SQFT_1000, "levels": 2, "closets": 5, "baths": 2, "garage": True, "package": "both", "crew": 1,
    }  # fmt: skip
    return Visit(**(facts | changes))


visits = st.builds(
    Visit,
    area_m2=st.decimals(1, 2000, places=2),
    levels=st.integers(1, 6),
    closets=st.integers(0, 30),
    baths=st.integers(0, 10),
    garage=st.booleans(),
    package=st.sampled_from(["tour", "plan", "both"]),
    crew=st.sampled_from([1, 2]),
)
captured = st.builds(
    CapturedVisit, visit=visits, minutes=st.integers(1, 1000), stations=st.none() | st.integers(1, 500)
)


def median(one: Visit) -> int:
    return trade_estimator().estimate(one).minutes.p50


@pytest.mark.parametrize(("crew", "least", "most"), [(1, 20, 35), (2, 12, 20)])
def test_before_any_shoot_the_trade_is_believed(crew: int, least: int, most: int) -> None:
    # common practice, no source: 20–35 min per 1,000 sq ft alone, 12–20 for a pair, 10–15 to set up
    plain = visit(package="tour", levels=1, crew=crew)
    assert 10 + 2 * least < median(plain) < 15 + 2 * most


def test_stations_lie_between_the_trade_spacings() -> None:
    # common practice, no source: stations 1.5–2.5 m apart, so one on 2.25 to 6.25 m²
    area = 2 * SQFT_1000
    stations = trade_estimator().estimate(visit(package="tour", levels=1)).stations
    assert float(area) / 6.25 < stations.p50 < float(area) / 2.25


@given(visits)
def test_a_pair_is_quicker_and_sets_as_many_stations(one: Visit) -> None:
    facts = {name: getattr(one, name) for name in ("area_m2", "levels", "closets", "baths", "garage", "package")}
    alone, pair = (trade_estimator().estimate(Visit(**facts, crew=crew)) for crew in (1, 2))
    assert pair.minutes.p50 <= alone.minutes.p50
    assert pair.stations == alone.stations


@given(visits)
def test_a_plan_visits_each_nook_and_both_needs_pairs(one: Visit) -> None:
    facts = {name: getattr(one, name) for name in ("area_m2", "levels", "closets", "baths", "garage", "crew")}
    tour, plan, both = (trade_estimator().estimate(Visit(**facts, package=code)) for code in ("tour", "plan", "both"))
    assert tour.minutes.p50 <= plan.minutes.p50 <= both.minutes.p50
    assert tour.stations.p50 <= plan.stations.p50 <= both.stations.p50
    if one.closets + one.baths >= 2:
        assert tour.stations.p50 < plan.stations.p50 < both.stations.p50


@given(st.lists(captured, max_size=8), visits)
@settings(max_examples=100, deadline=None)
def test_no_estimate_is_absurd_whatever_was_captured(past: list[CapturedVisit], one: Visit) -> None:
    found = trade_estimator().after(past).estimate(one)
    assert LEAST_MINUTES <= found.minutes.p50 <= found.minutes.p80
    assert 1 <= found.stations.p50 <= found.stations.p80
    assert found.learned_from == len(past)


@given(st.lists(captured, max_size=8), visits)
@settings(max_examples=100, deadline=None)
def test_drivers_add_up_to_the_median(past: list[CapturedVisit], one: Visit) -> None:
    found = trade_estimator().after(past).estimate(one)
    for part in (found.minutes, found.stations):
        assert float(sum(driver.share for driver in part.drivers)) == pytest.approx(part.p50, abs=1.0)
        assert list(part.drivers) == sorted(part.drivers, key=lambda driver: -abs(driver.share))


def test_drivers_name_what_the_visit_has_and_nothing_else() -> None:
    drivers = trade_estimator().estimate(visit(package="tour", levels=1, crew=2)).minutes.drivers
    assert {driver.name for driver in drivers} == {"set-up", "area"}
    drivers = trade_estimator().estimate(visit()).minutes.drivers
    assert [driver.name for driver in drivers[:2]] == ["area", "working alone"]
    assert {"closets", "baths", "garage", "pairs", "further levels"} <= {driver.name for driver in drivers}


def test_the_floor_is_named_where_it_holds() -> None:
    tiny = visit(package="tour", levels=1, area_m2=Decimal(1))
    found = trade_estimator().after([CapturedVisit(visit=tiny, minutes=1)] * 200).estimate(tiny)
    assert found.minutes.p50 == LEAST_MINUTES
    assert "least of any visit" in {driver.name for driver in found.minutes.drivers}


def made(count: int, seed: int, alone: float, pair: float) -> list[CapturedVisit]:
    """Visits of an office whose own pace is known, with the noise that the model allows for."""
    draw, past = np.random.default_rng(seed), []
    for _ in range(count):
        size = float(np.exp(draw.normal(0.6, 0.5)))
        one = visit(
            area_m2=Decimal(round(size * float(SQFT_1000), 2)), levels=int(draw.integers(1, 4)),
            closets=int(draw.integers(1, 9)), baths=int(draw.integers(1, 4)), garage=bool(draw.integers(0, 2)),
            package=str(draw.choice(["tour", "plan", "both"])), crew=int(draw.integers(1, 3)),
        )  # fmt: skip
        took = 13 + (alone if one.crew == 1 else pair) * size + 4 * (one.levels - 1) + one.pairs
        past.append(CapturedVisit(visit=one, minutes=max(5, round(took + draw.normal(0, 5) * size**0.5))))
    return past


def test_the_office_s_own_pace_is_learned() -> None:
    estimator = trade_estimator().after(made(150, 3, alone=34, pair=25))
    for crew, pace in ((1, 34), (2, 25)):
        plain = visit(package="tour", levels=1, crew=crew, area_m2=3 * SQFT_1000)
        truth = 13 + 3 * pace
        assert abs(estimator.estimate(plain).minutes.p50 - truth) < 6 < abs(median(plain) - truth)


def test_a_slow_office_that_never_sent_a_pair_expects_more_of_a_pair_too() -> None:
    alone = [past for past in made(200, 5, alone=40, pair=0) if past.visit.crew == 1]
    pair = visit(package="tour", levels=1, crew=2, area_m2=3 * SQFT_1000)
    assert trade_estimator().after(alone).estimate(pair).minutes.p50 > median(pair)


def test_certainty_grows_with_captured_visits() -> None:
    few, many = (trade_estimator().after(made(count, 9, 27, 16)).estimate(visit()).minutes for count in (3, 200))
    assert many.p80 - many.p50 < few.p80 - few.p50


def test_four_in_five_visits_stay_within_their_p80() -> None:
    # each visit is estimated from those before it; 400 draws of 0.8 lie within 0.8 ± 0.06 in all but 1 of 300 cases
    found = replayed(made(400, 21, alone=30, pair=19))
    assert found.visits == 400
    assert 74 <= found.percent <= 86


def test_coverage_counts_a_visit_that_took_exactly_its_p80() -> None:
    assert coverage([(60, 60), (60, 61), (90, 45)]) == Coverage(visits=3, within=2)
    assert coverage([(60, 60), (60, 61), (90, 45)]).percent == Decimal("66.7")
    assert coverage([]).percent is None


def test_visits_without_a_station_count_teach_minutes_only() -> None:
    first = trade_estimator()
    after = first.after([CapturedVisit(visit=visit(), minutes=200)])
    assert after.estimate(visit()).stations == first.estimate(visit()).stations
    assert after.estimate(visit()).minutes.p50 > first.estimate(visit()).minutes.p50


@pytest.mark.parametrize(
    ("key", "wrong"),
    [
        ("area_m2", Decimal(0)), ("area_m2", Decimal(-5)), ("area_m2", Decimal("NaN")), ("area_m2", Decimal("inf")),
        ("levels", 0), ("closets", -1), ("baths", -1), ("crew", 0), ("crew", 3), ("package", "virtual"),
    ],
)  # fmt: skip
def test_a_visit_that_cannot_be_is_refused(key: str, wrong: object) -> None:
    with pytest.raises(ValidationError):
        visit(**{key: wrong})
