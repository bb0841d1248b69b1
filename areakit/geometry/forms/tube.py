"""Tubes that lie flat, straight or bent: outside from the outline, inside from a typed bore."""

from __future__ import annotations

from dataclasses import replace

from areakit.errors import RangeError
from areakit.flags import flag
from areakit.geometry.forms.result import FormLine, FormSurface
from areakit.geometry.forms.rods import annulus, cylinder
from areakit.geometry.forms.round import round_stock
from areakit.geometry.forms.seen import View
from areakit.geometry.forms.words import FormText
from areakit.geometry.outline import Outline
from areakit.uncertainty import Measured, propagate, total


def tube(outline: Outline, form: FormText, *, view: View | None) -> FormSurface:
    """Return outside, inside to a stated reach from each open end, and both ends.

    The outside is that of round stock; inside it is pi times the bore times the length along the middle (Pappus), or
    twice the reach where less of it is reached. Both ends are rings.

    Raises InputError if the bore was not typed; RangeError if the bore is no smaller than the tube.
    """
    bore = form.needed("bore")
    plain = replace(
        form,
        words={**form.words, "ends": "none"},
        figures={k: v for k, v in form.figures.items() if k in ("diameter", "length")},
    )
    outside = round_stock(outline, plain, view=view)
    diameter, length = outside.figures["mean diameter"], outside.figures["length along the middle"]
    if bore.value >= diameter.value:
        raise RangeError(
            f"A bore of {bore.value:g} mm is no smaller than the tube of {diameter.value:.4g} mm.",
            remedy="Check the bore and its unit.",
        )
    run = _run(length, form, diameter)
    lines = [
        *(line for line in outside.lines if line.side == "front"),
        FormLine(name="inside", side="back", basis="computed", area=cylinder(bore, run)),
        FormLine(
            name="ends",
            side="wall",
            basis="computed",
            area=propagate(lambda ring: 2.0 * ring, annulus(diameter, bore), unit="mm2"),
        ),
    ]
    figures = {**outside.figures, "bore": bore, "length reached inside": run}
    told = [] if form.figure("reach") is not None else [
        flag("INSIDE_REACH", depth_mm=length.value / 2.0, bores=length.value / 2.0 / bore.value)
    ]  # fmt: skip
    return replace(outside, lines=tuple(lines), figures=figures, flags=(*outside.flags, *told))


def _run(length: Measured, form: FormText, diameter: Measured) -> Measured:
    """Return what length of the inside is plated: all of it, or the reach from both ends. [mm]"""
    # The middle of a seen tube stops at its tips, so its length is known to about the edge of the outline.
    spread = diameter.standard_uncertainty
    whole = Measured(value=length.value, unit="mm", budget={"form: length": spread})
    reach = form.figure("reach")
    if reach is None:
        return whole
    ends = 1.0 if form.word("inside") == "closed" else 2.0
    if ends * reach.value >= length.value:
        return whole
    return total([reach] * int(ends), "mm")
