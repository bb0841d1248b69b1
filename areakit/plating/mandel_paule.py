"""A weighted mean of runs that differ by more than each is known to, and what the next run will be like.

Values and standard uncertainties are plain numbers of one unit; a plating factor is pooled as its logarithm, so that
shares are relative.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, sqrt

import numpy as np
from numpy.typing import NDArray

from areakit.errors import RangeError
from areakit.plural import counted
from areakit.uncertainty import COVERAGE_FACTOR

Floats = NDArray[np.float64]
_COVERAGE = {
    1: 13.97, 2: 4.53, 3: 3.31, 4: 2.87, 5: 2.65, 6: 2.52, 7: 2.43, 8: 2.37, 9: 2.32, 10: 2.28, 11: 2.25, 12: 2.23,
    13: 2.21, 14: 2.20, 15: 2.18, 16: 2.17, 17: 2.16, 18: 2.15, 19: 2.14, 20: 2.13, 25: 2.11, 30: 2.09, 35: 2.07,
    40: 2.06, 45: 2.06, 50: 2.05, 100: 2.025,
}  # fmt: skip
"""Student's t for 95.45 %, the confidence of coverage factor 2, by degrees of freedom. Source: [gum] table G.2."""
_FIFTH_Z = -0.8416212335729142
"""20 % quantile of the normal distribution."""
_STEPS = 200
_CLOSE = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class Pooled:
    """Runs folded into a mean, or into a line over their age.

    - ``coefficients`` (p,): the mean; or the value at ``centre``, and the slope.
    - ``covariance`` (p, p): of the coefficients.
    - ``weights`` (n,): share of each run in the mean, or in the value at ``centre``; they add up to one.
    - ``between``: standard deviation of runs beyond their own uncertainty.
    - ``between_high``: the same at the upper end of its own 80 % confidence: few runs often show less than there is.
    - ``freedom``: degrees of freedom, n - p.
    - ``centre``: weighted mean age of the runs.
    """

    coefficients: Floats
    covariance: Floats
    weights: Floats
    between: float
    between_high: float
    freedom: int
    centre: float = 0.0

    def at(self, age: float | None = None) -> float:
        """Return the value, at an age where the runs drift."""
        return float(self._row(age) @ self.coefficients)

    def mean_standard(self, age: float | None = None) -> float:
        """Return the standard uncertainty of the mean, widened for few runs."""
        row = self._row(age)
        return _widened(sqrt(float(row @ self.covariance @ row)), self.freedom)

    def next_standard(self, age: float | None = None) -> float:
        """Return the standard uncertainty of what one more run will do: the mean, and how runs differ at most.

        Sources: [higgins] the prediction interval; [viechtbauer] the spread between runs at the end of its confidence.
        With it twice this holds the next run in 94 to 100 % of drawn cases, without it in as few as 84 %.
        """
        return hypot(self.mean_standard(age), self.between_high)

    def _row(self, age: float | None) -> Floats:
        if len(self.coefficients) == 1:
            return np.array([1.0])
        return np.array([1.0, (self.centre if age is None else age) - self.centre])


def pool(values: Sequence[float], standards: Sequence[float], *, ages: Sequence[float] | None = None) -> Pooled:
    r"""Return the weighted mean with the variance between runs that makes them agree.

    .. math::
        \sum_i \frac{(x_i - \bar x)^2}{u_i^2 + \tau^2} = n - p, \qquad w_i \propto \frac{1}{u_i^2 + \tau^2}

    with tau zero where the sum is below n - p already.

    - ``values``, ``standards`` (n,): one value a run and its own standard uncertainty, above zero.
    - ``ages`` (n,): a line over them is fitted in place of the mean.

    Raises RangeError with fewer than two runs (three for a line), or a standard uncertainty that is not above zero.
    Sources: [mandel-paule]; iteration and its convergence [dersimonian-kacker].
    """
    x, u = np.asarray(values, dtype=float), np.asarray(standards, dtype=float)
    columns = 1 if ages is None else 2
    if len(x) <= columns or not (u > 0.0).all():
        few = counted(len(x), "run")
        raise RangeError(f"With {few} nothing tells how runs differ.", remedy="Weigh, or measure, more runs.")
    age = np.zeros(len(x)) if ages is None else np.asarray(ages, dtype=float)
    freedom = len(x) - columns
    excess = _excess(x, u, age, columns, float(freedom))
    high = _excess(x, u, age, columns, lower_fifth(freedom))
    weights = 1.0 / (u**2 + excess)
    found, covariance, _ = _fit(x, weights, age, columns)
    return Pooled(
        coefficients=found,
        covariance=covariance,
        weights=weights / weights.sum(),
        between=sqrt(excess),
        between_high=sqrt(high),
        freedom=freedom,
        centre=float(weights @ age / weights.sum()),
    )


def _excess(x: Floats, u: Floats, age: Floats, columns: int, target: float) -> float:
    """Return the variance between runs at which the weighted sum of squares meets its target; zero if it is below."""
    excess = 0.0
    for _ in range(_STEPS):
        weights = 1.0 / (u**2 + excess)
        _, _, left = _fit(x, weights, age, columns)
        over = float(weights @ left**2) - target
        if over <= _CLOSE * target:
            break
        excess += over / float(weights**2 @ left**2)
    return excess


def _fit(x: Floats, weights: Floats, age: Floats, columns: int) -> tuple[Floats, Floats, Floats]:
    """Return coefficients, their covariance and the residuals of a weighted mean or line."""
    centre = float(weights @ age / weights.sum())
    design = np.column_stack([np.ones(len(x)), age - centre])[:, :columns]
    covariance = np.asarray(np.linalg.inv(design.T @ (weights[:, None] * design)), dtype=np.float64)
    found = covariance @ (design.T @ (weights * x))
    return found, covariance, x - design @ found


def lower_fifth(freedom: int) -> float:
    r"""Return the 20 % quantile of chi square, to 15 % for one degree of freedom and to 1 % from two on.

    .. math:: \chi^2 \approx \nu \left(1 - \frac{2}{9\nu} + z \sqrt{\frac{2}{9\nu}}\right)^3

    Source: [wilson-hilferty] the cube-root approximation.
    """
    step = 2.0 / (9.0 * freedom)
    return float(freedom * (1.0 - step + _FIFTH_Z * sqrt(step)) ** 3)


def coverage(freedom: int) -> float:
    """Return the coverage factor for 95.45 % at so few degrees of freedom; between rows of the table the larger one.

    Raises RangeError below one degree of freedom. Source: [gum] table G.2.
    """
    if freedom < 1:
        raise RangeError("There are no degrees of freedom.", remedy="Weigh, or measure, more runs.")
    return _COVERAGE[max(row for row in _COVERAGE if row <= freedom)]


def _widened(standard: float, freedom: int) -> float:
    """Return a standard uncertainty whose multiple by the usual coverage factor holds for so few runs too."""
    return standard * coverage(freedom) / COVERAGE_FACTOR
