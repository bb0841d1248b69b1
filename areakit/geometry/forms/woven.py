"""Woven mesh and chain, from their pitch and their wire."""

from __future__ import annotations

import math

from areakit.errors import RangeError
from areakit.geometry.forms.result import FormLine, FormSurface
from areakit.geometry.forms.rods import cylinder
from areakit.geometry.forms.seen import View
from areakit.geometry.forms.size import sides_of
from areakit.geometry.forms.words import FormText
from areakit.geometry.outline import Outline
from areakit.uncertainty import propagate

_SPOTS = 32


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
