"""Sheet that is no longer flat: folded (from its flat pattern, or its leaves as seen), bent on its edge, or domed."""

from __future__ import annotations

import math

from shapely.geometry import box

from areakit.errors import RangeError
from areakit.flags import flag
from areakit.geometry.differences import differenced
from areakit.geometry.features import Basis, Dome, dome_extra
from areakit.geometry.forms.middle import middle_line
from areakit.geometry.forms.result import FormLine, FormSurface
from areakit.geometry.forms.seen import View
from areakit.geometry.forms.words import FormText
from areakit.geometry.outline import Outline
from areakit.uncertainty import Measured, exact, propagate, total

NEUTRAL_HALF = 0.05
"""Half-width within which the neutral layer lies about that of DIN 6935, over the thickness (common practice, no
source)."""
SMALLEST_NEUTRAL = 0.25
SHARPEST_LEAF_DEG = 120.0
"""Turn of a fold up to which a leaf is measured: beyond, its outermost line runs far from the bend."""


def folded_sheet(outline: Outline, form: FormText, *, thickness: Measured | None) -> FormSurface:
    """Return both faces and the walls of a folded sheet.

    ``folded`` takes the outline as the flat pattern. It is as long as the neutral layer of a bend, b (r + K t) for an
    angle b; its outside is b (r + t) long and its inside b r (closed form), so the faces together gain b t (1 - 2 K)
    for each length of fold. Walls keep their area to first order.

    ``folded, leaf`` takes it as one leaf seen square on after folding, out to the line where the outsides of two leaves
    would meet. Half of each fold belongs to it: the outline reaches (r + t) tan(b / 2) past the start of the bend,
    where the outside has b (r + t) / 2 and the inside b r / 2; the wall at a fold is none, and each end of a bend is a
    sector of a ring (closed forms). The leaves of a part add up to the part.

    - ``form``: ``fold`` is the length of all folds together, measured along them [mm]; ``angle`` what each turns by;
      ``folds`` how many there are, of a leaf.

    Raises InputError, RangeError if the folds, the inner radius or the thickness are missing, or a fold turns by more
    than 180 degrees.
    """
    fold, radius = form.needed("fold", "(the length of all folds together)"), form.needed("radius", "(inside)")
    if thickness is None:
        raise RangeError(
            "A folded sheet needs its thickness.", remedy="Give the thickness.", fields={"thickness": "1.2 mm"}
        )
    angle = form.figure("angle") or Measured(value=90.0, unit="deg")
    if angle.value > 180.0:
        raise RangeError(
            f"A fold of {angle.value:g}° cannot be.", remedy="Give what each fold turns by, up to 180 deg."
        )
    if form.word("leaf"):
        return _leaf(outline, form, fold=fold, radius=radius, angle=angle, thickness=thickness)
    return _pattern(outline, form, fold=fold, radius=radius, angle=angle, thickness=thickness)


def neutral_layer(radius: float, thickness: float) -> float:
    """Return where the neutral layer of a bend lies, over the thickness, from the inside (the K-factor).

    DIN 6935 corrects half the thickness by k = 0.65 + 0.5 lg(r / s), from r / s = 5 on by 1 (from memory, not held
    against the standard); K = k / 2. Sharper bends than the standard gives keep the smallest.
    """
    ratio = radius / thickness
    return 0.5 if ratio >= 5.0 else max(SMALLEST_NEUTRAL, (0.65 + 0.5 * math.log10(ratio)) / 2.0)


def _pattern(
    outline: Outline, form: FormText, *, fold: Measured, radius: Measured, angle: Measured, thickness: Measured
) -> FormSurface:
    neutral = form.figure("neutral") or Measured(
        value=neutral_layer(radius.value, thickness.value),
        unit="1",
        budget={"form: neutral layer": NEUTRAL_HALF / math.sqrt(3.0)},
    )
    inputs = fold, angle, thickness, neutral
    outer = propagate(lambda w, b, t, k: w * math.pi / 180.0 * b * t * (1.0 - k), *inputs, unit="mm2")
    inner = propagate(lambda w, b, t, k: -w * math.pi / 180.0 * b * t * k, *inputs, unit="mm2")
    walls = propagate(
        lambda p, t: p * t, total([outline.perimeter_outer, outline.perimeter_holes], "mm"), thickness, unit="mm2"
    )
    strip = propagate(lambda w, b, r, t, k: w * math.pi / 180.0 * b * (r + k * t), fold, angle, radius, thickness,
                      neutral, unit="mm2")  # fmt: skip
    if strip.value > outline.area.value:
        raise RangeError(
            f"The folds take {strip.value:.4g} mm2 of a pattern of {outline.area.value:.4g} mm2.",
            remedy="Give the length of all folds together, along the folds, and the radius inside.",
        )
    figures = {
        "length of the folds": fold,
        "bend allowance, as area": strip,
        "neutral layer over thickness": neutral,
        "thickness": thickness,
    }
    return FormSurface(
        lines=_lines(outline, outer, inner, walls),
        figures=figures,
        unrolled=outline.polygon,
    )


def _leaf(
    outline: Outline, form: FormText, *, fold: Measured, radius: Measured, angle: Measured, thickness: Measured
) -> FormSurface:
    if angle.value > SHARPEST_LEAF_DEG:
        raise RangeError(
            f"A leaf at a fold of {angle.value:g}° is seen too far from its bend; up to {SHARPEST_LEAF_DEG:g}° are "
            "taken.",
            remedy="Measure the flat pattern: folded, fold 20 mm, radius 1 mm.",
        )
    count = (form.figure("folds") or exact(1.0, "1")).value
    around = total([outline.perimeter_outer, outline.perimeter_holes], "mm")
    if fold.value > around.value:
        raise RangeError(
            f"Folds of {fold.value:.4g} mm are longer than the {around.value:.4g} mm round the leaf.",
            remedy="Give the length of the folds along this leaf.",
        )

    def figures(length: float, r: float, t: float, b: float, run: float) -> list[float]:
        turn = math.radians(b)
        past = (r + t) * math.tan(turn / 2.0)
        ends = count * (turn / 2.0 * ((r + t) ** 2 - r**2) - 2.0 * past * t)
        return [
            length * (turn * (r + t) / 2.0 - past),
            length * (turn * r / 2.0 - past),
            (run - length) * t + ends,
        ]

    outer, inner, walls = differenced(figures, [fold, radius, thickness, angle, around], ["mm2", "mm2", "mm2"])
    return FormSurface(
        lines=_lines(outline, outer, inner, walls),
        figures={"length of the folds": fold, "number of folds": exact(count, "1"), "thickness": thickness},
        unrolled=outline.polygon,
    )


def _lines(outline: Outline, outer: Measured, inner: Measured, walls: Measured) -> tuple[FormLine, ...]:
    basis: Basis = "measured" if outline.origin in {"photo", "scan"} else "computed"
    return (
        FormLine(name="outer face", side="front", basis=basis, area=total([outline.area, outer], "mm2")),
        FormLine(name="inner face", side="back", basis=basis, area=total([outline.area, inner], "mm2")),
        FormLine(name="walls", side="wall", basis="computed", area=walls),
    )


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
    half = faces.times(0.5)
    lines = [
        FormLine(name="outer face", side="front", basis=basis, area=half),
        FormLine(name="inner face", side="back", basis=basis, area=half),
        FormLine(name="edges", side="wall", basis=basis, area=outline.area.times(2.0)),
    ]
    if ends.value:
        lines.append(FormLine(name="ends", side="wall", basis="computed", area=ends))
    length = half.value / width.value
    return FormSurface(
        lines=tuple(lines),
        figures={"length along the curve": exact(length, "mm"), "thickness of the strip": thickness, "width": width},
        unrolled=box(0.0, -width.value / 2.0, length, width.value / 2.0),
    )
