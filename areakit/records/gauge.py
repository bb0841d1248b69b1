"""How well repeated measurements agree: normalised error, repeatability and reproducibility (analysis of variance)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import fsum, sqrt

from areakit.errors import InputError
from areakit.uncertainty import Measured, normalised_error

SIGNIFICANT_Z = 1.6448536269514722
"""95 % quantile of the normal distribution."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """One part measured several times: placed again, and shot again in each placement.

    Parameters
    ----------
    mean : float
        Mean of the placements' means. [mm2]
    repeatability : float
        Standard deviation between shots of one placement. [mm2]
    between : float
        Standard deviation that placing the part and the camera again adds. [mm2]
    reproducibility : float
        Root sum of squares of both. [mm2]
    stated : float
        Mean stated standard uncertainty of one measurement. [mm2]
    mean_square_between, mean_square_within, f_ratio : float or None
        Of the analysis of variance; None with one placement.
    stated_holds : bool
        Whether the spread is no larger than the stated uncertainty lets expect in 95 % of such studies.
    """

    placements: int
    shots: int
    mean: float
    repeatability: float
    between: float
    reproducibility: float
    stated: float
    mean_square_between: float | None
    mean_square_within: float
    f_ratio: float | None
    stated_holds: bool


def error_of_check(measured: Measured, reference: Measured) -> float:
    """Return the normalised error of a measurement against a check piece; up to 1 in size it agrees.

    InputError if neither carries an uncertainty, or their units differ.
    """
    if measured.unit != reference.unit:
        raise InputError(
            f"A measurement in {measured.unit} cannot be held against one in {reference.unit}.",
            remedy="Give both in one unit.",
        )
    if measured.standard_uncertainty == 0.0 and reference.standard_uncertainty == 0.0:
        raise InputError("Neither the measurement nor the check piece has an uncertainty.", remedy="Give the ± of one.")
    return normalised_error(measured, reference)


def study(groups: Sequence[Sequence[Measured]]) -> Study:
    r"""Return the study of a part measured in groups: one group a placement, one measurement a shot.

    .. math::
        s_r^2 = MS_w,\quad s_L^2 = \max\left(0, \frac{MS_b - MS_w}{n_0}\right),\quad s_R^2 = s_r^2 + s_L^2

    with n0 the effective number of shots a placement.

    Parameters
    ----------
    groups : sequence of sequences of Measured
        Areas of one unit.

    Raises
    ------
    InputError
        With fewer than three measurements, or where every placement has one shot only and there is but one placement.

    Sources
    -------
    [iso5725] part 2, 7.4: one-way layout with unequal numbers.
    """
    values = [[one.value for one in group] for group in groups if group]
    count, placements = sum(len(group) for group in values), len(values)
    if count < 3:
        raise InputError(f"{count} measurements tell nothing of their spread.", remedy="Take at least three photos.")
    within, freedom = _within(values)
    mean = fsum(fsum(group) / len(group) for group in values) / placements
    stated = fsum(one.standard_uncertainty for group in groups for one in group) / count
    if placements == 1:
        spread = sqrt(within)
        return Study(
            placements=1, shots=count, mean=mean, repeatability=spread, between=0.0, reproducibility=spread,
            stated=stated, mean_square_between=None, mean_square_within=within, f_ratio=None,
            stated_holds=_holds(spread, stated, freedom),
        )  # fmt: skip
    between_square = _between(values)
    if freedom == 0:  # one shot a placement: the two cannot be told apart
        added, repeat = sqrt(between_square), 0.0
    else:
        effective = (count - fsum(len(group) ** 2 for group in values) / count) / (placements - 1)
        added, repeat = sqrt(max(0.0, (between_square - within) / effective)), sqrt(within)
    total = sqrt(added**2 + repeat**2)
    return Study(
        placements=placements, shots=count, mean=mean, repeatability=repeat, between=added, reproducibility=total,
        stated=stated, mean_square_between=between_square, mean_square_within=within,
        f_ratio=between_square / within if within > 0 else None, stated_holds=_holds(total, stated, placements - 1),
    )  # fmt: skip


def _within(values: Sequence[Sequence[float]]) -> tuple[float, int]:
    """Return the mean square within groups and its degrees of freedom."""
    freedom = sum(len(group) - 1 for group in values)
    squares = fsum((x - fsum(group) / len(group)) ** 2 for group in values for x in group)
    return (squares / freedom if freedom else 0.0), freedom


def _between(values: Sequence[Sequence[float]]) -> float:
    """Return the mean square between groups."""
    count = sum(len(group) for group in values)
    grand = fsum(x for group in values for x in group) / count
    squares = fsum(len(group) * (fsum(group) / len(group) - grand) ** 2 for group in values)
    return squares / (len(values) - 1)


def _holds(spread: float, stated: float, freedom: int) -> bool:
    """Whether a spread is within the 95 % limit that a stated standard uncertainty sets for so few measurements."""
    return spread**2 <= stated**2 * chi_square_limit(freedom) / freedom


def chi_square_limit(freedom: int) -> float:
    r"""Return the 95 % quantile of chi square, to 1 % from 1 degree of freedom on.

    .. math:: \chi^2 \approx \nu \left(1 - \frac{2}{9\nu} + z \sqrt{\frac{2}{9\nu}}\right)^3

    Parameters
    ----------
    freedom : int
        Degrees of freedom. [1]

    Returns
    -------
    float
        The quantile. [1]

    Raises
    ------
    InputError
        Below one degree of freedom.

    Sources
    -------
    [wilson-hilferty] the cube-root approximation.
    """
    if freedom < 1:
        raise InputError("There are no degrees of freedom.", remedy="Take more photos.")
    step = 2.0 / (9.0 * freedom)
    return float(freedom * (1.0 - step + SIGNIFICANT_Z * sqrt(step)) ** 3)
