"""Runs that differ by more than each is known to: the weighted mean against open data, a library and drawn runs."""

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import chi2, norm, t

from areakit.errors import RangeError
from areakit.plating.mandel_paule import _COVERAGE, coverage, lower_fifth, pool

TRIALS = (
    (4, 123, 11, 139), (6, 306, 29, 303), (3, 231, 11, 220), (62, 13598, 248, 12867), (33, 5069, 47, 5808),
    (180, 1541, 372, 1451), (8, 2545, 10, 629), (505, 88391, 499, 88391), (29, 7499, 45, 7277), (17, 1716, 65, 1665),
    (186, 50634, 141, 27338), (5, 2498, 3, 2341), (27, 16913, 29, 17854),
)  # fmt: skip
"""Cases and totals, treated and not, of thirteen trials: open data, used as the example of many statistics books
(G. A. Colditz et al., J. Am. Med. Assoc. 271 (1994) 698)."""
LOG_RATIOS = [float(np.log(a / n) - np.log(c / m)) for a, n, c, m in TRIALS]
STANDARDS = [(1 / a - 1 / n + 1 / c - 1 / m) ** 0.5 for a, n, c, m in TRIALS]


def test_open_data_give_the_figures_of_a_statistics_library() -> None:
    """Mean -0.7150, its standard error 0.1809 and variance between trials 0.3181, by statsmodels 0.15
    (combine_effects, method_re="iterated")."""
    found = pool(LOG_RATIOS, STANDARDS)
    assert found.at() == pytest.approx(-0.7149681535, abs=1e-9)
    assert found.between**2 == pytest.approx(0.3180684522, abs=1e-9)
    assert found.covariance[0, 0] ** 0.5 == pytest.approx(0.1808921915, abs=1e-9)


def test_drawn_runs_give_what_the_library_gives_here() -> None:
    library = pytest.importorskip("statsmodels.stats.meta_analysis")
    generator = np.random.default_rng(3)
    for count in (2, 3, 5, 12):
        standards = generator.uniform(0.01, 0.04, count)
        values = generator.normal(0.0, 0.05, count) + generator.normal(0.0, standards)
        expected = library.combine_effects(values, standards**2, method_re="iterated")
        found = pool(values, standards)
        assert found.at() == pytest.approx(expected.mean_effect_re, abs=1e-6)
        assert found.between**2 == pytest.approx(expected.tau2, rel=1e-4, abs=1e-7)


def test_the_weighted_sum_of_squares_meets_its_degrees_of_freedom() -> None:
    """The same variance between runs as a root finder gives for the defining equation."""
    x, u = np.array(LOG_RATIOS), np.array(STANDARDS)

    def over(excess: float) -> float:
        weights = 1.0 / (u**2 + excess)
        return float(weights @ (x - weights @ x / weights.sum()) ** 2) - (len(x) - 1)

    assert pool(x, u).between ** 2 == pytest.approx(brentq(over, 0.0, 10.0), rel=1e-9)


def test_runs_that_agree_are_the_plain_weighted_mean() -> None:
    found = pool([1.0, 1.015, 0.99], [0.02, 0.01, 0.02])
    assert found.between == 0.0
    assert found.at() == pytest.approx((1.0 / 4 + 1.015 + 0.99 / 4) / 1.5)
    assert found.between_high > 0.0  # but three runs do not prove that there is nothing between them


def test_a_line_over_the_age_is_that_of_weighted_least_squares() -> None:
    ages, values, standards = [0.0, 1.0, 2.0, 4.0], [1.0, 0.98, 0.97, 0.92], [0.02, 0.01, 0.02, 0.01]
    found = pool(values, standards, ages=ages)
    slope, level = np.polyfit(ages, values, 1, w=1.0 / np.array(standards))
    assert found.between == 0.0
    assert found.at(3.0) == pytest.approx(level + 3.0 * slope)
    _, covariance = np.polyfit(ages, values, 1, w=1.0 / np.array(standards), cov="unscaled")
    widened = coverage(2) / 2.0
    row = np.array([3.0, 1.0])
    assert found.mean_standard(3.0) == pytest.approx(widened * (row @ covariance @ row) ** 0.5)


def test_too_few_runs_are_refused() -> None:
    for values, ages in (([1.0], None), ([1.0, 2.0], [0.0, 1.0])):
        with pytest.raises(RangeError, match="nothing tells how runs differ"):
            pool(values, [0.1] * len(values), ages=ages)
    with pytest.raises(RangeError):
        pool([1.0, 2.0], [0.1, 0.0])
    with pytest.raises(RangeError):
        coverage(0)


@pytest.mark.parametrize("freedom", sorted(_COVERAGE))
def test_the_coverage_table_is_that_of_student(freedom: int) -> None:
    expected = t.ppf(norm.cdf(2.0), freedom)
    assert _COVERAGE[freedom] == pytest.approx(expected, abs=0.006 if freedom < 100 else 0.0006)


def test_between_rows_of_the_table_the_larger_factor_holds() -> None:
    assert coverage(24) == coverage(20) > coverage(25)
    assert coverage(5000) == coverage(100)


@pytest.mark.parametrize(("freedom", "close"), [(1, 0.15), (2, 0.01), (5, 0.01), (30, 0.01)])
def test_the_lower_fifth_is_that_of_chi_square(freedom: int, close: float) -> None:
    assert lower_fifth(freedom) == pytest.approx(chi2.ppf(0.2, freedom), rel=close)


@pytest.mark.parametrize(("count", "most"), [(3, 1.0), (6, 0.985), (12, 0.985)])
@pytest.mark.parametrize("between", [0.02, 0.06])
def test_twice_the_standard_uncertainty_holds_the_next_run(count: int, most: float, between: float) -> None:
    """Of 500 drawn benches, each run known to 1 to 4 %; three runs say little, and say so."""
    generator, held = np.random.default_rng(11), 0
    for _ in range(500):
        standards = generator.uniform(0.01, 0.04, count)
        truth = generator.normal(0.0, between, count + 1)
        found = pool(truth[:-1] + generator.normal(0.0, standards), standards)
        held += abs(found.at() - truth[-1]) <= 2.0 * found.next_standard()
    assert 0.925 <= held / 500 <= most
