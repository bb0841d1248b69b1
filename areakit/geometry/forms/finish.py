"""What the outline of rounded stock leaves open: flanks that are dull or polished, and whether it is wire at all."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from shapely import affinity
from shapely.geometry import Polygon

from areakit.errors import AreakitError, OutlineInvalid
from areakit.flags import flag
from areakit.geometry.forms.middle import middle_line
from areakit.geometry.forms.result import FormSurface
from areakit.geometry.forms.words import FormText
from areakit.uncertainty import Measured

MIRRORED = math.sqrt(2.0)
"""True width over that within which a polished round flank shows the sky: skin that leans more than 45 degrees mirrors
the sheet to a camera above, and a circle leans by 45 degrees at 1 / sqrt 2 of its radius (law of reflection)."""
SLENDER = 8.0
"""Length over width from which an outline is asked about (own estimate: tags and bars are shorter, wire is longer)."""
EVEN = 0.06
"""Standard deviation of the width along the middle over its mean up to which the width is even (own estimate: drawn and
rendered wire scatters by 0.01 to 0.03)."""


def of_finish(found: FormSurface, form: FormText) -> FormSurface:
    """Return a surface that was read off the width of a photographed outline, open by what its finish leaves open.

    A dull flank is seen to its edge. Of a polished one nobody can tell: its outline may be its edge, or where it begins
    to mirror the sheet. Where nobody said which it is, half of the difference is added and the rest is open. A typed
    diameter needs no outline.

    Raises OutlineInvalid if the part is polished and its diameter was not typed.
    """
    if form.word("dull") or form.figure("diameter") is not None:
        return found
    if form.word("polished"):
        typed = f', or type its diameter: "{form.name}, diameter 3 mm"' if form.name != "turned" else ""
        raise OutlineInvalid(
            f"A polished part of the form {form.name} mirrors the sheet along its flanks, so its width cannot be seen.",
            remedy=f"Dull it with chalk or matting spray, to be cleaned off before plating{typed}.",
        )
    outsides = ("front", "back") if form.name == "turned" else ("front",)
    lines = tuple(replace(one, area=_either(one.area)) if one.side in outsides else one for one in found.lines)
    figures = {name: _either(one) if "diameter" in name else one for name, one in found.figures.items()}
    flat = found.unrolled
    return replace(
        found,
        lines=lines,
        figures=figures,
        flags=(*found.flags, flag("FINISH_ASKED", form=form.name)),
        unrolled=None if flat is None else affinity.scale(flat, 1.0, (1.0 + MIRRORED) / 2.0, origin=(0.0, 0.0)),
    )


def _either(quantity: Measured) -> Measured:
    """Return a quantity that goes with the width, which may be more by a factor of up to ``MIRRORED``."""
    middle, half = (1.0 + MIRRORED) / 2.0, (MIRRORED - 1.0) / 2.0
    budget = {name: share * middle for name, share in quantity.budget.items()}
    budget["form: dull or polished"] = quantity.value * half / math.sqrt(3.0)
    return Measured(value=quantity.value * middle, unit=quantity.unit, budget=budget)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """An outline like that of wire: how long it is along its middle, and how wide. [mm]"""

    length_mm: float
    width_mm: float

    @property
    def times(self) -> float:
        """Length over width."""
        return self.length_mm / self.width_mm


def like_stock(polygon: Polygon) -> Stock | None:
    """Return length and width of an outline that is long and even in width, open or closed to a ring; else None."""
    if len(polygon.interiors) > 1 or polygon.length**2 < 4.0 * SLENDER * polygon.area:
        return None  # of a strip L by w the perimeter squared is at least 4 L / w times the area
    try:
        line = middle_line(polygon)
    except AreakitError:
        return None
    widths = line.half_widths[line.clear] if line.clear.sum() > 8 else line.half_widths
    if line.forks or float(np.std(widths)) > EVEN * float(np.mean(widths)):
        return None
    found = Stock(length_mm=line.length_mm, width_mm=line.mean_width_mm)
    return found if found.times >= SLENDER else None
