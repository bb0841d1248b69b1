"""What form the edge of a flat part has, sharp or rounded: how high its silhouette stands, and what it takes away."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, get_args

from areakit.errors import InputError, RangeError
from areakit.geometry.differences import differenced
from areakit.geometry.outline import Outline
from areakit.uncertainty import Measured, exact, propagate
from areakit.units import parse_with_tolerance

EdgeFormName = Literal["sharp", "rounded", "unknown"]
SHARE = "form of the edge"
"""Name of its share in the budgets of area and perimeter."""
BROKEN_MM = 0.6
"""Radius up to which edges are broken of which nobody speaks: sharp to struck rims (common practice, no source)."""
_CENTROID = 1.0 - 2.0 / math.pi
"""How far inside the widest line the centroid of a quarter round lies, over its radius (elementary geometry)."""
ROUND_SEGMENTS = 64


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeForm:
    """The form of an edge, the same on both faces; ``radius`` is that of a rounded one. [mm]

    ``said`` is False where nobody said, and it is taken for sharp.
    """

    name: EdgeFormName
    radius: Measured | None = None
    said: bool = True

    @property
    def text(self) -> str:
        """As it is typed."""
        if self.radius is None:
            return self.name
        spread = self.radius.standard_uncertainty * math.sqrt(3.0)
        return f"rounded {self.radius.value:g}{f' ± {spread:g}' if spread else ''} mm"

    def inset(self, thickness: Measured) -> Measured:
        """Return how far below the top face, and above the sheet, the widest lines of the part lie. [mm]

        A line of sight close to upright grazes a rounding where it turns into the wall: one radius in. Where the form
        is not known that is anything from nothing to half the thickness (rectangular, JCGM 100:2008, 4.3.7).

        Raises RangeError if both roundings together are higher than the part.
        """
        if self.name == "sharp":
            return exact(0.0, "mm")
        if self.radius is None:
            quarter = thickness.value / 4.0
            return Measured(value=quarter, unit="mm", budget={SHARE: quarter / math.sqrt(3.0)})
        if 2.0 * self.radius.value > thickness.value * (1.0 + 1e-9):
            raise RangeError(
                f"Edges rounded by {self.radius.value:g} mm on both faces do not fit a part {thickness.value:g} mm "
                "thick.",
                remedy=f"A full rounding is half the thickness, {thickness.value / 2.0:g} mm.",
            )
        return self.radius


def broken_inset(thickness: Measured, *, seen: bool) -> Measured:
    """Return the inset of an edge of which nobody said anything: broken by nothing to BROKEN_MM, or half a thin part.

    Where a rounded rim would be lost in the ground, any of it is as likely (rectangular, JCGM 100:2008, 4.3.7, as in
    :meth:`EdgeForm.inset`). Where it would be ``seen``, the sharper is the likelier: a right-angled triangle, whose
    mean lies a third of its base from the peak, and whose variance is an eighteenth of its base squared. [mm]
    """
    most = min(BROKEN_MM, thickness.value / 2.0)
    middle, spread = (most / 3.0, most / math.sqrt(18.0)) if seen else (most / 2.0, most / math.sqrt(12.0))
    return Measured(value=middle, unit="mm", budget={SHARE: spread})


SHARP = EdgeForm(name="sharp", said=False)
"""What is taken where nobody says."""


def read_edge_form(text: str) -> EdgeForm:
    """Return the form that a text says: ``sharp``, ``rounded 0.5 mm``, ``rounded 0.5 ± 0.1 mm``, ``unknown``.

    The ± is the half-width of a rectangular distribution, as for a thickness.

    Raises InputError for anything else, or a radius that is not above zero.
    """
    name, _, rest = text.strip().partition(" ")
    if name in ("sharp", "unknown") and not rest.strip():
        return EdgeForm(name="sharp" if name == "sharp" else "unknown")
    if name != "rounded" or not rest.strip():
        raise InputError(
            f"{text[:40]!r} is not a form of an edge.",
            remedy=f"Choose one of {', '.join(get_args(EdgeFormName))}; a rounded one with its radius, as in rounded "
            "0.5 mm.",
        )
    value, tolerance = parse_with_tolerance(rest, "length")
    if not value > 0.0 or (tolerance is not None and tolerance >= value):
        raise RangeError(
            f"An edge rounded by {rest.strip()[:40]} cannot be.", remedy="Give a radius above zero, as rounded 0.5 mm."
        )
    spread = 1e3 * (tolerance or 0.0) / math.sqrt(3.0)
    return EdgeForm(name="rounded", radius=Measured(value=1e3 * value, unit="mm", budget={SHARE: spread}))


def face_extra(outline: Outline, thickness: Measured, form: EdgeForm) -> Measured | None:
    r"""Return by how much a face with its rounding is larger than the outline's area; None for a sharp edge. [mm2]

    A face is all that is seen from its side: the flat inside and the quarter round to the widest line. The quarter
    round of radius r has the area

    .. math:: A = \frac{\pi}{2} r L

    with L the length of the ring through its centroid (second theorem of Pappus), in place of the flat strip between
    the widest line and the ring r inside it.

    Raises RangeError if the roundings do not fit the thickness, or leave nothing of the face.
    """
    if form.name == "sharp":
        return None
    polygon = outline.polygon

    def extra(radius: float) -> list[float]:
        flat = polygon.buffer(-radius, quad_segs=ROUND_SEGMENTS)
        if flat.is_empty and form.name == "rounded":
            raise RangeError(
                f"Edges rounded by {radius:.3g} mm leave nothing of the face.", remedy="Check the radius and its unit."
            )
        along = polygon.buffer(-_CENTROID * radius, quad_segs=ROUND_SEGMENTS).length
        return [math.pi / 2.0 * radius * along - (polygon.area - flat.area)]

    (drawn,) = differenced(extra, [form.inset(thickness)], ["mm2"])
    outer, holes = outline.perimeter_outer, outline.perimeter_holes
    whole = outer.value + holes.value
    return propagate(lambda area, a, b: area * (a + b) / whole, drawn, outer, holes, unit="mm2")


def upright(thickness: Measured, form: EdgeForm) -> Measured:
    """Return the height of the upright wall between both roundings. [mm]"""
    if form.name == "sharp":
        return thickness
    return propagate(lambda t, r: t - 2.0 * r, thickness, form.inset(thickness), unit="mm")
