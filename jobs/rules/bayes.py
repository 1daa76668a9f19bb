"""Linear regression that starts from a belief and learns, by the conjugate normal-inverse-gamma prior.

    y = x·β + ε,  ε ~ N(0, σ²),  β given σ² ~ N(mean, σ² precision⁻¹),  σ² ~ inverse gamma(shape, rate)

A belief learned from some rows is the prior for the next, in any order. What is predicted for a new row follows
Student's t. Source: Gelman and others, Bayesian Data Analysis, 3rd ed., §14.2 and §14.8 (from memory).
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.floating[Any]]


@dataclass(frozen=True, eq=False)
class Belief:
    """About k coefficients and the noise: `mean` has k entries, `precision` k × k in units of 1/σ²."""

    mean: "Floats"
    precision: "Floats"
    shape: float
    rate: float


@dataclass(frozen=True)
class Prediction:
    """Student's t about `centre`, spread by `scale`, with `freedom` degrees."""

    centre: float
    scale: float
    freedom: float

    def quantile(self, share: float) -> float:
        """The value that is not exceeded with this probability."""
        from scipy.special import stdtrit

        return self.centre + self.scale * float(stdtrit(self.freedom, share))


def belief_of(means: "Floats", deviations: "Floats", noise: float, shape: float) -> Belief:
    """Independent coefficients with these means and standard deviations, and noise of about `noise`.

    `shape` above 1 says how firmly the noise is believed; the expected variance is `noise` squared.
    """
    import numpy as np

    return Belief(means, np.diag((noise / deviations) ** 2), shape, (shape - 1) * noise**2)


def learned(prior: Belief, rows: "Floats", outcomes: "Floats") -> Belief:
    """The belief after seeing n outcomes; `rows` is n × k."""
    import numpy as np

    precision = prior.precision + rows.T @ rows
    mean = np.linalg.solve(precision, prior.precision @ prior.mean + rows.T @ outcomes)
    left, moved = outcomes - rows @ mean, mean - prior.mean
    rate = prior.rate + float(left @ left + moved @ prior.precision @ moved) / 2
    return Belief(mean, precision, prior.shape + len(outcomes) / 2, rate)


def predicted(belief: Belief, row: "Floats") -> Prediction:
    """What one new row may come to; `row` has k entries."""
    import numpy as np

    spread = 1 + float(row @ np.linalg.solve(belief.precision, row))
    scale = (belief.rate / belief.shape * spread) ** 0.5
    return Prediction(float(row @ belief.mean), scale, 2 * belief.shape)
