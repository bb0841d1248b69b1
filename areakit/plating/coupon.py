"""A weighed coupon in place of an ampere-minute meter: what one pass at the volts deposits, and so passes and seconds.

One brush, led by one hand at one speed and overlap, at the same volts on the same solution, leaves the same deposit per
pass on every part; the time of a pass grows with the area.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil
from typing import Annotated

from areakit.errors import RangeError
from areakit.plating.faraday import Count, Kilogram, KilogramPerCubicMetre, Metre, SquareMetre
from areakit.plating.premise import Premise
from areakit.uncertainty import Measured, propagate

KilogramPerSquareMetre = Annotated[float, "kg/m2"]
USUAL_REPEAT = 0.10
"""Standard deviation between coupons that should be equal, by hand and watch, over their mean; estimate."""
MOST_SPREAD = 2.0 / 3.0
"""Largest relative ± of a minimum that passes are raised for; beyond it no sensible number of passes makes it sure."""
COUPON, JOB = "coupon repeat", "repeat of the job"


@dataclass(frozen=True, slots=True, kw_only=True)
class Coupon:
    """One coupon plated for so many passes at the volts, and weighed before and after.

    - ``name``, ``brush``: as the shop profile names them.
    - ``volts``: at the supply. [V]
    - ``passes``: brush-overs of the whole coupon. [1]
    - ``area``, ``gain``, ``time``: plated area, mass gained, time of all passes. [m2, kg, s]
    - ``repeat``: standard deviation between coupons that should be equal, over their mean. [1]
    """

    name: str
    brush: str
    volts: float
    passes: int
    area: Measured
    gain: Measured
    time: Measured
    repeat: float = USUAL_REPEAT

    def __post_init__(self) -> None:
        if self.passes < 1 or not all(one.value > 0.0 for one in (self.area, self.gain, self.time)):
            raise RangeError(
                f"The coupon {self.name} has no passes, area, gain or time.", remedy="Give each of them above zero."
            )
        if not 0.0 <= self.repeat < 1.0:
            raise RangeError(
                f"The coupon {self.name} repeats to {200 * self.repeat:.0f} %, which says nothing.",
                remedy="Give ± between equal coupons below 200 %, such as 20 %.",
            )

    @property
    def per_pass(self) -> Measured:
        """Mass that one pass deposits on a unit of area, as the next coupon would show it. [kg/m2]"""
        found = propagate(
            lambda m, a: mass_per_pass(gain=m, area=a, passes=self.passes), self.gain, self.area, unit="1"
        )
        return Measured(value=found.value, unit="kg/m2", budget={**found.budget, COUPON: self.repeat * found.value})

    def thickness_per_pass(self, density: Measured) -> Measured:
        """Return the mean thickness that one pass deposits. [m]"""
        return propagate(lambda w, rho: w / rho, self.per_pass, density, unit="m")


@dataclass(frozen=True, slots=True, kw_only=True)
class CouponRun:
    """One piece by volts and watch.

    ``passes`` is how many the thickness really needs, ``passes_set`` the whole number to do; ``time`` is theirs, and
    ``minimum`` and ``mass`` what they reach on one piece. [1, s, m, kg]
    """

    coupon: Coupon
    passes: Measured
    passes_set: int
    seconds_per_pass: Measured
    time: Measured
    mean: Measured
    minimum: Measured
    mass: Measured


def mass_per_pass(*, gain: Kilogram, area: SquareMetre, passes: Count) -> KilogramPerSquareMetre:
    r"""Return what one pass deposits on a unit of area, from a coupon.

    .. math:: w = \frac{m}{N A}

    Source: definition of the mass per unit area.
    """
    return gain / (passes * area)


def passes_for_mean(*, mean: Metre, density: KilogramPerCubicMetre, per_pass: KilogramPerSquareMetre) -> Count:
    r"""Return how many passes bring a mean thickness.

    .. math:: n = \frac{\bar d \rho}{w}

    Source: definition of the density.
    """
    return mean * density / per_pass


def coupon_run(
    coupon: Coupon, *, mean: float, allowance: Premise | None, density: Measured, area: Measured, sure: bool
) -> CouponRun:
    """Return passes and seconds of one piece from a coupon.

    - ``mean``: mean thickness that meets what was ordered at an even chance. [m]
    - ``allowance``: mean over minimum; None where a mean was ordered.
    - ``density``, ``area``: of the deposit, and of one piece. [kg/m3, m2]
    - ``sure``: raise the passes so that the minimum is met with about 97 % confidence: the lower end of its interval.

    Source: [gum] JCGM 100:2008, equation 13. The coupon and the job each vary by the repeat, independently.
    """
    coming = coupon.per_pass
    per_pass = replace(coming, budget={**coming.budget, JOB: coupon.repeat * coming.value})
    passes = propagate(lambda w, rho: passes_for_mean(mean=mean, density=rho, per_pass=w), per_pass, density, unit="1")
    each = propagate(lambda w, rho: w / rho, per_pass, density, unit="m")
    ratio = propagate(lambda d, k: d / k, each, allowance.quantity, unit="m") if allowance is not None else each
    spread = ratio.relative_expanded_uncertainty
    raised = 1.0 / (1.0 - spread) if sure and allowance is not None and spread <= MOST_SPREAD else 1.0
    count = max(1, ceil(passes.value * raised - 1e-9))
    seconds = propagate(lambda t, a, c: t / coupon.passes * a / c, coupon.time, area, coupon.area, unit="s")
    return CouponRun(
        coupon=coupon,
        passes=passes,
        passes_set=count,
        seconds_per_pass=seconds,
        time=seconds.times(count),
        mean=each.times(count),
        minimum=ratio.times(count),
        mass=propagate(lambda w, a: w * a * count, per_pass, area, unit="kg"),
    )
