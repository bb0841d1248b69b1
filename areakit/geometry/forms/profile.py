"""Rods with a profile that repeats: threads, knurls, reeding."""

from __future__ import annotations

import math

import shapely
from shapely.geometry import box

from areakit.errors import RangeError
from areakit.geometry.differences import differenced
from areakit.geometry.forms.result import FormLine, FormSurface
from areakit.geometry.forms.seen import View, true_radius
from areakit.geometry.forms.size import cylinder, disc, sides_of
from areakit.geometry.forms.words import FormText
from areakit.geometry.outline import Outline
from areakit.uncertainty import Measured, exact, propagate

THREAD_HEIGHT = math.sqrt(3.0) / 2.0
"""Height H of the fundamental triangle over the pitch (ISO 68-1, 60 degrees)."""
CREST, ROOT, DEPTH = 1.0 / 8.0, 1.0 / 4.0, 5.0 / 8.0
"""Width of the flat crest and of the flat root over the pitch, and depth of the profile over H (ISO 68-1)."""
KNURL_ANGLE = 90.0
"""Angle of the profile of a knurl (DIN 82, from memory). [deg]"""


def thread(outline: Outline, form: FormText, *, view: View | None) -> FormSurface:
    """Return the surface of an external thread with the basic profile of ISO 68-1, and its two end faces.

    The profile is swept round the axis at the mean radius of each of its four flats (Pappus), the flanks by a helicoid.

    Raises InputError if the pitch was not typed; RangeError if the thread is deeper than its rod.
    """
    diameter, length, pitch = *_rod(outline, form, view), form.needed("pitch")
    if 2.0 * DEPTH * THREAD_HEIGHT * pitch.value >= diameter.value:
        raise RangeError(
            f"A pitch of {pitch.value:g} mm is too coarse for {diameter.value:.4g} mm.", remedy="Check the pitch."
        )
    factor = propagate(thread_factor, diameter, pitch, unit="1")
    root = propagate(lambda d, p: d - 2.0 * DEPTH * THREAD_HEIGHT * p, diameter, pitch, unit="mm")
    return _swept(diameter, length, factor, disc(root), {"pitch": pitch, "root diameter": root})


def thread_factor(diameter: float, pitch: float) -> float:
    """Return the surface of a thread over that of a plain rod of its major diameter."""
    depth = DEPTH * THREAD_HEIGHT * pitch
    root = diameter - 2.0 * depth
    middle = diameter - depth
    flank = depth / math.cos(math.radians(30.0))
    # A helix of flats has the area of rings as wide; flanks, being helicoids, grow by how they rise (first order).
    rise: float = (1.0 + (pitch * math.cos(math.radians(30.0)) / (math.pi * middle)) ** 2) ** 0.5
    swept = CREST * pitch * diameter + ROOT * pitch * root + 2.0 * flank * middle * rise
    return swept / (pitch * diameter)


def knurl(outline: Outline, form: FormText, *, view: View | None) -> FormSurface:
    """Return the surface of a knurled rod: full teeth of a V profile, straight ones or two crossed rows (pyramids).

    Straight: each flank leans by half the angle a from upright, so the factor is 1 / sin(a / 2). Crossed grooves of
    the same V at right angles leave pyramids whose four faces lean alike: the same factor (closed forms). The knurl
    stands on the diameter measured over its tips; its mean diameter is one tooth height less.

    Raises InputError if the pitch was not typed.
    """
    diameter, length, pitch = *_rod(outline, form, view), form.needed("pitch")
    angle = form.figure("angle") or exact(KNURL_ANGLE, "deg")
    if not 30.0 <= angle.value <= 150.0:
        raise RangeError(
            f"A knurl of {angle.value:g}° is outside 30° to 150°.", remedy="Give the angle of its grooves."
        )
    (factor,) = differenced(_knurl_factor, [diameter, pitch, angle], ["1"])
    blunt = {"form: worn tips": (factor.value - 1.0) * _BLUNT}
    factor = Measured(value=factor.value, unit="1", budget={**factor.budget, **blunt})
    return _swept(diameter, length, factor, disc(diameter), {"pitch": pitch})


_BLUNT = 0.1
"""Relative standard uncertainty of what a knurl adds, for tips are blunt and grooves not full (own estimate)."""


def _knurl_factor(diameter: float, pitch: float, angle: float) -> list[float]:
    half = angle * math.pi / 360.0
    height = pitch / 2.0 / math.tan(half)
    return [(1.0 - height / diameter) / math.sin(half)]


def reeding(outline: Outline, form: FormText, *, view: View | None) -> FormSurface:
    """Return the surface of a reeded rod: beads of one pitch and depth side by side, each an arc.

    An arc of chord p and rise h is 2 r a long, r = (p^2 / 4 + h^2) / (2 h), tan(a / 2) = 2 h / p (closed form). The
    beads stand on the mean diameter, one third of their depth below the tips.

    Raises InputError if pitch or depth were not typed; RangeError if the beads are deeper than half round.
    """
    diameter, length = _rod(outline, form, view)
    pitch, depth = form.needed("pitch"), form.needed("depth")
    if depth.value > pitch.value / 2.0 * (1.0 + 1e-9):
        raise RangeError(
            f"A reed {depth.value:g} mm deep is more than half round for a pitch of {pitch.value:g} mm.",
            remedy="Check pitch and depth.",
        )
    (factor,) = differenced(_reed_factor, [diameter, pitch, depth], ["1"])
    return _swept(diameter, length, factor, disc(diameter), {"pitch": pitch, "depth": depth})


def _reed_factor(diameter: float, pitch: float, depth: float) -> list[float]:
    radius = (pitch * pitch / 4.0 + depth * depth) / (2.0 * depth)
    angle = 2.0 * math.atan(2.0 * depth / pitch)
    return [2.0 * radius * angle / pitch * (1.0 - 2.0 / 3.0 * depth / diameter)]


def _rod(outline: Outline, form: FormText, view: View | None) -> tuple[Measured, Measured]:
    """Return diameter and length of a rod: typed, or of the outline, undone for height and slant. [mm]"""
    long, wide = sides_of(outline)
    if view is not None:
        wide, long = _in_view(outline, view, wide, long)
    return form.figure("diameter") or wide, form.figure("length") or long


def _in_view(outline: Outline, view: View, wide: Measured, long: Measured) -> tuple[Measured, Measured]:
    """Return diameter and length at the height of the axis; rays along the rod show a part of each end face. [mm]"""
    across, along = _from_foot(outline, view)
    radius, lifted = wide.value / 2.0, 1.0
    for _ in range(6):
        lifted = float(view.lifted(radius))
        radius = float(
            true_radius(wide.value / 2.0 * lifted, across=across * lifted, distance_mm=view.height_mm - radius)
        )
    half = long.value / 2.0
    shown = radius * (abs(along + half) + abs(along - half)) / view.height_mm
    true = long.value * lifted - shown
    budget = {name: share * true / long.value for name, share in long.budget.items()}
    length = Measured(value=true, unit="mm", budget={**budget, "form: ends seen aslant": 0.2 * shown})
    return wide.times(2.0 * radius / wide.value), length


def _from_foot(outline: Outline, view: View) -> tuple[float, float]:
    """Return how far the camera's foot lies from the axis of a rod, and from its middle along the axis. [mm]"""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(outline.polygon))
    one, other = corners[1] - corners[0], corners[2] - corners[1]
    way = one if math.hypot(*one) > math.hypot(*other) else other
    way = way / math.hypot(*way)
    middle = corners[:4].mean(axis=0) - [view.x_mm, view.y_mm]
    return abs(float(way[0] * middle[1] - way[1] * middle[0])), abs(float(way @ middle))


def _swept(
    diameter: Measured, length: Measured, factor: Measured, end: Measured, figures: dict[str, Measured]
) -> FormSurface:
    area = propagate(lambda a, f: a * f, cylinder(diameter, length), factor, unit="mm2")
    girth = area.value / length.value
    return FormSurface(
        lines=(
            FormLine(name="outside", side="front", basis="computed", area=area),
            FormLine(name="ends", side="wall", basis="computed", area=end.times(2.0)),
        ),
        figures={"diameter": diameter, "length": length, "surface over a plain rod": factor, **figures},
        unrolled=box(0.0, -girth / 2.0, length.value, girth / 2.0),
    )
