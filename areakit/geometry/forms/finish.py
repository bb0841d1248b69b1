"""What a photo shows of rounded flanks that are dull, polished, or of which nobody said it."""

from __future__ import annotations

import math
from dataclasses import replace

from shapely import affinity

from areakit.errors import OutlineInvalid
from areakit.flags import flag
from areakit.geometry.forms.result import FormSurface
from areakit.geometry.forms.words import FormText
from areakit.uncertainty import Measured

MIRRORED = math.sqrt(2.0)
"""True width over that within which a polished round flank shows the sky: skin that leans more than 45 degrees mirrors
the sheet to a camera above, and a circle leans by 45 degrees at 1 / sqrt 2 of its radius (law of reflection)."""


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
