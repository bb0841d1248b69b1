"""From a part with a form to its surfaces."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from areakit.errors import RangeError
from areakit.flags import Flag, flag
from areakit.geometry.features import Mask, SurfaceLine
from areakit.geometry.forms.result import FormSurface, Spots
from areakit.geometry.forms.table import form_surface
from areakit.geometry.part import Part
from areakit.uncertainty import Measured, total


def formed_lines(part: Part) -> tuple[list[SurfaceLine], FormSurface, list[Flag]]:
    """Return every line of a part with a form, what the form found, and its cautions.

    Masks lie over the outside: on the half that is seen (``front``), on the half that is not (``back``), or all round.

    Raises InputError, MeasurementError if the outline is none of that form, or carries what a form cannot.
    """
    assert part.form is not None
    what, remedy = f"A part of the form {part.form.name}", "Leave it out, or measure the part as flat."
    part.refuse_worked(what, remedy, significant=True)
    found = form_surface(part.outline, part.form, view=part.view, thickness=part.thickness)
    lines = [
        SurfaceLine(name=line.name, side=line.side, basis=line.basis, area=line.area, plated=line.side in part.sides)
        for line in found.lines
    ]
    if part.masks:
        outside = total([line.area for line in found.lines if line.side == "front"], "mm2")
        masked = _masked(part, found, outside)
        lines.append(
            SurfaceLine(
                name="outside stopped off", side="front", basis="computed", area=masked, plated="front" in part.sides
            )
        )
    told = [flag("NO_TOLERANCE", dimension=name) for name in part.form.untold]
    return lines, found, [*found.flags, *told]


def _masked(part: Part, found: FormSurface, outside: Measured) -> Measured:
    """Return what masks cover of the outside, as a negative area with the share of their edges. [mm2]"""
    if found.spots is None:
        assert part.form is not None
        raise RangeError(
            f"Where a mask lies on a part of the form {part.form.name} cannot be told from its outline.",
            remedy="Leave the mask out, and plan with the area that remains.",
            fields={"area": "12.5 cm2"},
        )
    middle = _covered(part.masks, found.spots, 0.0)
    edge = max(mask.edge_mm for mask in part.masks)
    slope = (_covered(part.masks, found.spots, edge) - _covered(part.masks, found.spots, -edge)) / 2.0
    area = outside.times(-middle)
    return Measured(value=area.value, unit="mm2", budget={**area.budget, "mask": slope * outside.value})


def _covered(masks: tuple[Mask, ...], spots: Spots, moved_mm: float) -> float:
    """Return what share of the outside the masks cover, their edges moved outwards by some length."""
    halves = 0.0
    for side in ("front", "back"):
        here = [mask for mask in masks if side in mask.sides]
        kept = [mask for mask in here if mask.keep]
        free = np.ones(len(spots.weights), dtype=bool)
        for mask in here:
            if not mask.keep:
                free &= ~_inside(mask.region.buffer(moved_mm), spots)
        if kept:
            free &= _inside(shapely.union_all([mask.region.buffer(-moved_mm) for mask in kept]), spots)
        halves += float(spots.weights[~free].sum() / spots.weights.sum())
    return halves / 2.0


def _inside(region: BaseGeometry, spots: Spots) -> npt.NDArray[np.bool_]:
    shapely.prepare(region)
    return np.asarray(shapely.contains_xy(region, spots.points[:, 0], spots.points[:, 1]))
