"""Wire that is wound, woven or linked: springs and other helices, mesh and chain from their pitch."""

from __future__ import annotations

import math

from shapely.geometry import box

from areakit.errors import RangeError
from areakit.flags import flag
from areakit.geometry.forms.result import FormLine, FormSurface
from areakit.geometry.forms.seen import View, true_radius
from areakit.geometry.forms.size import cylinder, disc, sides_of
from areakit.geometry.forms.words import FormText
from areakit.geometry.outline import Outline
from areakit.uncertainty import Measured, propagate

_SPOTS = 32


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
    ends = disc(wire).times(2.0)
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


def mesh(outline: Outline, form: FormText, *, view: View | None) -> FormSurface:
    """Return the surface of plain woven wire mesh of the outline's area: both families of wires, all round.

    Each wire runs up and down by one wire between neighbours, a sine of height d over the pitch; for each area there
    are 2 / p lengths of it. Where wires touch nothing is taken off: the touch is a spot.

    Raises InputError if pitch or wire were not typed; RangeError if the wire fills the pitch.
    """
    pitch, wire = form.needed("pitch"), form.needed("wire")
    if wire.value >= pitch.value:
        raise RangeError(
            f"Wire of {wire.value:g} mm closes a mesh of {pitch.value:g} mm pitch.",
            remedy="The pitch is from wire to wire, opening and wire together.",
        )
    factor = propagate(mesh_factor, pitch, wire, unit="1")
    area = propagate(lambda a, f: a * f, outline.area, factor, unit="mm2")
    return FormSurface(
        lines=(FormLine(name="wires of the mesh", side="front", basis="computed", area=area),),
        figures={"surface over seen area": factor, "pitch": pitch, "wire": wire},
    )


def mesh_factor(pitch: float, wire: float) -> float:
    """Return the surface of plain woven mesh over its area: 2 pi d / p times the way along a sine of height d.

    A wire runs as h = d / 2 cos(pi x / p); its length is the mean of sqrt(1 + h'^2), which even spots over one wave
    give to all figures (an even, periodic function).
    """
    rise = (math.pi * wire / 2.0 / pitch) ** 2
    spots = [math.sin(math.pi * (i + 0.5) / _SPOTS) ** 2 for i in range(_SPOTS)]
    longer: float = sum((1.0 + rise * spot) ** 0.5 for spot in spots) / _SPOTS
    return 2.0 * math.pi * wire / pitch * longer


def chain(outline: Outline, form: FormText, *, view: View | None) -> FormSurface:
    """Return the surface of a chain of oval links: each a ring of round wire on a slot-shaped middle line (Pappus).

    A link is as long inside as the pitch of the chain, as wide outside as ``width``; the length is that of the whole
    chain, typed or that of the outline.

    Raises InputError if pitch, wire or width were not typed; RangeError if the link has no inside.
    """
    pitch, wire, width = form.needed("pitch"), form.needed("wire"), form.needed("width")
    if width.value <= 2.0 * wire.value or pitch.value <= width.value - 2.0 * wire.value - 1e-9:
        raise RangeError(
            f"A link {width.value:g} mm wide and {pitch.value:g} mm long inside, of {wire.value:g} mm wire, is no "
            "oval link.",
            remedy="Give the inside length of a link as pitch, and its outside width.",
        )
    length = form.figure("length") or sides_of(outline)[0]
    # Middle line of a link: two half circles of diameter w - d, two straights of p + d - (w - d).
    around = propagate(lambda p, d, w: math.pi * (w - d) + 2.0 * (p + 2.0 * d - w), pitch, wire, width, unit="mm")
    count = propagate(lambda run, p, d: (run - 2.0 * d) / p, length, pitch, wire, unit="1")
    each = cylinder(wire, around)
    area = propagate(lambda a, n: a * n, each, count, unit="mm2")
    return FormSurface(
        lines=(FormLine(name="links", side="front", basis="computed", area=area),),
        figures={"links": count, "surface of one link": each, "length of the chain": length},
    )
