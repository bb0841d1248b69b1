"""Traps of the photo, the camera and the sheet."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from areakit.synthetic import Scene, draw_scene, jpeg_bytes, render, truth
from calibration.studies.accuracy_scenes import entry_of
from calibration.studies.silent import Case, Draw

Bytes = npt.NDArray[np.uint8]
USUAL: dict[str, Any] = {"size_px": (2688, 2016), "tilt_deg": (0.0, 18.0), "blur_px": (0.6, 1.0), "windows": ("blue",)}
"""What every trap starts from: a photo as the advice asks for it, at the size that messengers and small phones give."""


def good_scene(kind: str, seed: int, **limits: Any) -> Scene:
    """Return a scene without any trap, drawn for a kind and a seed."""
    return draw_scene(np.random.default_rng([seed, *kind.encode()]), **{**USUAL, **limits})


def case_of(scene: Scene, seed: int, causes: set[str], *, photo: bytes | None = None, **changes: Any) -> Case:
    """Return the case of a scene with what a careful user enters: thickness and check lengths."""
    entry, facts = entry_of(scene, seed), truth(scene)
    part = scene.parts[0]
    return Case(
        photo=photo or jpeg_bytes(render(scene), scene),
        request={"thickness": entry.thickness, "reading": entry.reading, **changes},
        areas_mm2=tuple(fact.face_mm2 for fact in facts),
        causes=frozenset(causes),
        words=f"{scene.metal.name} {scene.metal.finish}, {facts[0].face_mm2 / 100:.1f} cm2, {part.thickness_mm:.2f} mm",
    )


def mirrored(seed: int) -> Case:
    """A picture that somebody flipped: no marker is one of the sheet's."""
    scene = good_scene("mirrored", seed, layout=("A4-r1", "A5-r1")[seed % 2], area_cm2=(2.0, 45.0))
    flipped = np.ascontiguousarray(render(scene)[:, ::-1])
    return case_of(scene, seed, {"MIRRORED"}, photo=jpeg_bytes(flipped, scene))


KINDS: dict[str, Draw] = {"mirrored": mirrored}
