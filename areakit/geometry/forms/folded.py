"""Folded sheet from its flat pattern: each leaf as drawn, and what a bend makes of its strip."""

from __future__ import annotations

import math

from areakit.errors import RangeError
from areakit.geometry.forms.result import FormLine, FormSurface
from areakit.geometry.forms.words import FormText
from areakit.geometry.outline import Outline
from areakit.geometry.surface_line import Basis
from areakit.uncertainty import Measured, propagate, total

NEUTRAL = (0.33, 0.5)
"""Where the neutral layer of a bend lies, over the thickness, from the inside: sharp bends to wide ones (common
practice, no source; DIN 6935 gives values between, from memory)."""


def folded_sheet(outline: Outline, form: FormText, *, thickness: Measured | None) -> FormSurface:
    """Return both faces and the walls of a sheet that was folded from a flat pattern.

    The pattern is as long as the neutral layer of a bend, b (r + k t) for an angle b; its outside is b (r + t) long and
    its inside b r (closed form), so the faces together gain b t (1 - 2 k) for each length of fold. Walls keep their
    area to first order.

    Parameters
    ----------
    form : FormText
        ``fold`` is the length of all folds together, measured along them [mm]; ``angle`` what each turns by.

    Raises
    ------
    InputError, RangeError
        If the folds, the inner radius or the thickness are missing, or a fold turns by more than 180 degrees.
    """
    fold, radius = form.needed("fold", "(the length of all folds together)"), form.needed("radius", "(inside)")
    if thickness is None:
        raise RangeError("A folded sheet needs its thickness.", remedy="Give it with --thickness.")
    angle = form.figure("angle") or Measured(value=90.0, unit="deg")
    if angle.value > 180.0:
        raise RangeError(
            f"A fold of {angle.value:g}° cannot be.", remedy="Give what each fold turns by, up to 180 deg."
        )
    middle, half = sum(NEUTRAL) / 2.0, (NEUTRAL[1] - NEUTRAL[0]) / 2.0
    neutral = form.figure("neutral") or Measured(
        value=middle, unit="1", budget={"form: neutral layer": half / math.sqrt(3.0)}
    )
    inputs = fold, angle, thickness, neutral
    outer = propagate(lambda w, b, t, k: w * math.pi / 180.0 * b * t * (1.0 - k), *inputs, unit="mm2")
    inner = propagate(lambda w, b, t, k: -w * math.pi / 180.0 * b * t * k, *inputs, unit="mm2")
    walls = propagate(
        lambda p, t: p * t, total([outline.perimeter_outer, outline.perimeter_holes], "mm"), thickness, unit="mm2"
    )
    basis: Basis = "measured" if outline.origin in {"photo", "scan"} else "computed"
    strip = propagate(lambda w, b, r, t, k: w * math.pi / 180.0 * b * (r + k * t), fold, angle, radius, thickness,
                      neutral, unit="mm2")  # fmt: skip
    if strip.value > outline.area.value:
        raise RangeError(
            f"The folds take {strip.value:.4g} mm2 of a pattern of {outline.area.value:.4g} mm2.",
            remedy="Give the length of all folds together, along the folds, and the radius inside.",
        )
    return FormSurface(
        lines=(
            FormLine(name="outer face", side="front", basis=basis, area=total([outline.area, outer], "mm2")),
            FormLine(name="inner face", side="back", basis=basis, area=total([outline.area, inner], "mm2")),
            FormLine(name="walls", side="wall", basis="computed", area=walls),
        ),
        figures={"length of the folds": fold, "bend allowance, as area": strip, "thickness": thickness},
        unrolled=outline.polygon,
    )
