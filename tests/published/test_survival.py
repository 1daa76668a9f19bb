"""The Kaplan–Meier estimate against published figures, statsmodels and scipy."""

import json
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from statsmodels.duration.survfunc import SurvfuncRight

from deliverables.rules.survival import exact_surviving, kaplan_meier, quantile

# Miller, Survival Analysis (1997): remission of acute myelogenous leukaemia, weeks; + where still in remission
MAINTAINED = [9, 13, -13, 18, 23, -28, 31, 34, -45, 48, -161]
NOT_MAINTAINED = [5, 5, 8, 8, 12, -16, 23, 27, 30, 33, 43, 45]
# Freireich et al., Blood 21(6), 1963, as worked in Kleinbaum and Klein, Survival Analysis: weeks on 6-MP
SIX_MP = [6, 6, 6, 7, 10, 13, 16, 22, 23, -6, -9, -10, -11, -17, -19, -20, -25, -32, -32, -34, -35]


def curve_of(marked: list[int]):
    weeks = np.array(marked)
    return kaplan_meier(np.abs(weeks), weeks > 0)


@pytest.mark.parametrize(
    ("weeks", "median"),
    [
        (MAINTAINED, 31),  # Miller (1997)
        (NOT_MAINTAINED, 23),  # Miller (1997)
        (SIX_MP, 23),  # from memory: Kleinbaum and Klein, ch. 2
    ],
)
def test_published_medians(weeks, median):
    assert quantile(curve_of(weeks), Fraction(1, 2)) == median


def test_published_estimates():
    # Miller (1997)
    np.testing.assert_allclose(
        curve_of(MAINTAINED).surviving, [0.909, 0.818, 0.716, 0.614, 0.491, 0.368, 0.184], atol=0.0005
    )
    # from memory: Kleinbaum and Klein, ch. 2, the 6-MP group
    np.testing.assert_allclose(
        curve_of(SIX_MP).surviving, [0.8571, 0.8067, 0.7529, 0.6902, 0.6275, 0.5378, 0.4482], atol=0.00006
    )


def test_the_check_set(checks):
    for group in json.loads((checks / "survival/kaplan_meier.json").read_text(encoding="utf-8")):
        curve = kaplan_meier(np.array(group["time"]), np.array(group["event"], dtype=bool))
        steps = group["expected"]["steps"]
        assert curve.times.tolist() == [step["time"] for step in steps]
        assert curve.at_risk.tolist() == [step["at_risk"] for step in steps]
        assert curve.events.tolist() == [step["events"] for step in steps]
        assert [f"{share:.6f}" for share in curve.surviving] == [step["surviving"] for step in steps]
        assert quantile(curve, Fraction(1, 2)) == group["published"]["median"]
        for percent in (25, 50, 75, 90):
            assert quantile(curve, Fraction(percent, 100)) == group["expected"][f"quantile_{percent}"]


WAITS = st.lists(st.tuples(st.integers(0, 40), st.booleans()), min_size=1, max_size=60)


@settings(max_examples=150, deadline=None)
@given(WAITS)
def test_every_step_agrees_with_statsmodels_and_scipy(waits):
    durations, came = np.array([wait for wait, _ in waits]), np.array([seen for _, seen in waits])
    curve = kaplan_meier(durations, came)
    if not came.any():
        assert curve.times.size == 0
        return
    theirs = SurvfuncRight(durations, came.astype(int))
    np.testing.assert_array_equal(curve.times, theirs.surv_times)
    np.testing.assert_array_equal(curve.at_risk, theirs.n_risk)
    np.testing.assert_allclose(curve.surviving, theirs.surv_prob, atol=1e-12)
    scipys = stats.ecdf(stats.CensoredData(uncensored=durations[came], right=durations[~came])).sf
    np.testing.assert_allclose(curve.surviving, scipys.evaluate(curve.times), atol=1e-12)


@settings(max_examples=150, deadline=None)
@given(WAITS, st.integers(0, 100))
def test_a_quantile_is_the_first_time_the_exact_estimate_is_low_enough(waits, percent):
    curve = kaplan_meier(np.array([wait for wait, _ in waits]), np.array([seen for _, seen in waits]))
    left = 1 - Fraction(percent, 100)
    low = [int(time) for step, time in enumerate(curve.times) if exact_surviving(curve, step) <= left]
    assert quantile(curve, Fraction(percent, 100)) == (low[0] if low else None)


@given(st.lists(st.integers(0, 1000), min_size=1, max_size=80))
def test_with_nothing_still_to_come_it_is_the_plain_share(waits):
    curve = kaplan_meier(np.array(waits), np.ones(len(waits), dtype=bool))
    for step, time in enumerate(curve.times):
        assert exact_surviving(curve, step) == Fraction(sum(wait > time for wait in waits), len(waits))


def test_a_share_that_floats_miss_by_a_hair_is_reached():
    # nine of ten came by 9: the estimate is 1/10 exactly, in floats a little more or less
    curve = kaplan_meier(np.arange(1, 11), np.ones(10, dtype=bool))
    assert quantile(curve, Fraction(9, 10)) == 9
    for size in range(2, 60):
        curve = kaplan_meier(np.arange(1, 10 * size + 1), np.ones(10 * size, dtype=bool))
        assert quantile(curve, Fraction(9, 10)) == 9 * size


def test_waits_below_zero_or_without_a_mark_are_refused():
    with pytest.raises(ValueError, match="zero or more"):
        kaplan_meier(np.array([-1]), np.array([True]))
    with pytest.raises(ValueError, match="as many"):
        kaplan_meier(np.array([1, 2]), np.array([True]))
