"""The Wagner number of a part in a tank: as typed, from the solution's figures, or the worst case, said aloud."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from areakit.errors import InputError, RangeError
from areakit.flags import Flag, flag
from areakit.plating.premise import Origin, Premise, given
from areakit.service.entries import read_quantity
from areakit.uncertainty import exact, propagate

if TYPE_CHECKING:
    from areakit.plating.spread import NumberedPart
    from areakit.service.spread import SpreadRequest

PRIMARY = "primary distribution, the worst case, because nobody said conductivity and Tafel slope"
NAME = "Wagner number"


def check_wagner(request: SpreadRequest, current_density: float | None) -> None:
    """Raise InputError where what was said of a tank cannot be read, is said twice, or is half of it."""
    pair = (request.conductivity, request.tafel_slope)
    if request.wagner is not None:
        read_quantity(request.wagner, "number", NAME)
        if any(text is not None for text in pair):
            raise InputError(
                "The Wagner number was given twice.",
                remedy="Give it once.",
                fields={"wagner": "", "conductivity": "", "tafel_slope": ""},
            )
    elif any(text is not None for text in pair):
        _check_pair(*pair, current_density)


def _check_pair(conductivity: str | None, slope: str | None, current_density: float | None) -> None:
    if conductivity is None or slope is None:
        raise InputError(
            "The Wagner number needs both the conductivity of the solution and the Tafel slope.",
            remedy="Give both; the slope is for a decade of current.",
            fields={"conductivity": "10 S/m", "tafel_slope": "60 mV"},
        )
    for text, kind in ((conductivity, "conductivity"), (slope, "voltage")):
        if not read_quantity(text, kind, kind).value > 0:
            raise RangeError(f"{text.strip()!r} is not above zero.", remedy="Check the figure and its unit.")
    if current_density is None:
        raise InputError(
            "The Wagner number needs the current density.",
            remedy="Give the current density of each layer to plan, or current and time in place of the charge to "
            "deposit; or else the Wagner number.",
            fields={"current_density": "", "current": "", "time": "", "wagner": ""},
        )


def wagner_premise(request: SpreadRequest, parts: Sequence[NumberedPart], current_density: float | None) -> Premise:
    """Return the Wagner number of the largest part, whose current spreads worst.

    Parameters
    ----------
    request : SpreadRequest
        Holds the number, or conductivity and Tafel slope, or neither.
    parts : sequence of NumberedPart
        The largest equal-area disk sets the length.
    current_density : float or None
        Mean current density. [A/m2]

    What was typed has passed :func:`check_wagner`.

    Sources
    -------
    [wagner-1951]; a Tafel line of slope b a decade has the local slope b / (ln 10 j) at the density j.
    """
    if request.wagner is not None:
        quantity = read_quantity(request.wagner, "number", NAME)
        return Premise(name=NAME, quantity=quantity, origin=given())
    if request.conductivity is None and request.tafel_slope is None:
        origin = Origin(kind="practice", text=PRIMARY, source="practice")
        return Premise(name=NAME, quantity=exact(0.0, "1"), origin=origin)
    return _worked_out(request, parts, current_density)


def _worked_out(request: SpreadRequest, parts: Sequence[NumberedPart], current_density: float | None) -> Premise:
    from areakit.plating.distribution import equal_disk_radius_mm, wagner_number

    assert request.conductivity is not None
    assert request.tafel_slope is not None
    assert current_density is not None
    conductivity = read_quantity(request.conductivity, "conductivity", "conductivity")
    slope = read_quantity(request.tafel_slope, "voltage", "Tafel slope")
    radius = max(equal_disk_radius_mm(part.polygon) for part in parts) / 1e3
    per_density = 1.0 / (math.log(10.0) * current_density)
    quantity = propagate(
        lambda k, b: wagner_number(conductivity=k, polarisation_slope=b * per_density, length=radius),
        conductivity,
        slope,
        unit="1",
    )
    words = (
        f"from {request.conductivity}, {request.tafel_slope} a decade, {current_density / 100:.3g} A/dm² and the "
        f"radius of {radius * 1e3:.3g} mm of the disk of equal area"
    )
    return Premise(name=NAME, quantity=quantity, origin=given(words))


def unsaid(request: SpreadRequest) -> tuple[Flag, ...]:
    """Return the flag that the worst case was taken because nobody said anything of the bath."""
    typed = (request.wagner, request.conductivity, request.tafel_slope)
    return () if any(text is not None for text in typed) else (flag("WAGNER_NOT_SAID"),)
