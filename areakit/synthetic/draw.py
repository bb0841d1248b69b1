"""Draw scenes at random for studies of accuracy and coverage."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
import shapely
from shapely.geometry import Polygon, box

from areakit.errors import RangeError
from areakit.geometry.outline import check_polygon
from areakit.imaging.marks.frame_layout import layouts
from areakit.synthetic.family import FAMILY, draw_shape
from areakit.synthetic.projection import project, view_of
from areakit.synthetic.scene import (
    BLUE_FIELD_SRGB,
    Camera,
    Chain,
    Colour,
    Finish,
    Light,
    Metal,
    Print,
    Scene,
    ScenePart,
)

REFLECTANCES: dict[str, Colour] = {
    "copper": (0.93, 0.62, 0.50),
    "gold": (0.98, 0.76, 0.36),
    "nickel": (0.66, 0.61, 0.54),
    "silver": (0.96, 0.94, 0.90),
    "steel": (0.57, 0.56, 0.55),
    "brass": (0.90, 0.79, 0.45),
    "dark": (0.07, 0.065, 0.06),
}
"""Linear reflectance of polished metals, rounded; from memory of published optical constants, unverified."""

PALE_PAPERS_SRGB = ((205, 226, 205), (200, 218, 236))
DESKS_SRGB = ((128, 94, 62), (74, 52, 38), (196, 168, 130), (150, 150, 148), (62, 64, 68), (214, 212, 208))

Span = tuple[float, float]
FieldKind = Literal["blue", "white", "pale"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """From what a scene is drawn; spans are lowest and highest.

    ``area_cm2`` and ``thickness_mm`` are drawn evenly in their logarithms. A part that would not keep ``clearance_mm``
    to the rim of the field is made smaller. ``lens`` and ``effects`` scale distortion and everything that disturbs
    (light, noise, tone, sharpening); 0 switches them off.
    """

    layout: str = "A4-r1"
    size_px: tuple[int, int] = (4032, 3024)
    f35_mm: float = 26.0
    shapes: tuple[str, ...] = tuple(FAMILY)
    area_cm2: Span = (2.0, 110.0)
    thickness_mm: Span = (0.03, 6.0)
    tilt_deg: Span = (0.0, 35.0)
    metals: tuple[str, ...] = tuple(REFLECTANCES)
    finishes: tuple[Finish, ...] = ("matte", "brushed", "mirror")
    fields: tuple[FieldKind, ...] = ("blue", "blue", "white", "pale")
    k1: Span = (-0.06, 0.06)
    blur_px: Span = (0.6, 1.6)
    scale: Span = (0.995, 1.005)
    edge_lift_mm: Span = (0.0, 0.3)
    clearance_mm: float = 5.0
    parts: int = 1
    lens: float = 1.0
    effects: float = 1.0


def draw_scene(rng: np.random.Generator, **limits: Any) -> Scene:
    """Return a scene drawn at random, the whole marker frame in view and each part inside the field.

    Parameters
    ----------
    rng : numpy.random.Generator
        Source of chance; equal states give equal scenes.
    **limits
        Any field of `Limits`.

    Raises
    ------
    RangeError
        If the parts find no room in the field.
    """
    bounds = Limits(**limits)
    scene = Scene(
        layout=bounds.layout,
        parts=(),
        metal=_metal(rng, bounds),
        camera=_camera(rng, bounds),
        light=_light(rng, bounds),
        chain=_chain(rng, bounds),
        print=_print(rng, bounds),
        desk_srgb=_near(rng, _pick(rng, DESKS_SRGB), bounds),
        seed=int(rng.integers(1 << 31)),
    )
    scene = replace(scene, camera=_stand_back(scene, float(rng.uniform(1.02, 1.2))))
    parts = _parts(rng, bounds, tilt_deg=scene.camera.tilt_deg)
    return replace(scene, parts=parts, light=_beside(scene.light, max(part.thickness_mm for part in parts)))


def _beside(light: Light, height_mm: float) -> Light:
    """Scale shadows that were drawn for a wall 1 mm high to the part's height: they reach as far as it is high.

    An upright wall of height t hides (1 - d / sqrt(d^2 + t^2)) / 2 of an even sky at distance d: half of it at its
    foot, 15 % one height away, 5 % two heights away (geometry). Penumbras grow with height for the same reason.
    """
    return replace(
        light,
        contact_width_mm=light.contact_width_mm * height_mm,
        contact_shift_mm=light.contact_shift_mm * height_mm,
        cast_softness_mm=light.cast_softness_mm * height_mm,
    )


def _log_uniform(rng: np.random.Generator, span: Span) -> float:
    low, high = span
    return low if high <= low else float(math.exp(rng.uniform(math.log(low), math.log(high))))


def _near(rng: np.random.Generator, srgb: tuple[int, int, int], bounds: Limits) -> tuple[int, int, int]:
    """Return a colour as another printer or paper mill would make it."""
    moved = np.clip(np.array(srgb) + bounds.effects * rng.normal(0.0, 4.0, 3), 0, 250)
    return int(moved[0]), int(moved[1]), int(moved[2])


def _pick(rng: np.random.Generator, choices: tuple[Any, ...]) -> Any:
    return choices[int(rng.integers(len(choices)))]


def _parts(rng: np.random.Generator, bounds: Limits, *, tilt_deg: float) -> tuple[ScenePart, ...]:
    placed: list[Polygon] = []
    found: list[ScenePart] = []
    for _ in range(bounds.parts):
        thickness = _log_uniform(rng, bounds.thickness_mm)
        lean = thickness * math.tan(math.radians(min(tilt_deg + 30.0, 60.0)))
        part = _place(rng, bounds, placed, thickness_mm=thickness, clearance_mm=bounds.clearance_mm + lean)
        placed.append(part.placed())
        found.append(part)
    return tuple(found)


def _place(
    rng: np.random.Generator, bounds: Limits, taken: list[Polygon], *, thickness_mm: float, clearance_mm: float
) -> ScenePart:
    """Return a part somewhere in the field, clear of its rim and of other parts; smaller after each failed try."""
    area = 100.0 * _log_uniform(rng, bounds.area_cm2)
    name = str(_pick(rng, bounds.shapes))
    left, top, right, bottom = layouts()[bounds.layout].field_mm
    room = box(left, top, right, bottom).buffer(-clearance_mm, join_style="mitre")
    others = shapely.union_all([p.buffer(clearance_mm) for p in taken])
    for _ in range(200):
        shape = draw_shape(rng, name, area)
        part = ScenePart(polygon=shape, thickness_mm=thickness_mm, turn_deg=float(rng.uniform(0.0, 360.0)))
        x0, y0, x1, y1 = part.placed().bounds
        free_x, free_y = (room.bounds[0] - x0, room.bounds[2] - x1), (room.bounds[1] - y0, room.bounds[3] - y1)
        if free_x[0] < free_x[1] and free_y[0] < free_y[1]:
            part = replace(part, position_mm=(float(rng.uniform(*free_x)), float(rng.uniform(*free_y))))
            if not part.placed().intersects(others):
                check_polygon(part.placed())
                return part
        area *= 0.95
    raise RangeError("The parts find no room in the field.", remedy="Ask for fewer or smaller parts.")


def _metal(rng: np.random.Generator, bounds: Limits) -> Metal:
    name, finish = str(_pick(rng, bounds.metals)), _pick(rng, bounds.finishes)
    shiny = {"matte": 0.25, "brushed": 0.7, "mirror": 1.0}[finish] * bounds.effects
    brightness = float(rng.uniform(0.45, 1.0)) if finish == "matte" else _log_uniform(rng, (0.2, 1.1))
    return Metal(
        name=name,
        reflectance=REFLECTANCES[name],
        finish=finish,
        brightness=brightness,
        slope=shiny * float(rng.uniform(-0.5, 0.5)),
        slope_direction_deg=float(rng.uniform(0.0, 360.0)),
        highlight=shiny * float(rng.uniform(0.0, 0.9)),
        highlight_width_mm=float(rng.uniform(8.0, 40.0)),
        texture={"matte": 0.02, "brushed": 0.06, "mirror": 0.004}[finish] * bounds.effects,
        texture_direction_deg=float(rng.uniform(0.0, 180.0)),
        sheet_reflection=shiny * float(rng.uniform(0.0, 0.15)),
        rim_mm=_log_uniform(rng, (0.02, 0.15)),
        rim_gain=bounds.effects * float(rng.uniform(-0.5, 1.0)),
    )


def _camera(rng: np.random.Generator, bounds: Limits) -> Camera:
    width, height = bounds.size_px
    lens = bounds.lens
    return Camera(
        width_px=width,
        height_px=height,
        f35_mm=bounds.f35_mm * (1.0 + lens * float(rng.normal(0.0, 0.012))),
        stated_f35_mm=round(bounds.f35_mm),
        centre_offset_px=(lens * float(rng.normal(0.0, 0.004)) * width, lens * float(rng.normal(0.0, 0.004)) * width),
        k1=lens * float(rng.uniform(*bounds.k1)),
        k2=lens * float(rng.normal(0.0, 0.01)),
        p1=lens * float(rng.normal(0.0, 0.0004)),
        p2=lens * float(rng.normal(0.0, 0.0004)),
        tilt_deg=float(rng.uniform(*bounds.tilt_deg)),
        tilt_direction_deg=float(rng.uniform(0.0, 360.0)),
        roll_deg=float(rng.normal(0.0, 4.0)) + (180.0 if rng.random() < 0.1 else 0.0),
        look_offset_mm=(float(rng.normal(0.0, 4.0)), float(rng.normal(0.0, 3.0))),
    )


def _light(rng: np.random.Generator, bounds: Limits) -> Light:
    e = bounds.effects
    warm = e * float(rng.uniform(-0.12, 0.12))
    return Light(
        gradient=e * float(rng.uniform(0.0, 0.25)),
        gradient_direction_deg=float(rng.uniform(0.0, 360.0)),
        vignetting=e * float(rng.uniform(0.0, 0.3)),
        tint=(1.0 + warm, 1.0, 1.0 - warm),
        azimuth_deg=float(rng.uniform(0.0, 360.0)),
        contact_depth=e * float(rng.uniform(0.0, 0.5)),
        contact_width_mm=_log_uniform(rng, (1.0, 3.0)),
        contact_shift_mm=float(rng.uniform(0.0, 0.5)),
        cast_depth=e * float(rng.uniform(0.0, 0.5)),
        elevation_deg=float(rng.uniform(35.0, 80.0)),
        cast_softness_mm=_log_uniform(rng, (0.1, 1.5)),
        bounce=e * float(rng.uniform(0.0, 0.3)),
        veil_depth=e * float(rng.uniform(0.1, 0.5)) * (1.0 if rng.random() < 0.2 else 0.0),
        veil_direction_deg=float(rng.uniform(0.0, 360.0)),
        veil_offset_mm=float(rng.uniform(-60.0, 60.0)),
        veil_softness_mm=_log_uniform(rng, (1.0, 40.0)),
    )


def _chain(rng: np.random.Generator, bounds: Limits) -> Chain:
    e = bounds.effects
    return Chain(
        exposure=float(rng.uniform(0.65, 0.95)),
        blur_px=float(rng.uniform(*bounds.blur_px)),
        mosaic=bool(e > 0.0 and rng.random() < 0.5),
        full_well=_log_uniform(rng, (2000.0, 15000.0)) if e > 0.0 else 0.0,
        read_noise=float(rng.uniform(2.0, 6.0)),
        s_curve=e * float(rng.uniform(0.0, 0.25)),
        sharpening=e * float(rng.uniform(0.0, 0.9)),
        sharpening_radius_px=float(rng.uniform(0.8, 2.0)),
        jpeg_quality=int(rng.integers(85, 99)),
    )


def _print(rng: np.random.Generator, bounds: Limits) -> Print:
    kind = _pick(rng, bounds.fields)
    pale = _pick(rng, PALE_PAPERS_SRGB)
    return Print(
        scale_x=float(rng.uniform(*bounds.scale)),
        scale_y=float(rng.uniform(*bounds.scale)),
        ink_gain_mm=float(rng.uniform(0.0, 0.08)),
        edge_lift_mm=float(rng.uniform(*bounds.edge_lift_mm)),
        curl_direction_deg=float(rng.uniform(0.0, 180.0)),
        field_srgb=_near(rng, BLUE_FIELD_SRGB, bounds) if kind == "blue" else None,
        paper_srgb=_near(rng, pale if kind == "pale" else Print().paper_srgb, bounds),
        mottle=bounds.effects * float(rng.uniform(0.0, 0.012)),
    )


def _stand_back(scene: Scene, slack: float) -> Camera:
    """Return the camera at the least distance that shows the whole ring, times the slack, by bisection."""
    near, far = 20.0, 4000.0
    for _ in range(40):
        middle = math.sqrt(near * far)
        near, far = (
            (near, middle)
            if _shows_frame(replace(scene, camera=replace(scene.camera, distance_mm=middle)))
            else (middle, far)
        )
    camera = replace(scene.camera, distance_mm=far * slack)
    # Offsets of look point and principal point grow with distance in their own way: step back until it holds.
    while not _shows_frame(replace(scene, camera=camera)):
        camera = replace(camera, distance_mm=camera.distance_mm * 1.02)
    return camera


def _shows_frame(scene: Scene) -> bool:
    """Tell whether the rim of the ring lies in the picture, 1 % of its width from the border."""
    view, sheet, camera = view_of(scene), scene.sheet, scene.camera
    share = np.linspace(0.0, 1.0, 21)[:, None]
    corners = np.array([(0, 0), (sheet.width_mm, 0), (sheet.width_mm, sheet.height_mm), (0, sheet.height_mm)])
    rim = np.concatenate([a + share * (b - a) for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)])
    if view.eye_mm[2] < 20.0 or _behind(view.rotation, view.translation, rim):
        return False
    x, y = project(view, rim).T
    margin = 0.01 * camera.width_px
    inside = (x > margin) & (x < camera.width_px - margin) & (y > margin) & (y < camera.height_px - margin)
    return bool(inside.all())


def _behind(rotation: Any, translation: Any, points_mm: Any) -> bool:
    """Tell whether any point of the sheet lies too near the camera plane, or too far aside for the lens model."""
    cam = np.column_stack([points_mm, np.zeros(len(points_mm))]) @ rotation.T + translation
    depth = cam[:, 2]
    return bool(np.any(depth < 10.0) or np.any(np.hypot(cam[:, 0], cam[:, 1]) > 1.2 * depth))
