"""Domed parts from above: the outline and the rise of its middle."""

from __future__ import annotations

from areakit.flags import flag
from areakit.geometry.features import Dome, dome_extra
from areakit.geometry.forms.result import FormLine, FormSurface
from areakit.geometry.forms.words import FormText
from areakit.geometry.outline import Outline
from areakit.geometry.surface_line import Basis
from areakit.uncertainty import Measured, propagate, total


def domed(outline: Outline, form: FormText, *, thickness: Measured | None) -> FormSurface:
    """Return front, back and wall of a dome: its flat area and what the rise adds (:func:`dome_extra`).

    Raises InputError if the rise was not typed; RangeError if the dome is too high for its outline.
    """
    extra, is_round = dome_extra(outline, Dome(height=form.needed("rise")))
    basis: Basis = "measured" if outline.origin in {"photo", "scan"} else "computed"
    dome = total([outline.area, extra], "mm2")
    hollow = bool(form.word("hollow"))
    lines = [
        FormLine(name="dome", side="front", basis=basis, area=dome),
        FormLine(
            name="inside of the dome" if hollow else "back",
            side="back",
            basis=basis,
            area=dome if hollow else outline.area,
        ),
    ]
    if thickness is not None:
        around = total([outline.perimeter_outer, outline.perimeter_holes], "mm")
        wall = propagate(lambda p, t: p * t, around, thickness, unit="mm2")
        lines.append(FormLine(name="walls", side="wall", basis="computed", area=wall))
    return FormSurface(
        lines=tuple(lines),
        figures={"rise": form.needed("rise")},
        flags=() if is_round else (flag("DOME_SHAPE_ASSUMED"),),
    )
