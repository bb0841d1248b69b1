"""Draw a scene: sheet, shadows and parts in linear light, then the camera."""

from __future__ import annotations

import math

import numpy as np
from shapely.affinity import translate
from shapely.geometry import Point, Polygon

from areakit.errors import RangeError
from areakit.synthetic.coverage import Plane, Window, around, coverage
from areakit.synthetic.patches import draw_patches
from areakit.synthetic.prism import see_prism
from areakit.synthetic.projection import View, view_of
from areakit.synthetic.scene import Scene, ScenePart
from areakit.synthetic.sensor import BAND_ROWS, Bytes, develop
from areakit.synthetic.shade import face_radiance, field_of, light_on, wall_radiance
from areakit.synthetic.shadows import darken_beside
from areakit.synthetic.sheet_print import height_of_sheet, sheet_picture


def render(scene: Scene) -> Bytes:
    """Return the photo of a scene, before JPEG: sRGB values, shape (height, width, 3).

    Raises
    ------
    RangeError
        If two parts overlap.
    """
    rng = np.random.default_rng(scene.seed)
    return develop(render_linear(scene), scene.chain, np.random.default_rng(rng.integers(1 << 63)))


def render_linear(scene: Scene) -> Plane:
    """Return the linear light of a scene before any blur, shape (height, width, 3); white paper in full light is 1."""
    _check_apart(scene)
    rng = np.random.default_rng(scene.seed)
    view = view_of(scene)
    picture = sheet_picture(scene, view)
    _mottle(picture, scene, rng)
    for part in scene.parts:
        darken_beside(picture, scene, view, polygon=part.placed(), thickness_mm=part.thickness_mm)
    draw_patches(picture, scene, view, on=None)
    for i in _far_first(scene, view):
        _lay(picture, scene, view, part=scene.parts[i], rng=rng)
        draw_patches(picture, scene, view, on=i)
    _light(picture, scene, view)
    return picture


def _check_apart(scene: Scene) -> None:
    placed = [part.placed() for part in scene.parts]
    for i, one in enumerate(placed):
        for other in placed[:i]:
            if one.intersects(other):
                raise RangeError("Two parts of the scene overlap.", remedy="Move them apart.")


def _far_first(scene: Scene, view: View) -> list[int]:
    """Return the order in which parts are drawn: a nearer one hides the walls of one that it stands before."""
    foot = Point(view.eye_mm[:2])
    return sorted(range(len(scene.parts)), key=lambda i: -scene.parts[i].placed().distance(foot))


def _lay(picture: Plane, scene: Scene, view: View, *, part: ScenePart, rng: np.random.Generator) -> None:
    """Draw one part over the sheet: every pixel is shared between face, walls and what lies behind, exactly once."""
    polygon = part.placed()
    middle = (polygon.centroid.x, polygon.centroid.y)
    base = float(height_of_sheet(scene, np.array([middle]))[0]) + part.raised_mm
    prism = see_prism(view, polygon, base_mm=base, thickness_mm=part.thickness_mm)
    window = around(prism.silhouette, margin_px=2.0, shape=picture.shape[:2])
    face = coverage(prism.top, window)
    behind = 1.0 - coverage(prism.silhouette, window)
    crop = picture[window.slices]
    crop *= behind[..., None]
    rim = np.asarray(_rim(scene, view, polygon, height_mm=base + part.thickness_mm, face=face, window=window))
    field = field_of(view, window)
    if scene.light.card_mm:  # a broken edge leans, and mirrors what is beside the card
        foot = (float(view.eye_mm[0]), float(view.eye_mm[1]))
        radiance = face_radiance(scene, field, middle, rng=rng, foot_mm=foot)
        leaning = np.float32(scene.metal.brightness) * np.array(scene.metal.reflectance, dtype=np.float32)
        crop += radiance * (face + np.minimum(rim, 0.0))[..., None] + leaning * np.maximum(rim, 0.0)[..., None]
    else:
        crop += face_radiance(scene, field, middle, rng=rng) * (face + rim)[..., None]
    if len(prism.walls.normals):
        walls = np.maximum(1.0 - behind - face, 0.0)
        crop += wall_radiance(scene, prism.walls, window) * walls[..., None]


def _rim(
    scene: Scene, view: View, polygon: Polygon, *, height_mm: float, face: Plane, window: Window
) -> Plane | np.float32:
    """Return the added weight of the broken edge: a bright crescent towards the light, a dark one away from it.

    The face less itself moved away from the light is a crescent whose width goes with the cosine of the edge's normal.
    """
    metal = scene.metal
    if not metal.rim_mm or not metal.rim_gain:
        return np.float32(0.0)
    toward = math.radians(scene.light.azimuth_deg)
    crescents = []
    for way in (-metal.rim_mm, metal.rim_mm):
        moved = translate(polygon, way * math.cos(toward), way * math.sin(toward))
        top = see_prism(view, moved, base_mm=height_mm, thickness_mm=0.0).top
        crescents.append(np.maximum(face - coverage(top, window), 0.0))
    return np.asarray(metal.rim_gain * crescents[0] - 0.5 * metal.rim_gain * crescents[1], dtype=np.float32)


def _light(picture: Plane, scene: Scene, view: View) -> None:
    tint = np.array(scene.light.tint, dtype=np.float32)
    height, width = picture.shape[:2]
    for first in range(0, height, BAND_ROWS):
        band = Window(left=0, top=first, width=width, height=min(BAND_ROWS, height - first))
        lamp = light_on(scene, field_of(view, band), band)
        picture[band.slices] *= lamp[..., None] * tint


def _mottle(picture: Plane, scene: Scene, rng: np.random.Generator) -> None:
    """Unevenness of paper and print, about two pixels wide."""
    amount = np.float32(scene.print.mottle)
    if not amount:
        return
    height, width = picture.shape[:2]
    grain = rng.standard_normal(((height + 1) // 2, (width + 1) // 2), dtype=np.float32)
    full = np.repeat(np.repeat(grain, 2, axis=0), 2, axis=1)[:height, :width]
    picture *= (1.0 + amount * full)[..., None]
