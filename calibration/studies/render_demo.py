"""Draw the demo pictures: parts of exactly known area on the printed scale sheet, path-traced.

Run from the project's root, with the optional ``study`` dependencies installed::

    python -m calibration.studies.render_demo                     # every scene, into demo_images/
    python -m calibration.studies.render_demo --scene foil-shape  # one of them
    python -m calibration.studies.render_demo --small --out /tmp  # a quick look, 800 px wide
    python -m calibration.studies.render_demo --truth-only        # truth files and index only

The variant llvm_ad_rgb needs a libLLVM (19 and 22 work, 14 and 15 abort); DRJIT_LIBLLVM_PATH says where it is.

The sheet is real geometry, one mesh with a colour to each face, so its edges are exact. Parts are upright prisms. Every
pixel averages camera rays whose offsets are drawn from the Gaussian point spread itself and sent through the inverse
lens model: nothing is resampled, and no denoiser is used.
"""

from __future__ import annotations

import argparse
import csv
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import Polygon

from areakit.imaging.marks.frame_layout import FrameLayout
from calibration.studies.demo_camera import Camera
from calibration.studies.demo_chain import develop, save
from calibration.studies.demo_scenes import SCENES, DemoPart, Light, Scene, truth_toml
from calibration.studies.demo_sheet import INK, as_printed, border_print, sheet_rectangles
from calibration.studies.demo_solids import SOLIDS, DemoSolid, solid

Floats = npt.NDArray[np.float64]
RAYS_AT_ONCE = 1 << 21
FIREFLY_LIMIT = 8.0
"""A sample brighter than this is cut down to it; white paper is 0.8 to 1.7."""
PAPER_THICKNESS_MM = 0.1
QUAD = np.array([0, 1, 2, 0, 2, 3])

METALS: dict[str, dict[str, Any]] = {
    "copper": {"material": "Cu", "tint": (0.97, 0.82, 0.70)},
    "gold": {"material": "Au"},
    "silver": {"material": "Ag"},
    "nickel": {"material": "Ni_palik"},
    "steel": {"material": "Cr"},
    "brass": {"material": "none", "tint": (0.89, 0.72, 0.40)},
    "paint": {"diffuse": (0.60, 0.30, 0.10)},
    "dull brass": {"diffuse": (0.58, 0.46, 0.22)},
    "dull copper": {"diffuse": (0.55, 0.28, 0.17)},
}
"""Optical constants by mitsuba's names. Steel is drawn as chromium; tints are chosen by eye:
brass has no constants here, and copper is drawn a little tarnished. Paint and what is dull only scatter: for checks,
and for round parts as they come from the lathe or the pickle."""


# --- meshes: sheet mm, z into the table, become world mm with the window's middle as origin, y away, z up


def world(points: Floats, sheet: FrameLayout) -> Floats:
    """Turn sheet points (n, 3) into world points."""
    middle = np.array([sheet.width_mm / 2.0, sheet.height_mm / 2.0, 0.0])
    return (points - middle) * np.array([1.0, -1.0, -1.0])


def rectangles_mesh(mi: Any, boxes: Floats, colours: Floats, *, height_mm: float, sheet: FrameLayout) -> Any:
    n = len(boxes)
    left, top, right, bottom = boxes.T
    corners = np.stack([left, bottom, right, bottom, right, top, left, top], axis=1).reshape(n * 4, 2)
    vertices = world(np.column_stack([corners, np.full(n * 4, -height_mm)]), sheet)
    first = np.arange(n)[:, None] * 4
    faces = (first + QUAD).reshape(-1, 3)
    colour = {"type": "mesh_attribute", "name": "face_color"}
    mesh = _mesh(mi, "sheet", vertices, faces, {"type": "diffuse", "reflectance": colour})
    mesh.add_attribute("face_color", 3, np.repeat(colours, 2, axis=0).astype(np.float32).ravel())
    return mesh


def part_mesh(mi: Any, part: DemoPart, thickness_mm: float, sheet: FrameLayout) -> Any:
    if isinstance(part, DemoSolid):
        vertices, faces = solid(part.on_table())
    else:
        vertices, faces = prism(part.on_sheet(), thickness_mm)
    return _mesh(mi, part.name, world(vertices, sheet), faces, _metal(mi, part))


def prism(shape: Polygon, thickness_mm: float) -> tuple[Floats, npt.NDArray[np.int64]]:
    """Return the upper face and the walls of a part: vertices (n, 3) in sheet mm, faces (m, 3)."""
    shape = shapely.geometry.polygon.orient(shape, -1.0)  # outer ring the other way round: y points down
    lids = shapely.get_parts(shapely.constrained_delaunay_triangles(shape))
    corners = np.array([shapely.geometry.polygon.orient(t, -1.0).exterior.coords[:3] for t in lids]).reshape(-1, 2)
    vertices = [np.column_stack([corners, np.full(len(corners), -thickness_mm)])]
    faces = [np.arange(len(corners)).reshape(-1, 3)]
    for ring in [shape.exterior, *shape.interiors]:
        a = np.array(ring.coords)[:-1]
        b = np.roll(a, -1, axis=0)
        low, high = np.zeros(len(a)), np.full(len(a), -thickness_mm)
        quads = np.stack([np.column_stack(p) for p in ((a, low), (b, low), (b, high), (a, high))], axis=1)
        start = sum(len(v) for v in vertices) + np.arange(len(a))[:, None] * 4
        vertices.append(quads.reshape(-1, 3))
        faces.append((start + QUAD).reshape(-1, 3))
    return np.vstack(vertices), np.vstack(faces)


def _mesh(mi: Any, name: str, vertices: Floats, faces: Any, bsdf: dict[str, Any]) -> Any:
    props = mi.Properties()
    props["mesh_bsdf"] = mi.load_dict(bsdf)
    mesh = mi.Mesh(name, len(vertices), len(faces), has_vertex_texcoords=True, props=props)
    params = mi.traverse(mesh)
    params["vertex_positions"] = vertices.astype(np.float32).ravel()
    params["vertex_texcoords"] = (vertices[:, :2] / 120.0 + 0.5).astype(np.float32).ravel()
    params["faces"] = np.asarray(faces, dtype=np.uint32).ravel()
    params.update()
    return mesh


def _metal(mi: Any, part: DemoPart) -> dict[str, Any]:
    look = METALS[part.metal]
    if "diffuse" in look:
        return {"type": "diffuse", "reflectance": {"type": "rgb", "value": list(look["diffuse"])}}
    bsdf: dict[str, Any] = {"type": "roughconductor", "distribution": "ggx", "alpha_u": part.roughness}
    bsdf["alpha_v"] = part.roughness if part.roughness_across is None else part.roughness_across
    bsdf["material"] = look["material"]
    if "tint" in look:
        bsdf["specular_reflectance"] = {"type": "rgb", "value": list(look["tint"])}
    if part.ripple == 0.0:
        return bsdf
    uneven = {"type": "bitmap", "bitmap": mi.Bitmap(_ripple()), "raw": True, "wrap_mode": "repeat"}
    return {"type": "bumpmap", "arbitrary": uneven, "scale": part.ripple, "bsdf": bsdf}


def _ripple() -> npt.NDArray[np.float32]:
    """Smooth unevenness, (512, 512, 1): a few hundred waves of random direction, 5 to 30 mm long."""
    rng = np.random.default_rng(5)
    v, u = np.mgrid[0:512, 0:512] / 512.0
    total = np.zeros((512, 512))
    for _ in range(160):
        a, b = rng.integers(-22, 23, 2)
        waves = np.hypot(a, b)
        if waves >= 4.0:
            total += np.sin(2.0 * np.pi * (a * u + b * v) + rng.uniform(0.0, 6.3)) / waves**1.6
    return (0.08 * total / total.std())[..., None].astype(np.float32)


# --- the room


def room(mi: Any, light: Light) -> dict[str, Any]:
    """Return the light from all round: a bright ceiling, a window to one side, dimmer walls."""
    v, u = (np.mgrid[0:256, 0:512] + 0.5) / np.array([256.0, 512.0])[:, None, None]
    rise = 90.0 - 180.0 * v
    turn = (360.0 * u - light.window_azimuth_deg + 180.0) % 360.0 - 180.0
    sky = light.walls + (light.ceiling - light.walls) * _step(rise, 15.0, 45.0)
    sky = sky * (1.0 + light.swing * np.cos(np.radians(turn)) * np.cos(np.radians(rise)))
    opening = _step(rise, 16.0, 24.0) * _step(-rise, -62.0, -54.0) * _step(-np.abs(turn), -34.0, -26.0)
    glow = (sky + light.window * opening)[..., None] * np.array(light.tint)
    turned = mi.ScalarTransform4f().rotate([1, 0, 0], 90)
    return {"type": "envmap", "bitmap": mi.Bitmap(glow.astype(np.float32)), "to_world": turned}


def _step(value: Floats, low: float, high: float) -> Floats:
    t = np.clip((value - low) / (high - low), 0.0, 1.0)
    return t * t * (3.0 - 2.0 * t)


def lamp(light: Light) -> dict[str, Any]:
    """Return a small round lamp that lights the window's middle by the wanted share."""
    at = np.array(light.lamp_from_mm)
    distance = float(np.linalg.norm(at))
    power = light.lamp_share * distance**2 / (light.lamp_radius_mm**2 * at[2] / distance)
    radiance = [power * c for c in (1.0, 0.9, 0.74)]
    emitter = {"type": "area", "radiance": {"type": "rgb", "value": radiance}}
    return {"type": "sphere", "center": at.tolist(), "radius": light.lamp_radius_mm, "emitter": emitter}


def phone(mi: Any, scene: Scene) -> dict[str, Any]:
    """Return the phone's own dark back, 155 x 75 mm, just behind the lens: bright parts mirror it."""
    lens = world(scene.camera.position_mm[None], scene.layout)[0]
    right, down, forward = scene.camera.rotation * np.array([1.0, -1.0, -1.0])
    middle = lens + 58.0 * right + 22.0 * down - 3.0 * forward
    place = np.eye(4)
    place[:3] = np.column_stack([77.5 * right, -37.5 * down, forward, middle])
    back = mi.ScalarTransform4f(place.tolist())
    look = {"type": "twosided", "bsdf": {"type": "diffuse", "reflectance": {"type": "rgb", "value": 0.12}}}
    return {"type": "rectangle", "to_world": back, "bsdf": look}


def table(mi: Any, scene: Scene) -> dict[str, Any]:
    """Return a board with a grain, under the paper."""
    rng = np.random.default_rng(scene.seed)
    y, x = np.mgrid[0:1024, 0:1024] / 1024.0
    grain = np.zeros((1024, 1024))
    for _ in range(70):
        along, across = rng.integers(-3, 4), rng.integers(5, 160)
        phase = 2.0 * np.pi * (along * x + across * y) + rng.uniform(0.0, 6.3) + 0.6 * np.sin(2.0 * np.pi * x)
        grain += np.sin(phase) / np.sqrt(across)
    shade = 1.0 + 0.10 * grain / grain.std()
    board = (np.array(scene.table) * shade[..., None]).clip(0.02, 0.9).astype(np.float32)
    # A rectangle spans -1 to 1; the grain repeats every 500 mm.
    t = mi.ScalarTransform4f()
    wood = {
        "type": "bitmap", "bitmap": mi.Bitmap(board), "raw": True, "wrap_mode": "mirror", "to_uv": t.scale([4, 4, 1]),
    }  # fmt: skip
    place = t.translate([0, 0, -PAPER_THICKNESS_MM]).scale([1000, 1000, 1])
    return {"type": "rectangle", "to_world": place, "bsdf": {"type": "diffuse", "reflectance": wood}}


def build(mi: Any, scene: Scene) -> Any:
    sheet, printed = scene.layout, as_printed(scene, border_print(scene.layout))
    boxes, colours = sheet_rectangles(scene)
    things: dict[str, Any] = {
        "type": "scene",
        "sheet": rectangles_mesh(mi, as_printed(scene, boxes), colours, height_mm=0.0, sheet=sheet),
        "printed": rectangles_mesh(mi, printed, np.tile(INK, (len(printed), 1)), height_mm=0.004, sheet=sheet),
        "table": table(mi, scene),
        "room": room(mi, scene.light),
        "phone": phone(mi, scene),
    }
    if scene.light.lamp_share > 0.0:
        things["lamp"] = lamp(scene.light)
    for number, part in enumerate(scene.parts):
        things[f"part{number}"] = part_mesh(mi, part, scene.thickness_mm, sheet)
    return mi.load_dict(things)


# --- the camera


def camera_rays(mi: Any, dr: Any, scene: Scene, sampler: Any, *, first_px: int, pixels: int, samples: int) -> Any:
    """Return the rays of some pixels in reading order, pixel by pixel, through the point spread and the lens."""
    camera = scene.camera

    def held(value: float) -> Any:
        """Keep a number out of the compiled kernel, which then serves every block of every scene."""
        return dr.opaque(mi.Float, float(value))

    index = dr.arange(mi.UInt32, pixels * samples) // samples + dr.opaque(mi.UInt32, first_px)
    xi = 2.0 * sampler.next_2d() - 1.0
    spread = held(camera.psf_px * np.sqrt(2.0))
    blur = spread * mi.Point2f(dr.erfinv(xi.x * 0.999999), dr.erfinv(xi.y * 0.999999))
    cx, cy = camera.centre_px
    width, focal = dr.opaque(mi.UInt32, camera.width_px), held(camera.focal_px)
    seen_x = (mi.Float(index % width) - held(cx) + blur.x) / focal
    seen_y = (mi.Float(index // width) - held(cy) + blur.y) / focal
    terms = {name: held(getattr(camera, name)) for name in ("k1", "k2", "p1", "p2")}
    x, y = replace(camera, **terms).undistorted(seen_x, seen_y, steps=8)
    turn = np.diag([1.0, -1.0, -1.0]) @ camera.rotation.T
    to_world = mi.Matrix3f([[held(value) for value in row] for row in turn])
    direction = dr.normalize(to_world @ mi.Vector3f(x, y, 1.0))
    origin = mi.Point3f(*(held(value) for value in world(camera.position_mm[None], scene.layout)[0]))
    return mi.RayDifferential3f(origin, direction)


def render(
    mi: Any, dr: Any, scene: Scene, *, samples: int, coverage_only: bool = False, at_once: int = RAYS_AT_ONCE
) -> npt.NDArray[np.float32]:
    """Return linear light (H, W, 3), or the share of the parts' upper faces in each pixel (H, W, 1)."""
    world_scene, camera = build(mi, scene), scene.camera
    integrator = mi.load_dict({"type": "path", "max_depth": 5, "rr_depth": 20})
    total = camera.width_px * camera.height_px
    pixels = max(1, at_once // samples)
    kind = "independent" if coverage_only else "multijitter"
    picture = np.zeros((total, 1 if coverage_only else 3), dtype=np.float32)
    for number, first in enumerate(range(0, total, pixels)):
        sampler = mi.load_dict({"type": kind, "sample_count": samples})
        sampler.set_samples_per_wavefront(samples)
        sampler.seed(dr.opaque(mi.UInt32, (scene.seed * 100_003 + number) % (1 << 32)), pixels * samples)
        rays = camera_rays(mi, dr, scene, sampler, first_px=first, pixels=pixels, samples=samples)
        if coverage_only:
            hit = world_scene.ray_intersect_preliminary(rays).compute_surface_interaction(rays)
            above = dr.opaque(mi.Float, 0.8 * scene.thickness_mm)
            found = hit.is_valid() & (hit.p.z > above) & (hit.n.z > 0.9)
            value = [dr.select(found, mi.Float(1.0), 0.0)]
        else:
            value = list(dr.minimum(integrator.sample(world_scene, sampler, rays)[0], FIREFLY_LIMIT))
        dr.eval(*value)  # together: one by one, each channel would trace all rays again
        mean = np.stack([np.array(dr.block_sum(channel, samples)) for channel in value], axis=1) / samples
        picture[first : first + pixels] = mean[: total - first]
    return picture.reshape(camera.height_px, camera.width_px, -1)


def small(scene: Scene, width_px: int) -> Scene:
    """Return the scene in fewer pixels, the same view."""
    camera: Camera = scene.camera
    share = width_px / camera.width_px
    fewer = replace(camera, width_px=width_px, height_px=round(camera.height_px * share))
    return replace(scene, camera=fewer)


def write_truth(folder: Path, scenes: list[Scene]) -> None:
    for scene in scenes:
        (folder / f"{scene.name}.toml").write_text(truth_toml(scene), encoding="utf-8")
    with (folder / "index.csv").open("w", newline="", encoding="utf-8") as file:
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow(["file", "what", "expected"])
        for scene in (*SCENES, *SOLIDS):
            if (folder / f"{scene.name}.jpg").is_file():
                rows.writerow([f"{scene.name}.jpg", scene.what, "refused" if scene.refused_because else "measured"])


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--scene", action="append", choices=[s.name for s in (*SCENES, *SOLIDS)], help="only this one")
    options.add_argument("--out", type=Path, default=Path("demo_images"))
    options.add_argument("--small", action="store_true", help="800 px wide, 64 samples")
    options.add_argument("--samples", type=int)
    options.add_argument("--linear", action="store_true", help="also keep the linear light as NAME.npy")
    options.add_argument("--truth-only", action="store_true")
    chosen = options.parse_args()
    scenes = [s for s in (*SCENES, *SOLIDS) if not chosen.scene or s.name in chosen.scene]
    chosen.out.mkdir(parents=True, exist_ok=True)
    if not chosen.truth_only:
        import drjit as dr
        import mitsuba as mi

        mi.set_variant("llvm_ad_rgb")
        for scene in scenes:
            began = time.monotonic()
            view = small(scene, 800) if chosen.small else scene
            linear = render(mi, dr, view, samples=chosen.samples or scene.samples)
            if chosen.linear:
                np.save(chosen.out / f"{scene.name}.npy", linear)
            save(develop(linear, view), view, chosen.out / f"{scene.name}.jpg")
            print(f"{scene.name}: {time.monotonic() - began:.0f} s")
    if not chosen.small:
        write_truth(chosen.out, scenes)


if __name__ == "__main__":
    main()
