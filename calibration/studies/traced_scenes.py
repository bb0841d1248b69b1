"""The path-traced scenes: what the accuracy study draws, set in a room with a window, a lamp or an overcast sky.

Shape, size, thickness, pose, lens, print scale and sensor are drawn by `areakit.synthetic.draw_scene`; light and shine
are drawn here. The sheet lies flat, black has no ink gain, and each pixel sees all three colours.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from areakit.synthetic import Camera as DrawnCamera
from areakit.synthetic import Scene as DrawnScene
from areakit.synthetic import ScenePart
from calibration.studies.accuracy_scenes import field_of, judged_scene
from calibration.studies.demo_camera import PLAIN_SENSOR, Camera, Sensor
from calibration.studies.demo_scenes import PAPER, DemoPart, Light, Scene
from calibration.studies.demo_sheet import linear

FIRST_SEED = 300_000
METALS = ("gold", "silver", "copper", "nickel", "steel", "brass")
TILT_DEG = (0.0, 30.0)
WINDOW, LAMP, OVERCAST, EVEN = "soft window light", "desk lamp", "overcast", "even"
ROUGHNESS = {"mirror": (0.03, 0.09), "brushed": (0.08, 0.22), "matte": (0.25, 0.5)}
"""Lowest and highest roughness (alpha of the GGX distribution of slopes) by finish."""
ACROSS = (1.5, 3.0)
"""How much rougher brushed metal is across its streaks."""
SINE_FOR_STEP = 0.6
"""Amplitude of the S curve here for one of the same height in the drawn chain."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TracedScene:
    """One scene twice: as drawn, with the truth in it, and as set up for the renderer."""

    seed: int
    drawn: DrawnScene
    view: Scene
    light: str


def traced_scene(seed: int) -> TracedScene:
    """Return the scene of a seed."""
    drawn = judged_scene(seed, metals=METALS, tilt_deg=TILT_DEG, edge_lift_mm=(0.0, 0.0))
    rng = np.random.default_rng([seed, 3])
    kind = (WINDOW, LAMP, OVERCAST)[int(rng.integers(3))]
    return TracedScene(seed=seed, drawn=drawn, light=kind, view=_view(drawn, seed, _light(rng, kind), rng))


def ideal_scene(number: int) -> TracedScene:
    """Return a foil that only scatters, evenly lit, for a camera without effects: what must come out true."""
    seed = FIRST_SEED - 1 - number
    drawn = judged_scene(
        seed, metals=METALS, tilt_deg=TILT_DEG, layout="A4-r1", fields=("blue",), area_cm2=(20.0, 60.0),
        thickness_mm=(0.03, 0.03), edge_lift_mm=(0.0, 0.0), scale=(1.0, 1.0), effects=0.0,
    )  # fmt: skip
    even = Light(ceiling=1.0, walls=1.0, window=0.0, swing=0.0, tint=(1.0, 1.0, 1.0))
    view = _view(drawn, seed, even, np.random.default_rng(seed))
    part = replace(view.parts[0], metal="paint")
    camera = replace(view.camera, psf_px=0.6)
    return TracedScene(
        seed=seed, drawn=drawn, light=EVEN, view=replace(view, parts=(part,), camera=camera, sensor=PLAIN_SENSOR)
    )


def _view(drawn: DrawnScene, seed: int, light: Light, rng: np.random.Generator) -> Scene:
    """Set a drawn scene up for the renderer."""
    chain, printed = drawn.chain, drawn.print
    return Scene(
        name=f"traced-{seed}",
        what="A part of the path-traced study",
        sheet=drawn.layout,
        thickness_mm=drawn.parts[0].thickness_mm,
        parts=(_part(drawn.parts[0], drawn.metal.name, drawn.metal.finish, rng),),
        camera=replace(_camera(drawn.camera, drawn.middle_mm), psf_px=chain.blur_px),
        light=light,
        sensor=Sensor(
            full_well=chain.full_well,
            read_noise=chain.read_noise,
            s_curve=SINE_FOR_STEP * chain.s_curve,
            sharpening=chain.sharpening,
            sharpening_sigma_px=chain.sharpening_radius_px,
            vignetting=drawn.light.vignetting,
            white_balance=float(rng.uniform(0.7, 1.0)),
            jpeg_quality=chain.jpeg_quality,
        ),
        field=field_of(drawn),
        field_srgb=printed.field_srgb,
        paper=linear(printed.paper_srgb),
        print_scale=(printed.scale_x, printed.scale_y),
        seed=drawn.seed % 20_000,
        table=linear(drawn.desk_srgb),
        exposure=chain.exposure * PAPER[1],
    )


def _part(part: ScenePart, metal: str, finish: str, rng: np.random.Generator) -> DemoPart:
    alpha = _log_uniform(rng, *ROUGHNESS[finish])
    across = alpha * float(rng.uniform(*ACROSS)) if finish == "brushed" else None
    return DemoPart(
        name="part",
        outline=lambda: part.polygon,
        metal=metal,
        centre_mm=part.position_mm,
        turn_deg=part.turn_deg,
        roughness=alpha,
        roughness_across=across,
        ripple=float(rng.uniform(0.0, 0.6)),
    )


def _camera(camera: DrawnCamera, middle_mm: tuple[float, float]) -> Camera:
    """Return the same pose in the renderer's words: it tilts the axis, the drawn one moves the camera."""
    (x, y), (dx, dy) = middle_mm, camera.look_offset_mm
    return Camera(
        width_px=camera.width_px,
        height_px=camera.height_px,
        distance_mm=camera.distance_mm,
        tilt_deg=camera.tilt_deg,
        tilt_towards_deg=camera.tilt_direction_deg + 180.0,
        roll_deg=-camera.roll_deg,
        aim_mm=(x + dx, y + dy),
        f35_mm=camera.f35_mm,
        stated_f35_mm=camera.stated_f35_mm or round(camera.f35_mm),
        centre_offset_px=camera.centre_offset_px,
        k1=camera.k1,
        k2=camera.k2,
        p1=camera.p1,
        p2=camera.p2,
    )


def _light(rng: np.random.Generator, kind: str) -> Light:
    """Draw a room: a bright window to one side, a lamp on a dim desk, or an even sky."""
    warm = float(rng.uniform(-0.12, 0.12))
    tint = (1.0 + warm, 1.0, 1.0 - warm)
    turn = float(rng.uniform(0.0, 360.0))
    if kind == WINDOW:
        return Light(
            ceiling=float(rng.uniform(0.6, 1.2)), window=_log_uniform(rng, 5.0, 14.0), window_azimuth_deg=turn,
            walls=float(rng.uniform(0.25, 0.6)), tint=tint,
        )  # fmt: skip
    if kind == OVERCAST:
        ceiling = float(rng.uniform(0.9, 1.1))
        return Light(
            ceiling=ceiling, window=float(rng.uniform(0.0, 0.5)), window_azimuth_deg=turn,
            walls=ceiling * float(rng.uniform(0.5, 0.85)), tint=tint,
        )  # fmt: skip
    reach, rise = float(rng.uniform(500.0, 900.0)), math.radians(float(rng.uniform(30.0, 60.0)))
    flat = reach * math.cos(rise)
    at = (flat * math.cos(math.radians(turn)), flat * math.sin(math.radians(turn)), reach * math.sin(rise))
    return Light(
        ceiling=float(rng.uniform(0.3, 0.6)), window=float(rng.uniform(0.0, 0.6)),
        window_azimuth_deg=float(rng.uniform(0.0, 360.0)), walls=float(rng.uniform(0.15, 0.35)),
        lamp_share=float(rng.uniform(0.6, 1.8)), lamp_from_mm=at,
        lamp_radius_mm=float(rng.uniform(20.0, 60.0)), tint=tint,
    )  # fmt: skip


def _log_uniform(rng: np.random.Generator, low: float, high: float) -> float:
    return float(math.exp(rng.uniform(math.log(low), math.log(high))))
