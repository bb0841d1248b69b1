"""How much of the time a brush is on metal, and what one pass of it does.

A pass is one brush-over of the whole plated area. The hand also runs past the edge, over holes and through the air, so
the footprint is only partly on metal when averaged over the time: that share is the contact fraction.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from areakit.errors import RangeError
from areakit.plating import faraday
from areakit.plating.faraday import Metre, MetrePerSecond, Second, SquareMetre
from areakit.plating.footprint import footprint_area
from areakit.plating.premise import Origin, Premise
from areakit.uncertainty import Measured, propagate

FRACTION = "contact fraction"
LOWEST_USUAL, HIGHEST_USUAL = 0.3, 1.0
"""Contact fraction where neither outline nor fraction is known: from a hand that lifts and overruns a part not much
larger than the footprint, to a bore turned under an anode that stands still. Common practice, no source. [1]"""
OF_THE_LANES = 0.1
"""Standard share of a contact fraction that lanes give: a hand dips, looks and turns the part. Estimate, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Footprint:
    """The footprint of the brush: across and along the lanes in mm, with fully round corners or square ones."""

    width_mm: float
    length_mm: float
    rounded: bool
    origin: Origin

    @property
    def area_mm2(self) -> float:
        """Area of the footprint; four quarter disks are taken where it is round. [mm2]"""
        return footprint_area(self.width_mm, self.length_mm, rounded=self.rounded)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hand:
    """How the brush is led: overlap [1], overrun [mm], hand speed [m/s] and scatter of the lanes [mm].

    ``sleeve`` is the thickness of the wet sleeve [mm] and ``wagner`` the Wagner number with it as its length; without
    them edge build-up is left out.
    """

    footprint: Footprint
    overlap: Premise
    overrun: Premise
    speed: Premise
    scatter: Premise
    sleeve: Premise | None = None
    wagner: Premise | None = None

    @property
    def premises(self) -> tuple[Premise, ...]:
        """Every figure of the hand."""
        told = (self.overlap, self.overrun, self.speed, self.scatter, self.sleeve, self.wagner)
        return tuple(one for one in told if one is not None)


@dataclass(frozen=True, slots=True, kw_only=True)
class LaneContact:
    """What lanes over outlines say of one pass over their faces.

    - ``area``: area of the faces. [m2]
    - ``seconds``: time of one pass over them, beside the metal and in the air included. [s]
    - ``dose``: time in contact of a place, mean over the metal. [s]
    - ``largest``: largest area of metal that is in contact at once. [m2]
    - ``gain``: mean density over that far from edges. [1]
    """

    area: float
    seconds: Measured
    dose: Measured
    largest: float
    gain: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroking:
    """What one pass does, whatever the charge.

    ``fraction`` is the metal in contact averaged over the whole working time, over the footprint; ``largest`` the same
    ratio where most metal is in contact. ``dose`` is the time in contact of a place in one pass, in s; ``gain`` the
    mean density over that far from edges.
    """

    fraction: Premise
    largest: float
    dose: Measured
    gain: float = 1.0


def stroking(
    *, footprint: Measured, stated: Premise | None, lanes: LaneContact | None, pitch: float, speed: Measured
) -> Stroking:
    """Return what a pass does: from the lanes, a stated contact fraction, or the stated default.

    - ``footprint``: area of the footprint. [m2]
    - ``stated``: contact fraction as entered; it wins over the lanes.
    - ``lanes``: None without an outline.
    - ``pitch``: distance from lane to lane. [m]
    - ``speed``: hand speed. [m/s]

    Raises RangeError if a stated fraction is not above zero and at most one.
    """
    if stated is not None and not 0.0 < stated.value <= 1.0:
        raise RangeError(
            f"A contact fraction of {stated.value:.3g} is not above 0 and at most 1.",
            remedy="Give the share of the working time that the brush is on metal, such as 60%.",
        )
    if lanes is None:
        dose = propagate(lambda c, v: dose_of_pass(footprint=c, pitch=pitch, speed=v), footprint, speed, unit="s")
        return Stroking(fraction=stated or usual_fraction(), largest=1.0, dose=dose)
    return Stroking(
        fraction=stated or _lanes_fraction(lanes, footprint.value),
        largest=min(1.0, lanes.largest / footprint.value),
        dose=lanes.dose,
        gain=lanes.gain,
    )


def usual_fraction() -> Premise:
    """Return the contact fraction where nobody knows it: the middle of a wide range, which is its uncertainty.

    Source: [gum] 4.3.7: the standard uncertainty of a rectangular distribution is its half width over the root of
    three.
    """
    half = (HIGHEST_USUAL - LOWEST_USUAL) / 2.0
    words = (
        f"default, the middle of {LOWEST_USUAL:g} to {HIGHEST_USUAL:g} (common practice, no source): neither an "
        "outline nor a stated contact fraction says more"
    )
    quantity = Measured(value=LOWEST_USUAL + half, unit="1", budget={FRACTION: half / math.sqrt(3.0)})
    return Premise(name=FRACTION, quantity=quantity, origin=Origin(kind="practice", text=words, source="practice"))


def _lanes_fraction(lanes: LaneContact, footprint: float) -> Premise:
    found = propagate(lambda dose, time: dose * lanes.area / (time * footprint), lanes.dose, lanes.seconds, unit="1")
    found = found.plus_shares(**{FRACTION: OF_THE_LANES * found.value})
    words = (
        "metal under the footprint averaged over the lanes, the way past the edge and lifts; "
        f"{100 * OF_THE_LANES:.0f} % of it as standard uncertainty is an estimate, no source"
    )
    return Premise(name=FRACTION, quantity=found, origin=Origin(kind="practice", text=words, source="practice"))


def dose_of_pass(*, footprint: SquareMetre, pitch: Metre, speed: MetrePerSecond) -> Second:
    r"""Return how long a place is in contact in one pass, far from edges.

    .. math:: \tau = \frac{a}{p v}

    Raises RangeError if a figure is not above zero. Source: closed form: in unit time the footprint a sweeps the area p
    v, and is over each place for the time a / (p v).
    """
    faraday.check_positive(footprint=footprint, pitch=pitch, speed=speed)
    return footprint / (pitch * speed)
