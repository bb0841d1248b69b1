"""A measured part whose outline was corrected by hand on its photo: its surfaces, computed anew."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from areakit.errors import InputError, RangeError
from areakit.geometry.correction import carried_rings, corrected_outline
from areakit.geometry.surface import plated_surface
from areakit.imaging.camera import SIZE, Camera
from areakit.records.documents import part_json
from areakit.service.part_body import part_from_body
from areakit.units import parse

Rings = Sequence[Sequence[Sequence[float]]]
LEAST_HAND_MM, HAND_PX = 0.05, 2.0
"""Standard uncertainty of a point set by hand: two pixels of the photo, and no less than 0.05 mm (practice)."""
MOST_POINTS = 50_000
_Y_UP = np.array([1.0, -1.0])
"""Outlines have y upwards, photos downwards."""
_AGAIN = "Measure the photo again, and correct the outline that it gives."


@dataclass(frozen=True, slots=True, kw_only=True)
class CorrectRequest:
    """One part as the measurement printed it, and its rings in pixels of the photo, before and after the correction.

    ``camera`` is what the measurement gave (``parameters`` and ``k3``); ``hand`` the expanded uncertainty of a point
    set by hand, as ``0.2 mm``.
    """

    part: Mapping[str, Any]
    before_px: Rings
    rings_px: Rings
    camera: Mapping[str, Any]
    hand: str | None = None


def correct(request: CorrectRequest) -> dict[str, Any]:
    """Return the part's JSON with the surfaces of the corrected outline.

    Raises
    ------
    InputError
        For a part or a camera that no measurement printed, or rings that are no rings.
    OutlineInvalid
        For an outline that crosses itself.
    """
    body, part = request.part, part_from_body(request.part)
    camera, height = _camera(request.camera), part.thickness.value if part.thickness else 0.0
    flat, drawn = (
        [camera.to_sheet(_ring(ring), height) * _Y_UP for ring in _bounded(rings)]
        for rings in (request.before_px, request.rings_px)
    )
    rings = carried_rings(body["outline"]["coordinates"], flat, drawn)
    hand = parse(request.hand, "length", bare_unit="mm") * 1e3 / 2.0 if request.hand else None
    if hand is None:
        hand = max(LEAST_HAND_MM, HAND_PX * camera.mm_per_px(flat[0].mean(axis=0) * _Y_UP))
    if not 0.0 < hand <= 5.0:
        raise RangeError(f"A hand of {2 * hand:g} mm is outside 0 to 10 mm.", remedy="Give it as 0.2 mm.")
    outline = corrected_outline(part.outline, rings, hand_mm=hand)
    part = replace(part, outline=outline)
    moved = any(told.code == "CORRECTED_BY_HAND" for told in outline.flags)
    return {**part_json(body.get("id", 1), plated_surface(part), outline, part.thickness), "corrected": moved}


def _camera(body: Mapping[str, Any]) -> Camera:
    try:
        parameters = np.array(body["parameters"], dtype=float)
        k3 = float(body.get("k3", 0.0))
    except (KeyError, TypeError, ValueError):
        parameters, k3 = np.zeros(0), 0.0
    if parameters.shape != (SIZE,) or not np.all(np.isfinite(parameters)):
        raise InputError("The camera of the measurement is missing.", remedy=_AGAIN)
    return Camera(parameters=parameters, covariance=np.zeros((SIZE, SIZE)), rms_px=0.0, k3=k3)


def _bounded(rings: Rings) -> Rings:
    count = sum(len(ring) for ring in rings)
    if not rings or count > MOST_POINTS:
        raise InputError(f"The outline has {count} points; 3 to {MOST_POINTS} are read.", remedy=_AGAIN)
    return rings


def _ring(ring: Sequence[Sequence[float]]) -> np.ndarray[Any, np.dtype[np.float64]]:
    try:
        points = np.array(ring, dtype=float)
    except (TypeError, ValueError):
        points = np.zeros(0)
    if points.ndim != 2 or points.shape[1] != 2 or len(points) < 3 or not np.all(np.isfinite(points)):
        raise InputError("A ring of the outline has fewer than three points, or one that is no number.", remedy=_AGAIN)
    return points
