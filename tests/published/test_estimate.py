"""The regression under the estimates against published figures, a reference library and other ways to them."""

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from jobs.rules.bayes import Belief, belief_of, learned, predicted

Floats = NDArray[np.float64]


def knowing_nothing(columns: int) -> Belief:
    """The limit in which the conjugate answer is least squares: no precision, shape −k/2, rate 0."""
    return Belief(np.zeros(columns), np.zeros((columns, columns)), -columns / 2, 0.0)


@pytest.fixture(scope="module")
def stack_loss() -> tuple[Floats, Floats]:
    data = sm.datasets.stackloss.load_pandas()
    return sm.add_constant(data.exog).to_numpy(dtype=float), data.endog.to_numpy(dtype=float)


def test_without_a_prior_the_published_fit_is_found(stack_loss: tuple[Floats, Floats]) -> None:
    # Brownlee's stack loss data; from memory: the fit in R's documentation of `stackloss`, summary(lm(stack.loss ~ .))
    belief = learned(knowing_nothing(4), *stack_loss)
    assert belief.mean == pytest.approx([-39.9197, 0.7156, 1.2953, -0.1521], abs=5e-5)
    assert 2 * belief.shape == 17
    assert (belief.rate / belief.shape) ** 0.5 == pytest.approx(3.243, abs=5e-4)


@pytest.mark.parametrize("share", [0.1, 0.5, 0.8, 0.95])
def test_without_a_prior_a_prediction_is_that_of_least_squares(stack_loss: tuple[Floats, Floats], share: float) -> None:
    # statsmodels OLS: the end of the two-sided prediction interval that leaves 1 − share above it
    rows, outcomes = stack_loss
    new = np.array([[1.0, 62.0, 21.0, 86.0]])
    alpha = 2 * min(share, 1 - share)
    frame = sm.OLS(outcomes, rows).fit().get_prediction(new).summary_frame(alpha=alpha)
    expected = frame["obs_ci_lower" if share < 0.5 else "obs_ci_upper"][0]
    assert predicted(learned(knowing_nothing(4), rows, outcomes), new[0]).quantile(share) == pytest.approx(expected)


def drawn(seed: int, count: int) -> tuple[Belief, Floats, Floats]:
    draw = np.random.default_rng(seed)
    prior = belief_of(np.array([12.0, 27.0, 3.0]), np.array([2.0, 5.0, 1.5]), 7.0, 4.0)
    rows = np.column_stack([np.ones(count), draw.uniform(0.5, 5, count), draw.integers(0, 4, count)])
    return prior, rows, rows @ [14.0, 22.0, 4.0] + draw.normal(0, 6, count)


@given(st.integers(0, 2**32 - 1), st.integers(1, 40))
@settings(max_examples=50, deadline=None)
def test_coefficients_are_those_of_least_squares_with_the_prior_as_further_rows(seed: int, count: int) -> None:
    # Gelman and others, Bayesian Data Analysis, §14.8 (from memory): a prior is as good as further observations
    prior, rows, outcomes = drawn(seed, count)
    roots = np.sqrt(prior.precision)
    solved, *_ = np.linalg.lstsq(np.vstack([rows, roots]), np.concatenate([outcomes, roots @ prior.mean]), rcond=None)
    assert learned(prior, rows, outcomes).mean == pytest.approx(solved)


@given(st.integers(0, 2**32 - 1), st.integers(2, 40), st.data())
@settings(max_examples=50, deadline=None)
def test_learning_in_any_order_or_all_at_once_is_the_same(seed: int, count: int, data: st.DataObject) -> None:
    prior, rows, outcomes = drawn(seed, count)
    order, cut = data.draw(st.permutations(range(count))), data.draw(st.integers(0, count))
    once = learned(prior, rows, outcomes)
    first, last = list(order[:cut]), list(order[cut:])
    twice = learned(learned(prior, rows[first], outcomes[first]), rows[last], outcomes[last])
    assert twice.mean == pytest.approx(once.mean)
    assert twice.precision == pytest.approx(once.precision)
    assert (twice.shape, twice.rate) == pytest.approx((once.shape, once.rate))


def test_quantiles_are_those_of_drawing_from_the_model() -> None:
    """Noise, then coefficients, then an outcome, 400,000 times over: no formula of Student's t in it."""
    prior, rows, outcomes = drawn(7, 12)
    belief, new, draw = learned(prior, rows, outcomes), np.array([1.0, 3.0, 1.0]), np.random.default_rng(11)
    variance = belief.rate / draw.gamma(belief.shape, 1, 400_000)
    root = np.linalg.cholesky(np.linalg.inv(belief.precision))
    coefficients = belief.mean + (draw.standard_normal((400_000, 3)) @ root.T) * np.sqrt(variance)[:, None]
    made = coefficients @ new + draw.standard_normal(400_000) * np.sqrt(variance)
    for share in (0.2, 0.5, 0.8, 0.95):
        assert predicted(belief, new).quantile(share) == pytest.approx(np.quantile(made, share), abs=0.1)
