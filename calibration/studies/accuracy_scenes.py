"""The judged scenes of the accuracy study, and what the user of each one reads and types."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import hypot
from typing import Any

import numpy as np
import numpy.typing as npt

from areakit.imaging.scale import CheckReading
from areakit.synthetic import Scene, draw_scene
from areakit.synthetic.coverage import rings_of
from areakit.synthetic.prism import densified
from areakit.synthetic.projection import project, view_of
from areakit.synthetic.sheet_print import height_of_sheet
from areakit.uncertainty import Measured

FIRST_SEED = 100_000
"""Seeds below 10 000 were used for tuning and are not judged."""
SHEETS: tuple[tuple[str, float, dict[str, Any]], ...] = (
    ("A4-r1", 0.70, {}),
    ("A5-r1", 0.18, {"area_cm2": (2.0, 45.0)}),
    ("small-r1", 0.12, {"area_cm2": (2.0, 14.0), "f35_mm": 52.0}),
)
"""Sheet, its share of the scenes, and what is drawn otherwise on it."""
CARD_SEEDS = range(150_000, 160_000)
"""Scenes in which a black card is held before the camera: shiny grey metal on white and pale sheets, from above."""
CARD_LIMITS: dict[str, Any] = {
    "fields": ("white", "white", "pale"),
    "metals": ("nickel", "silver", "steel"),
    "finishes": ("brushed", "mirror"),
    "tilt_deg": (0.0, 8.0),
}
CARD_MM = (280.0, 420.0)
"""Sides of the cards: from the shorter side of A4 doubled to that of A3 (practice)."""
FIELDS = ("blue",) * 14 + ("white",) * 3 + ("pale",) * 3
RULE_MM = 0.1
"""Standard deviation of reading a check length with a ruler (practice)."""
GAUGE_MM, GAUGE_SHARE = 0.02, 0.02
"""Standard uncertainty of an entered thickness: a fixed part and a share."""
GOOD_TILT_DEG, GOOD_BLUR_PX = 20.0, 1.2
WHITE_SHEET_METALS = ("dark", "copper")


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What the user enters: thickness with its stated uncertainty, and the check lengths as read."""

    thickness: Measured
    reading: CheckReading


def judged_scene(seed: int, **limits: Any) -> Scene:
    """Return the scene of a seed; ``limits`` override what the study draws from."""
    rng = np.random.default_rng(seed)
    place = int(rng.choice(len(SHEETS), p=[share for _, share, _ in SHEETS]))
    layout, _, special = SHEETS[place]
    carded = CARD_LIMITS if seed in CARD_SEEDS else {}
    scene = draw_scene(rng, **{"layout": layout, "fields": FIELDS, **special, **carded, **limits})
    if not carded:
        return scene
    return replace(scene, light=replace(scene.light, card_mm=float(rng.uniform(*CARD_MM))))


def entry_of(scene: Scene, seed: int) -> Entry:
    """Return what a user with a ruler and a gauge would enter, wrong by the uncertainty that is stated for it."""
    rng = np.random.default_rng([seed, 1])
    true_mm = scene.parts[0].thickness_mm
    entered = max(true_mm + float(rng.normal(0.0, hypot(GAUGE_MM, GAUGE_SHARE * true_mm))), 0.0)
    stated = hypot(GAUGE_MM, GAUGE_SHARE * entered)
    x, y = scene.sheet.check_lengths_mm
    read = (
        scene.print.scale_x * x + float(rng.normal(0.0, RULE_MM)),
        scene.print.scale_y * y + float(rng.normal(0.0, RULE_MM)),
    )
    return Entry(
        thickness=Measured(value=entered, unit="mm", budget={"thickness as entered": stated}),
        reading=CheckReading(read_mm=read, uncertainty_mm=RULE_MM),
    )


def field_of(scene: Scene) -> str:
    """Return blue, white or pale: what was printed in the field, or the paper's own colour."""
    if scene.print.field_srgb is not None:
        return "blue"
    return "pale" if np.ptp(scene.print.paper_srgb) > 12 else "white"


def is_good(scene: Scene) -> bool:
    """Tell whether a scene is one that the advice on taking photos would lead to; such a photo must not be refused.

    Nearly from above, sharp, and a field that suits the metal: blue, or white for matte, dark or copper parts.
    """
    field, metal = field_of(scene), scene.metal
    suits = field == "blue" or (field == "white" and (metal.finish == "matte" or metal.name in WHITE_SHEET_METALS))
    return suits and scene.camera.tilt_deg <= GOOD_TILT_DEG and scene.chain.blur_px <= GOOD_BLUR_PX


def true_rings_px(scene: Scene, *, top: bool) -> list[npt.NDArray[np.float64]]:
    """Return where the upper edge (or the foot) of the part appears, outer ring first, shape (n, 2) each. [px]"""
    view, part = view_of(scene), scene.parts[0]
    placed = part.placed()
    base = float(height_of_sheet(scene, np.array([[placed.centroid.x, placed.centroid.y]]))[0])
    height = base + (part.thickness_mm if top else 0.0)
    return [project(view, ring, height) for ring in rings_of(densified(view, placed))]
