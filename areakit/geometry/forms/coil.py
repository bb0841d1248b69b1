"""Springs, coiled bracelets and other helices of round wire."""

from __future__ import annotations

import math

from shapely.geometry import box

from areakit.errors import RangeError
from areakit.flags import flag
from areakit.geometry.forms.result import FormLine, FormSurface
from areakit.geometry.forms.rods import disc
from areakit.geometry.forms.seen import View, true_radius
from areakit.geometry.forms.size import sides_of
from areakit.geometry.forms.words import FormText
from areakit.geometry.outline import Outline
from areakit.uncertainty import Measured, propagate


def helix_length(diameter: Measured, turns: Measured, rise: Measured) -> Measured:
    """Return the length of a helix, sqrt((pi D n)^2 + h^2) (closed form); ``rise`` is h, of all turns. [mm]"""
    return propagate(lambda d, n, h: ((math.pi * d * n) ** 2 + h * h) ** 0.5, diameter, turns, rise, unit="mm")


def coil(outline: Outline, form: FormText, *, view: View | None) -> FormSurface:
    """Return the surface of a coil: pi times the wire times the length of its helix, and two cut ends.

    The outline seen from the side is as wide as the mean diameter and one wire, and as long as all turns rise and one
    wire. A typed diameter is the mean one.

    Raises InputError if the wire or the turns were not typed; RangeError if the turns would lie in each other, or the
    wire is no thinner than the coil.
    """
    wire, turns = form.needed("wire"), form.needed("turns")
    long, wide = sides_of(outline)
    if view is not None:
        middle, radius = outline.polygon.centroid, wide.value / 2.0
        across = math.hypot(middle.x - view.x_mm, middle.y - view.y_mm)
        for _ in range(6):
            lifted = float(view.lifted(radius))
            radius = float(
                true_radius(wide.value / 2.0 * lifted, across=across * lifted, distance_mm=view.height_mm - radius)
            )
        # How the coil lies to the camera's foot is not looked at: both sides take the mean of upright and slant.
        slant = (wide.value * lifted - 2.0 * radius) / 2.0
        wide = _resized(wide, 2.0 * radius + slant, slant / math.sqrt(3.0))
        long = _resized(long, long.value * lifted, 0.0)
    mean = form.figure("diameter") or propagate(lambda w, d: w - d, wide, wire, unit="mm")
    rise = propagate(lambda h, d: h - d, form.figure("length") or long, wire, unit="mm")
    if mean.value <= wire.value:
        raise RangeError(
            f"A wire of {wire.value:g} mm does not coil on a mean diameter of {mean.value:.4g} mm.",
            remedy="Check the wire and its unit.",
        )
    if rise.value < 0.97 * (turns.value - 1.0) * wire.value:
        raise RangeError(
            f"{turns.value:g} turns of {wire.value:g} mm wire do not fit in {rise.value + wire.value:.4g} mm.",
            remedy="Check the wire and the number of turns.",
        )
    length = helix_length(mean, turns, rise)
    area = propagate(lambda d, run: math.pi * d * run, wire, length, unit="mm2")
    ends = propagate(lambda a: 2.0 * a, disc(wire), unit="mm2")
    touching = rise.value < 1.05 * turns.value * wire.value
    girth = math.pi * wire.value
    return FormSurface(
        lines=(
            FormLine(name="outside", side="front", basis="computed", area=area),
            FormLine(name="ends", side="wall", basis="computed", area=ends),
        ),
        figures={"mean diameter": mean, "wire": wire, "turns": turns, "length of the wire": length},
        flags=(flag("TURNS_TOUCH"),) if touching else (),
        unrolled=box(0.0, -girth / 2.0, length.value, girth / 2.0),
    )


def _resized(quantity: Measured, value: float, spread: float) -> Measured:
    factor = value / quantity.value
    budget = {name: share * factor for name, share in quantity.budget.items()}
    return Measured(value=value, unit="mm", budget={**budget, "form: slant": spread})
