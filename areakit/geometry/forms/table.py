"""The forms by name: what each makes of an outline, how high its outline lies, and its outline where none was drawn."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from shapely.geometry import Polygon

from areakit.errors import InputError
from areakit.geometry.forms.band import band
from areakit.geometry.forms.finish import of_finish
from areakit.geometry.forms.profile import knurl, reeding, thread
from areakit.geometry.forms.result import FormSurface
from areakit.geometry.forms.round import round_stock, tube
from areakit.geometry.forms.seen import View
from areakit.geometry.forms.sheet import bent_strip, domed, folded_sheet
from areakit.geometry.forms.turned import turned_part
from areakit.geometry.forms.wire import chain, coil, mesh
from areakit.geometry.forms.words import FormText
from areakit.geometry.outline import Outline
from areakit.geometry.shape_text import ShapeText
from areakit.geometry.shapes import typed_shape
from areakit.uncertainty import Measured, exact, propagate, total

_Seen = Callable[..., FormSurface]
_SEEN: dict[str, _Seen] = {
    "round": round_stock,
    "turned": turned_part,
    "band": band,
    "tube": tube,
    "bent": bent_strip,
    "coil": coil,
    "thread": thread,
    "knurl": knurl,
    "reeding": reeding,
    "mesh": mesh,
    "chain": chain,
}
_SHEET: dict[str, _Seen] = {"folded": folded_sheet, "domed": domed}
_AT_AXIS = frozenset({"round", "turned", "tube", "coil", "thread", "knurl", "reeding", "chain"})
FLANK_PX = 1.2
"""By how much the edge of a rounded flank that scatters light may be found inside of where it is: 0.25 to 0.8 px on
path-traced wires and spindles (``calibration/studies/demo_solids.py``); drawn wires: see
``calibration/studies/flanks_results.md``. [px]"""
_FLANKED = frozenset({"round", "turned", "tube", "thread", "knurl", "reeding", "band"})
"""Forms whose surface goes with the width of their outline."""
_LONG = frozenset({"round", "tube", "thread", "knurl", "reeding"})


def form_surface(
    outline: Outline, form: FormText, *, view: View | None = None, thickness: Measured | None = None
) -> FormSurface:
    """Return the surfaces of a part of one form.

    - ``view``: where the camera stood; None for a drawing, which is taken as square to the part.
    - ``thickness``: of folded sheet, and of the wall of a dome. [mm]

    Raises InputError, MeasurementError if a figure is missing, or the outline is none of that form.
    """
    if form.name in _SHEET:
        return _SHEET[form.name](outline, form, thickness=thickness)
    if view is None or not is_at_axis(form) or outline.origin not in {"photo", "scan"}:
        return _SEEN[form.name](outline, form, view=view)
    found = _SEEN[form.name](_with_flank(outline, view), form, view=view)
    return of_finish(found, form) if view.pixel_mm and form.name in _FLANKED else found


def _with_flank(outline: Outline, view: View) -> Outline:
    """Return the outline grown by what a photo hides of a rounded flank.

    Near its outline a rounded part looks down: it mirrors the sheet, and its own shadow lies against it, so the edge is
    found inside of where it is, by nothing to ``FLANK_PX``. Half of that is added; the other half is open.
    """
    middle = FLANK_PX / 2.0 * view.pixel_mm
    if not middle:
        return outline
    around = total([outline.perimeter_outer, outline.perimeter_holes], "mm").value
    grown = outline.polygon.buffer(middle, join_style="mitre")
    if not isinstance(grown, Polygon):
        return outline
    budget = {**outline.area.budget, "form: flank in the shade": middle / math.sqrt(3.0) * around}
    longer = exact(2.0 * math.pi * middle, "mm")
    return replace(
        outline,
        polygon=grown,
        area=Measured(value=outline.area.value + middle * around, unit="mm2", budget=budget),
        perimeter_outer=total([outline.perimeter_outer, longer], "mm"),
    )


def tracing_height(form: FormText, thickness: Measured | None) -> Measured | None:
    """Return the height at which the outline of a form is read in a photo. [mm]

    Forms with an axis are read at the sheet, and lifted to their axis afterwards, since that height follows from the
    outline; what stands on its edge is as high as it is wide; all others are as high as they are thick.
    """
    if is_at_axis(form):
        return exact(0.0, "mm")
    if form.name in {"band", "bent"}:
        return form.needed("width")
    return thickness


def is_at_axis(form: FormText) -> bool:
    """Return whether the outline of a form lies at the height of its axis."""
    return form.name in _AT_AXIS or (form.name == "band" and form.word("seen") == "side")


def typed_outline(form: FormText) -> Outline:
    """Return the outline of a form of which all figures were typed: its side view, or a band from the front.

    Raises InputError if the form needs an outline, or a figure that was not typed.
    """
    if form.name == "band":
        return _drawn("ring", form.needed("diameter", "without an outline"), form.needed("bore", "without an outline"))
    if form.name in _LONG:
        return _drawn("rectangle", form.needed("length", "without an outline"), form.needed("diameter"))
    if form.name == "coil":
        across = propagate(lambda d, w: d + w, form.needed("diameter"), form.needed("wire"), unit="mm")
        return _drawn("rectangle", form.needed("length", "without an outline"), across)
    if form.name in {"mesh", "chain"}:
        return _drawn("rectangle", form.needed("length", "without an outline"), form.needed("width"))
    raise InputError(
        f"The form {form.name} needs an outline.",
        remedy="Give a photo, a drawing, or a typed shape.",
        fields={"shape": "disk 30 mm"},
    )


def _drawn(name: str, *sizes: Measured) -> Outline:
    shape = ShapeText(
        name=name,
        dimensions=sizes,
        corner=None,
        sides=4,
        turn_deg=0.0,
        places=((0.0, 0.0),),
        placed=False,
        untold=(),
    )
    return typed_shape(shape).outline
