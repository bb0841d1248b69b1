"""A measured part whose outline was corrected, or over which regions were drawn, by hand on its photo."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, get_args

import numpy as np

from areakit.errors import InputError, RangeError
from areakit.geometry.correction import carried_rings, corrected_outline
from areakit.geometry.drawn_regions import (
    SIDES,
    DrawnRegion,
    RegionKind,
    drawn_flags,
    drawn_masks,
    drawn_significant,
    significant_by_hand,
)
from areakit.geometry.part import Part
from areakit.geometry.surface import plated_surface
from areakit.imaging.camera import SIZE, Camera
from areakit.records.measure_json import part_json
from areakit.service.form_regions import drawn_form, shared_out
from areakit.service.part_body import part_from_body, regions_json
from areakit.units import parse

Rings = Sequence[Sequence[Sequence[float]]]
Floats = np.ndarray[Any, np.dtype[np.float64]]
FORM = "form"
"""The kind of a drawn region that has a form or a thickness of its own."""
LEAST_HAND_MM, HAND_PX = 0.05, 2.0
"""Standard uncertainty of a point set by hand: two pixels of the photo, and no less than 0.05 mm (practice)."""
MOST_POINTS, MOST_REGIONS = 50_000, 50
_Y_UP = np.array([1.0, -1.0])
"""Outlines have y upwards, photos downwards."""
_AGAIN = "Measure the photo again, and correct the outline that it gives."


@dataclass(frozen=True, slots=True, kw_only=True)
class CorrectRequest:
    """One part as the measurement printed it, and its rings in pixels of the photo, before and after the correction.

    ``regions`` were drawn over it: each has a ``kind`` (``stop_off``, ``keep`` or ``significant``), a ``ring_px``, and
    the ``sides`` it lies on (``front`` unless said, ``back``, ``both``). One of the kind ``form`` has ``words``: what
    it has of its own, as ``form round; thickness 0.3 mm``. ``camera`` is what the measurement gave
    (``parameters`` and ``k3``); ``hand`` the expanded uncertainty of a point set by hand, as ``0.2 mm``.
    """

    part: Mapping[str, Any]
    before_px: Rings
    rings_px: Rings
    camera: Mapping[str, Any]
    regions: Sequence[Mapping[str, Any]] = ()
    hand: str | None = None


def correct(request: CorrectRequest) -> dict[str, Any]:
    """Return the part's JSON with the surfaces of the corrected outline.

    InputError for a part or a camera that no measurement printed, or rings that are no rings; OutlineInvalid for an
    outline that crosses itself.
    """
    body, part = request.part, part_from_body(request.part)
    camera, height = _camera(request.camera), _level(part)
    drawn = _regions(request.regions)
    if not request.before_px or not request.rings_px:
        raise InputError("The outline has no ring.", remedy=_AGAIN)
    _check_count([*request.before_px, *request.rings_px, *(one["ring_px"] for one in drawn)])

    flat = _on_sheet(camera, [_ring(ring) for ring in request.before_px], height)
    after_px = [*request.rings_px, *(one["ring_px"] for one in drawn)]
    after = _on_sheet(camera, [_ring(ring) for ring in after_px], height)
    carried = carried_rings(body["outline"]["coordinates"], flat, after)
    rings, region_rings = carried[: len(request.rings_px)], carried[len(request.rings_px) :]
    with np.errstate(all="ignore"):  # what is not finite is refused as a hand
        hand = _hand(request.hand, camera.mm_per_px(flat[0].mean(axis=0) * _Y_UP))
    placed = list(zip(drawn, region_rings, strict=True))
    regions = [
        DrawnRegion(kind=one["kind"], ring_mm=ring, sides=one["sides"]) for one, ring in placed if one["kind"] != FORM
    ]
    own = tuple(drawn_form(ring, one["words"], hand_mm=hand) for one, ring in placed if one["kind"] == FORM)
    outline = corrected_outline(part.outline, rings, hand_mm=hand)
    moved = any(told.code == "CORRECTED_BY_HAND" for told in outline.flags)
    outline = replace(outline, flags=(*outline.flags, *drawn_flags(placed, hand_mm=hand)))
    part = replace(
        part, outline=outline, masks=drawn_masks(regions, hand_mm=hand), significant=drawn_significant(regions)
    )
    (part,) = shared_out([part], own)
    surface = plated_surface(part)
    if surface.significant is not None:
        significant = significant_by_hand(surface.significant, regions, part=outline.polygon, hand_mm=hand)
        surface = replace(surface, significant=significant)
    return {
        **part_json(body.get("id", 1), surface, outline, part.thickness),
        "corrected": moved,
        "regions": regions_json(regions, hand_mm=hand),
    }


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceRequest:
    """Points of a photo, shape (n, 2) in pixels, on one part as the measurement printed it; see CorrectRequest."""

    part: Mapping[str, Any]
    before_px: Rings
    points_px: Sequence[Sequence[float]]
    camera: Mapping[str, Any]


def places_mm(request: PlaceRequest) -> list[list[float]]:
    """Return the points in the millimetres of the part's outline, to a hundredth.

    InputError for a part or a camera that no measurement printed, or points that are none.
    """
    part, camera = part_from_body(request.part), _camera(request.camera)
    height = _level(part)
    _check_count([*request.before_px, request.points_px])
    try:
        points = np.array(request.points_px, dtype=float).reshape(-1, 2)
    except (TypeError, ValueError, OverflowError):
        points = np.full((1, 2), np.nan)
    if not len(points) or not np.all(np.isfinite(points)):
        raise InputError("There is no point, or one that is no number.", remedy="Tap the photo again.")
    flat = _on_sheet(camera, [_ring(ring) for ring in request.before_px], height)
    placed = _on_sheet(camera, [points], height)
    (carried,) = carried_rings(request.part["outline"]["coordinates"], flat, placed)
    return [[round(float(x), 2), round(float(y), 2)] for x, y in carried]


def _level(part: Part) -> float:
    """Return the height at which the outline was read. [mm]"""
    if part.view is not None:
        return part.view.level_mm
    return part.thickness.value if part.thickness else 0.0


def _on_sheet(camera: Camera, rings_px: Sequence[Floats], height: float) -> list[Floats]:
    """Return rings where the camera sees them at a height, y upwards; InputError where it sees no sheet. [mm]"""
    with np.errstate(all="ignore"):  # what is not finite is refused below
        rings = [camera.to_sheet(ring, height) * _Y_UP for ring in rings_px]
    if not all(np.isfinite(ring).all() for ring in rings):
        raise InputError("The camera of the measurement does not see every point.", remedy=_AGAIN)
    return rings


def _hand(text: str | None, mm_per_px: float) -> float:
    """Return the standard uncertainty of a point set by hand. [mm]"""
    hand = max(LEAST_HAND_MM, HAND_PX * mm_per_px)
    if text:
        hand = parse(text, "length") * 1e3 / 2.0
    if not 0.0 < hand <= 5.0:
        raise RangeError(f"A hand of {2 * hand:g} mm is outside 0 to 10 mm.", remedy="Give it as 0.2 mm.")
    return hand


def _regions(regions: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return the drawn regions with their defaults; InputError for one that is not one."""
    if len(regions) > MOST_REGIONS:
        raise InputError(f"{len(regions)} regions were drawn; {MOST_REGIONS} are read.", remedy="Draw fewer.")
    found = []
    for one in regions:
        kind, sides, ring, words = one.get("kind"), one.get("sides", "front"), one.get("ring_px"), one.get("words", "")
        known = kind in get_args(RegionKind) or (kind == FORM and isinstance(words, str))
        if not known or sides not in SIDES or not isinstance(ring, list):
            raise InputError(
                "A drawn region is no region.",
                remedy=f"It has a ring_px, a kind ({', '.join(get_args(RegionKind))}) and sides ({', '.join(SIDES)}); "
                f"or the kind {FORM} and words.",
            )
        found.append({"kind": kind, "sides": sides, "ring_px": ring, "words": words})
    return found


def _camera(body: Mapping[str, Any]) -> Camera:
    try:
        parameters = np.array(body["parameters"], dtype=float)
        k3 = float(body.get("k3", 0.0))
    except (KeyError, TypeError, ValueError, OverflowError):
        parameters, k3 = np.zeros(0), 0.0
    if parameters.shape not in ((SIZE,), (SIZE + 1,)) or not np.all(np.isfinite([*parameters, k3])):
        raise InputError("The camera of the measurement is missing.", remedy=_AGAIN)
    return Camera(parameters=parameters, covariance=np.zeros((len(parameters),) * 2), rms_px=0.0, k3=k3)


def _check_count(rings: Rings) -> None:
    count = sum(len(ring) for ring in rings)
    if count > 2 * MOST_POINTS:
        raise InputError(f"The outline has {count // 2} points; 3 to {MOST_POINTS} are read.", remedy=_AGAIN)


def _ring(ring: Sequence[Sequence[float]]) -> Floats:
    try:
        points = np.array(ring, dtype=float)
    except (TypeError, ValueError, OverflowError):
        points = np.zeros(0)
    if points.ndim != 2 or points.shape[1] != 2 or len(points) < 3 or not np.all(np.isfinite(points)):
        raise InputError("A ring of the outline has fewer than three points, or one that is no number.", remedy=_AGAIN)
    return points
