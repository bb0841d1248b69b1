"""The distribution allowance: mean over minimum thickness, always shown, never folded into the efficiency.

A computed thickness distribution enters a plan here: as a :class:`Premise` in place of the default.
"""

from __future__ import annotations

from typing import Literal

from areakit.errors import RangeError
from areakit.plating.faraday import Metre, Ratio, best
from areakit.plating.metals import figure, range_figure
from areakit.plating.premise import Origin, Premise, given
from areakit.sources import source
from areakit.uncertainty import Measured

Method = Literal["brush", "tank"]


def default_allowance(method: Method, metal: str) -> Premise:
    """Return the usual allowance of a method: the middle of its range, with the range as its uncertainty."""
    quantity = range_figure(method, "distribution_allowance", name=_name(metal))
    assert quantity is not None, "the table holds a range for each method"
    low, high = figure(method, "distribution_allowance_low"), figure(method, "distribution_allowance_high")
    words = f"default for {method}, {low.value:g} to {high.value:g} ({low.note}): {source(low.source).citation}"
    return Premise(name=_name(metal), quantity=quantity, origin=Origin(kind=low.kind, text=words, source=low.source))


def entered_allowance(value: float, *, metal: str, standard: float) -> Premise:
    """Return an allowance as the user gave it; RangeError below 1."""
    check_allowance(value)
    name = _name(metal)
    return Premise(name=name, quantity=Measured(value=value, unit="1", budget={name: standard}), origin=given())


def _name(metal: str) -> str:
    return f"{metal} distribution allowance"


def minimum_for_mean(*, mean: Metre, allowance: Ratio) -> Metre:
    r"""Return the minimum local thickness where the mean and the distribution allowance are known.

    .. math:: d_\mathrm{min} = \frac{\bar d}{k}

    Raises RangeError if the allowance is below 1. Source: [sig] requirements bind the minimum on significant surfaces.
    """
    check_allowance(allowance)
    return mean / allowance


def mean_for_minimum(*, minimum: Metre, allowance: Ratio) -> Metre:
    r"""Return the mean thickness that a required minimum asks for.

    .. math:: \bar d = k d_\mathrm{min}

    Raises RangeError if the allowance is below 1. Source: [ni1p67] 0.002 in mean for a sure 0.0012 in.
    """
    check_allowance(allowance)
    return minimum * allowance


def check_allowance(allowance: float) -> None:
    """Raise RangeError for a distribution allowance below 1: a mean is never below the minimum."""
    if not best(allowance) >= 1:
        raise RangeError(
            f"The distribution allowance of {best(allowance):.4g} is below 1, but a mean is never below the minimum.",
            remedy="Give mean thickness over minimum thickness, such as 1.2.",
        )
