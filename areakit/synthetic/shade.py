"""Light on the sheet and the look of the metal: smooth fields in linear light."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np

from areakit.synthetic.coverage import Floats, Plane, Window, coverage
from areakit.synthetic.prism import Walls, quad_edges
from areakit.synthetic.projection import View, sheet_points
from areakit.synthetic.scene import Metal, Scene
from areakit.synthetic.sheet_print import linear

FIELD_STEP_PX = 8

WALL_SHEET_SHARE = {"matte": 0.35, "brushed": 0.55, "mirror": 0.8}
"""Part of a wall's light that comes from the sheet: seen from above, an upright mirror shows the sheet before it."""


CARD_LEVEL = np.float32(0.03)
"""What a black card sends down, lit by the sheet below it: 4 % of what white paper would, in half light (practice)."""
CARD_HIDES = {"matte": 0.0, "brushed": 0.85, "mirror": 0.9}
"""Part of what a face throws back that comes from where the card is: brushed metal scatters within some 15 degrees
across its streaks, and a card as wide as the camera stands high reaches 27 (practice)."""
CARD_SOFT_MM = 1.4
"""Width of the border of a mirrored card: it looks twice as far away as the metal in focus, so an aperture of 2.5 mm
draws each of its points as a disc half as wide (similar triangles). [mm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """Sheet coordinates of the pixels of a window, each of shape (height, width). [mm]"""

    x: Plane
    y: Plane


def field_of(view: View, window: Window) -> Field:
    """Return where each pixel's sight line meets the sheet; for shading, so interpolated between nodes."""
    step = FIELD_STEP_PX
    columns, rows = -(-window.width // step) + 2, -(-window.height // step) + 2
    u = window.left + (np.arange(columns) - 0.5) * step - 0.5
    v = window.top + (np.arange(rows) - 0.5) * step - 0.5
    grid = np.stack(np.meshgrid(u, v), axis=-1).reshape(-1, 2)
    nodes = sheet_points(view, grid).astype(np.float32).reshape(rows, columns, 2)
    size = (columns * step, rows * step)
    x, y = (_enlarged(np.ascontiguousarray(nodes[..., i]), size) for i in (0, 1))
    inner = slice(step, step + window.height), slice(step, step + window.width)
    return Field(x=x[inner], y=y[inner])


def _enlarged(nodes: Plane, size: tuple[int, int]) -> Plane:
    return np.asarray(cv2.resize(nodes, size, interpolation=cv2.INTER_LINEAR), dtype=np.float32)


def along(field: Field, origin: tuple[float, float], direction_deg: float) -> Plane:
    """Return the distance of each pixel from a line through a point, positive in the given direction. [mm]"""
    c, s = math.cos(math.radians(direction_deg)), math.sin(math.radians(direction_deg))
    return np.asarray((field.x - np.float32(origin[0])) * c + (field.y - np.float32(origin[1])) * s, dtype=np.float32)


def smooth_step(distance: Plane, width: float) -> Plane:
    """Return 0 to 1 across a transition of the given width about 0 (3 t^2 - 2 t^3)."""
    t = np.clip(distance / max(width, 1e-3) + 0.5, 0.0, 1.0)
    return np.asarray(t * t * (3.0 - 2.0 * t), dtype=np.float32)


def _band(distance: Plane, half: float, soft: float) -> Plane:
    """Return 1 inside a band about 0, 0 outside, with soft borders."""
    return smooth_step(np.float32(half) - np.abs(distance), soft)


def light_on(scene: Scene, field: Field, window: Window) -> Plane:
    """Return the relative light that reaches the sensor from each pixel: gradient, foreign shadow, vignetting."""
    light, camera = scene.light, scene.camera
    out = np.ones(field.x.shape, dtype=np.float32)
    if light.gradient:
        out += np.float32(light.gradient / 100.0) * along(field, scene.middle_mm, light.gradient_direction_deg)
    if light.veil_depth:
        out *= _veil(scene, field)
    if light.vignetting:
        half = math.hypot(camera.width_px, camera.height_px) / 2
        x = (np.arange(window.width, dtype=np.float32) + window.left - camera.width_px / 2) / half
        y = (np.arange(window.height, dtype=np.float32) + window.top - camera.height_px / 2) / half
        out *= 1.0 - np.float32(light.vignetting) * (y[:, None] ** 2 + x**2)
    return np.maximum(out, np.float32(0.02))


def _veil(scene: Scene, field: Field) -> Plane:
    """Return the share of light left by the foreign shadow."""
    light = scene.light
    edge = along(field, scene.middle_mm, light.veil_direction_deg) - np.float32(light.veil_offset_mm)
    return 1.0 - np.float32(light.veil_depth) * smooth_step(edge, light.veil_softness_mm)


def face_radiance(
    scene: Scene,
    field: Field,
    middle_mm: tuple[float, float],
    *,
    rng: np.random.Generator,
    foot_mm: tuple[float, float] | None = None,
) -> Plane:
    """Return what the top face sends to the camera, shape (height, width, 3), white sheet in the same light = 1.

    ``foot_mm`` is the point of the sheet below the camera, before which a dark card is held; None leaves it away.
    """
    metal = scene.metal
    level = np.full(field.x.shape, metal.brightness, dtype=np.float32)
    if metal.slope:
        level *= 1.0 + np.float32(metal.slope / 100.0) * along(field, middle_mm, metal.slope_direction_deg)
    if metal.highlight:
        level += np.float32(metal.highlight) * _highlights(metal, field, middle_mm, rng=rng)
    if metal.texture:
        level *= 1.0 + np.float32(metal.texture) * _texture(metal, field, middle_mm, rng=rng)
    if scene.light.veil_depth:
        level /= _veil(scene, field) ** np.float32(1.0 - metal.diffuseness)
    if foot_mm is not None and scene.light.card_mm:
        hidden = np.float32(CARD_HIDES[metal.finish]) * _card(scene, field, foot_mm)
        level += hidden * (CARD_LEVEL - level)
    np.maximum(level, np.float32(0.01), out=level)
    share, sheet = np.float32(metal.sheet_reflection), _sheet_colour(scene)
    channels = [r * ((1 - share) * level + share * c) for r, c in zip(metal.reflectance, sheet, strict=True)]
    return np.stack(channels, axis=-1).astype(np.float32)


def _card(scene: Scene, field: Field, foot_mm: tuple[float, float]) -> Plane:
    """Return 1 where a level mirror shows the card: what a place mirrors lies twice as far from the foot."""
    half = scene.light.card_mm / 4.0
    x, y = (_band(along(field, foot_mm, direction), half, CARD_SOFT_MM) for direction in (0.0, 90.0))
    return np.asarray(x * y, dtype=np.float32)


def wall_radiance(scene: Scene, walls: Walls, window: Window) -> Plane:
    """Return what the walls send to the camera, the mean over walls where several share a pixel.

    A wall sees the surroundings at its own side, bright towards the light and dark away from it, and the shaded sheet
    in front of it.
    """
    metal = scene.metal
    azimuth = math.radians(scene.light.azimuth_deg)
    toward = walls.normals @ np.array([math.cos(azimuth), math.sin(azimuth)])
    side = metal.brightness * (0.62 + 0.38 * toward)
    share = WALL_SHEET_SHARE[metal.finish]
    edges, ones = quad_edges(walls.quads_px, np.ones(len(walls.normals)))
    cover = coverage(edges, window, ones)
    np.maximum(cover, np.float32(1e-6), out=cover)
    out = np.empty((window.height, window.width, 3), dtype=np.float32)
    for channel, (r, sheet) in enumerate(zip(metal.reflectance, _sheet_colour(scene), strict=True)):
        weight = np.repeat(r * ((1 - share) * side + share * 0.7 * sheet), 4) * ones
        out[..., channel] = coverage(edges, window, weight) / cover
    return np.clip(out, 0.0, 4.0, out=out)


def _sheet_colour(scene: Scene) -> Floats:
    p = scene.print
    return np.array(linear(p.paper_srgb if p.field_srgb is None else p.field_srgb))


def _highlights(metal: Metal, field: Field, middle: tuple[float, float], *, rng: np.random.Generator) -> Plane:
    """Reflected lamps: soft bands on brushed metal, soft spots on matte, sharp panes in a mirror."""
    out = np.zeros(field.x.shape, dtype=np.float32)
    width = metal.highlight_width_mm
    for _ in range(3 if metal.finish == "mirror" else 1):
        direction = float(rng.uniform(0.0, 360.0))
        origin = (middle[0] + float(rng.normal(0.0, 12.0)), middle[1] + float(rng.normal(0.0, 12.0)))
        if metal.finish == "brushed":
            direction = metal.texture_direction_deg
        u, v = along(field, origin, direction), along(field, origin, direction + 90.0)
        if metal.finish == "mirror":
            soft = float(rng.uniform(0.5, 6.0))
            size = width * float(rng.uniform(0.5, 1.3))
            pane = _band(u, size / 2, soft) * _band(v, size * 0.8, soft)
            out = np.maximum(out, np.float32(rng.uniform(0.5, 1.0)) * pane)
        else:
            stretch = 6.0 if metal.finish == "brushed" else 1.0
            out += np.exp(-0.5 * ((u / width) ** 2 + (v / (width * stretch)) ** 2))
    return out


def _texture(metal: Metal, field: Field, middle: tuple[float, float], *, rng: np.random.Generator) -> Plane:
    """Unit noise: streaks along one direction on brushed metal, else fine grain."""
    if metal.finish != "brushed":
        grain = rng.standard_normal(field.x.shape, dtype=np.float32)
        return np.asarray(cv2.GaussianBlur(grain, (0, 0), 1.2) * np.float32(4.2), dtype=np.float32)
    across = along(field, middle, metal.texture_direction_deg + 90.0)
    spacing_mm = 0.08
    table = rng.standard_normal(8192)
    table = 0.7 * table + 0.7 * np.convolve(table, np.ones(12) / 12**0.5, mode="same")
    place = across / spacing_mm + len(table) / 2
    return np.asarray(np.interp(place, np.arange(len(table)), table), dtype=np.float32)
