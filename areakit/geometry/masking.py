"""Which part of a face or a wall the masks leave free, and how well that is known."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from areakit.geometry.features import Mask, Region
from areakit.uncertainty import Measured

_TOUCH_MM = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Clear:
    """What the masks leave free of one face: region [mm], area [mm2], and the length of mask edge along it [mm]."""

    region: Region
    area: Measured
    mask_edge_mm: float


def clear_area(face: Polygon, area: Measured, masks: Sequence[Mask]) -> Clear:
    """Return the free part of a face.

    The shares of the face pass on with its area (a common scale), the share ``edge`` with the length of outline that
    stays free, and ``mask`` is added: the edge of each mask may lie further in or out all along.
    """
    region = _areal(allowed(face, masks))
    boundary = shapely.buffer(face.boundary, _TOUCH_MM)
    own_edge = shapely.intersection(region.boundary, boundary).length
    mask_edge = max(region.boundary.length - own_edge, 0.0)
    portion, edge_portion = region.area / face.area, min(own_edge / face.length, 1.0)
    budget = {name: share * (edge_portion if name == "edge" else portion) for name, share in area.budget.items()}
    spread = max((mask.edge_mm for mask in masks), default=0.0)
    budget["mask"] = math.hypot(budget.get("mask", 0.0), mask_edge * spread)
    return Clear(
        region=region, area=Measured(value=area.value * portion, unit="mm2", budget=budget), mask_edge_mm=mask_edge
    )


def allowed(shape: BaseGeometry, masks: Sequence[Mask]) -> BaseGeometry:
    """Return what of a face or of a wall's line is inside the regions to keep, if any, and outside all stop-offs."""
    kept = [mask.region for mask in masks if mask.keep]
    stopped = [mask.region for mask in masks if not mask.keep]
    free = shape.intersection(shapely.union_all(kept)) if kept else shape
    return free.difference(shapely.union_all(stopped)) if stopped else free


def overspill(face: Polygon, clear: Clear, margin: Measured) -> Measured:
    """Return the area by which plating spreads under or over the edge of the masks, inside the face. [mm2]

    The free region grows by the margin; its share ``overspill`` is the mask edge times the doubt in the margin.
    """
    grown = clear.region.buffer(margin.value).intersection(face)
    spread = {name: share * clear.mask_edge_mm for name, share in margin.budget.items()}
    return Measured(value=max(grown.area - clear.region.area, 0.0), unit="mm2", budget=spread)


def _areal(shape: BaseGeometry) -> Region:
    """Keep the areas of a mixed geometry; an empty one stays empty."""
    if isinstance(shape, Polygon | MultiPolygon):
        return shape
    pieces = [piece for piece in getattr(shape, "geoms", []) if isinstance(piece, Polygon)]
    return MultiPolygon(pieces)


@dataclass(frozen=True, slots=True, kw_only=True)
class FaceRegions:
    """One face cut up for a picture: the ``free`` part, what is ``masked``, and the ``spill`` between them. [mm]"""

    face: Polygon
    free: Region
    masked: Region
    spill: Region


def face_regions(face: Polygon, masks: Sequence[Mask], margin_mm: float = 0.0) -> FaceRegions:
    """Return the regions of one face; without masks all of it is free."""
    free = _areal(allowed(face, masks)) if masks else face
    grown = free.buffer(margin_mm).intersection(face) if margin_mm > 0.0 else free
    spill = _areal(grown.difference(free))
    return FaceRegions(face=face, free=free, masked=_areal(face.difference(grown)), spill=spill)
