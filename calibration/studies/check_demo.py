"""Ask the demo pictures themselves how far they are from their truth files.

    python -m calibration.studies.check_demo area     # needs mitsuba: upper faces as the ray tracer sees them
    python -m calibration.studies.check_demo corners  # the ring's saddle corners in the JPEGs against the camera model
    python -m calibration.studies.check_demo edges --linear FOLDER   # edges in NAME.npy, from render_demo --linear

``area`` sums, over all pixels, the share of rays that meet an upper face times the pixel's area on that plane. The
shares come from the ray tracer and its triangles, the pixel areas from the camera model by itself.
``edges`` reads the half level of linear red light (blue on white paper) along normals of the projected upper edge, 25
profiles averaged; shadow and visible side wall belong to what it reads, so only foil should come out near zero.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import LinearRing, Polygon

from calibration.studies.demo_scenes import SCENES, Scene

Floats = npt.NDArray[np.float64]
PROFILES_TOGETHER = 25
REACH_PX, PLATEAU_PX = 6.0, 3.5


def area_error(scene: Scene, seen: Floats) -> float:
    """Return the area of the drawn upper faces over the true one, less 1, from their share (H, W) of each pixel."""
    camera = scene.camera
    y, x = np.mgrid[0 : camera.height_px + 1, 0 : camera.width_px + 1] - 0.5
    grid = camera.on_plane(np.column_stack([x.ravel(), y.ravel()]), scene.thickness_mm).reshape(*x.shape, 2)
    one, two = grid[1:, 1:] - grid[:-1, :-1], grid[1:, :-1] - grid[:-1, 1:]
    cells = 0.5 * np.abs(one[..., 0] * two[..., 1] - one[..., 1] * two[..., 0])
    return float((seen * cells).sum() / sum(part.on_sheet().area for part in scene.parts) - 1.0)


def corner_errors(scene: Scene, grey: npt.NDArray[np.uint8]) -> Floats:
    """Return found less modelled saddle corners, shape (n, 2). [px]"""
    model = scene.camera.project(scene.layout.corners_mm).astype(np.float32)
    stop = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_MAX_ITER, 50, 1e-4)
    found = cv2.cornerSubPix(grey, model.reshape(-1, 1, 2).copy(), (9, 9), (-1, -1), stop)
    return np.asarray(found.reshape(-1, 2) - model, dtype=float)


def edge_offsets(scene: Scene, light: npt.NDArray[np.float32], shape: Polygon) -> Floats:
    """Return where the half level lies along the outline, outward positive, one value for 25 profiles. [px]"""
    offsets: list[float] = []
    for ring in [shape.exterior, *shape.interiors]:
        at, outward = _normals(scene, ring, shape)
        u = np.arange(-REACH_PX, REACH_PX + 0.01, 0.1)
        where = (at[:, None] + outward[:, None] * u[None, :, None]).astype(np.float32)
        profiles = cv2.remap(light, where[..., 0], where[..., 1], cv2.INTER_LINEAR)
        for first in range(0, len(at) - PROFILES_TOGETHER + 1, PROFILES_TOGETHER):
            offsets += _half_level(u, profiles[first : first + PROFILES_TOGETHER].mean(axis=0))
    return np.array(offsets)


def _normals(scene: Scene, ring: LinearRing, shape: Polygon) -> tuple[Floats, Floats]:
    """Return points (n, 2) of the projected upper edge and unit normals out of the metal. [px]"""
    along = np.arange(0.0, ring.length, 0.08)

    def shown(shift: float) -> Floats:
        xy = shapely.get_coordinates(shapely.line_interpolate_point(ring, (along + shift) % ring.length))
        return scene.camera.project(np.column_stack([xy, np.full(len(xy), -scene.thickness_mm)]))

    at, step = shown(0.0), shown(0.02) - shown(-0.02)
    normal = np.column_stack([step[:, 1], -step[:, 0]]) / np.linalg.norm(step, axis=1)[:, None]
    beside = scene.camera.on_plane(at + 1.5 * normal, scene.thickness_mm)
    normal[shapely.contains_xy(shape, beside[:, 0], beside[:, 1])] *= -1.0
    return at, normal


def _half_level(u: Floats, profile: Floats) -> list[float]:
    half = (profile[u < -PLATEAU_PX].mean() + profile[u > PLATEAU_PX].mean()) / 2.0
    crossings = np.flatnonzero(np.diff(np.sign(profile - half)))
    if len(crossings) == 0:
        return []
    k = crossings[np.argmin(np.abs(u[crossings]))]
    return [float(u[k] + (u[k + 1] - u[k]) * (half - profile[k]) / (profile[k + 1] - profile[k]))]


def print_area(scenes: list[Scene]) -> None:
    import drjit as dr
    import mitsuba as mi

    from calibration.studies.render_demo import render

    mi.set_variant("llvm_ad_rgb")
    for scene in scenes:
        seen = render(mi, dr, scene, samples=64, coverage_only=True)[..., 0].astype(float)
        print(f"{scene.name}: area drawn {100.0 * area_error(scene, seen):+.4f} % off the truth")


def print_corners(scenes: list[Scene], folder: Path) -> None:
    for scene in scenes:
        grey = cv2.imread(str(folder / f"{scene.name}.jpg"), cv2.IMREAD_GRAYSCALE)
        errors = corner_errors(scene, np.asarray(grey, dtype=np.uint8))
        rms = np.sqrt((errors**2).sum(axis=1).mean())
        print(f"{scene.name}: saddle corners rms {rms:.3f} px, mean {errors.mean(axis=0).round(4)} px")


def print_edges(scenes: list[Scene], folder: Path) -> None:
    for scene in scenes:
        channel = 2 if scene.field == "white" else 0  # copper is as bright as white paper in red
        light = np.load(folder / f"{scene.name}.npy")[..., channel].astype(np.float32)
        scale = scene.camera.focal_px / scene.camera.distance_mm
        for part in scene.parts:
            found = edge_offsets(scene, light, part.on_sheet())
            words = f"half level {found.mean():+.4f} px = {found.mean() / scale:+.4f} mm from the true edge"
            print(f"{scene.name}, {part.name}: {words}, median {np.median(found):+.4f}, sd {found.std():.3f} px")


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("check", choices=["area", "corners", "edges"])
    options.add_argument("--scene", action="append", choices=[s.name for s in SCENES])
    options.add_argument("--folder", type=Path, default=Path("demo_images"))
    options.add_argument("--linear", type=Path, default=Path("demo_images"))
    chosen = options.parse_args()
    scenes = [s for s in SCENES if not chosen.scene or s.name in chosen.scene]
    if chosen.check == "area":
        print_area(scenes)
    elif chosen.check == "corners":
        print_corners(scenes, chosen.folder)
    else:
        print_edges(scenes, chosen.linear)


if __name__ == "__main__":
    main()
