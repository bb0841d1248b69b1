"""Strip seen from its edge: brackets, hooks, clips, bangles, from the outline of the edge and the strip's width."""

from __future__ import annotations

from shapely.geometry import box

from areakit.errors import RangeError
from areakit.geometry.forms.middle import middle_line
from areakit.geometry.forms.result import FormLine, FormSurface
from areakit.geometry.forms.seen import View
from areakit.geometry.forms.words import FormText
from areakit.geometry.outline import Outline
from areakit.geometry.surface_line import Basis
from areakit.uncertainty import Measured, exact, propagate, total

_ENDS_BOTH = 2.0


def bent_strip(outline: Outline, form: FormText, *, view: View | None) -> FormSurface:
    """Return the faces, edges and ends of a strip that stands on its edge.

    The strip is a prism of its outline: all that runs round the outline is as high as the strip is wide, and the two
    edges have the area of the outline (closed form). Both ends are as long as the strip is thick.

    Raises InputError if the width was not typed; OutlineInvalid, RangeError if the outline is not that of a strip.
    """
    width = form.needed("width")
    line = middle_line(outline.polygon)
    thick = line.mean_width_mm
    if line.length_mm < 3.0 * thick:
        raise RangeError(
            f"The outline is {line.length_mm / thick:.1f} times as long as thick; a strip is from 3 times.",
            remedy="Choose the flat form, with the width as thickness.",
            fields={"form": "flat"},
        )
    basis: Basis = "measured" if outline.origin in {"photo", "scan"} else "computed"
    spread = {"form: width of the stock": line.scatter() * thick}
    thickness = Measured(value=thick, unit="mm", budget=spread)
    around = total([outline.perimeter_outer, outline.perimeter_holes], "mm")
    count = float(len(line.ends))
    ends = propagate(lambda t, w: count * t * w, thickness, width, unit="mm2")
    faces = propagate(lambda p, t, w: (p - count * t) * w, around, thickness, width, unit="mm2")
    half = propagate(lambda a: a / 2.0, faces, unit="mm2")
    lines = [
        FormLine(name="outer face", side="front", basis=basis, area=half),
        FormLine(name="inner face", side="back", basis=basis, area=half),
        FormLine(
            name="edges", side="wall", basis=basis, area=propagate(lambda a: _ENDS_BOTH * a, outline.area, unit="mm2")
        ),
    ]
    if ends.value:
        lines.append(FormLine(name="ends", side="wall", basis="computed", area=ends))
    length = half.value / width.value
    return FormSurface(
        lines=tuple(lines),
        figures={"length along the curve": exact(length, "mm"), "thickness of the strip": thickness, "width": width},
        unrolled=box(0.0, -width.value / 2.0, length, width.value / 2.0),
    )
