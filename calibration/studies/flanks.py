"""How far inside of where it is the edge of a rounded flank is found: drawn wires under sky, window and their shadow.

Run from the project's root::

    python -m calibration.studies.flanks                                  # 45 wires, prints the table
    python -m calibration.studies.flanks --out calibration/studies/flanks_results.md

Each wire lies on the blue sheet. Its skin scatters light and mirrors what is around it, each by a share: sky, a window
on one side, and below the horizon the sheet, which the wire shades. No height and no lens: what is left between the
drawn outline and that which is found is the flank alone.
"""

from __future__ import annotations

import argparse
import math
from collections import defaultdict
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

from areakit.errors import AreakitError
from areakit.geometry.forms.finish import MIRRORED
from areakit.geometry.forms.table import FLANK_PX
from areakit.imaging.outlines import find_outlines
from areakit.imaging.photo import DIAGONAL_35MM, Photo
from areakit.imaging.scale import CheckReading
from areakit.synthetic import Camera, Chain, Light, Scene, ScenePart
from areakit.synthetic.coverage import Floats, around, coverage
from areakit.synthetic.prism import see_prism
from areakit.synthetic.projection import view_of
from areakit.synthetic.render import render_linear
from areakit.synthetic.sensor import develop
from areakit.synthetic.shadows import darken_beside
from areakit.synthetic.sheet_print import linear
from areakit.uncertainty import Measured

METALS = {"copper": (0.55, 0.28, 0.17), "brass": (0.58, 0.46, 0.22), "steel": (0.50, 0.49, 0.48)}
MIRRORS = {"dull": 0.0, "satin": 0.35, "polished": 0.8}
"""Share of the light that is mirrored; the rest is scattered (own estimates by eye)."""
SKY, WINDOW, ELEVATION_DEG, PANE_DEG = 0.6, 0.4, 40.0, 22.0
"""Shares of sky and window in the light of the bare sheet; height of the window, and half the angle of its pane."""
SEED = 64


@dataclass(frozen=True, slots=True, kw_only=True)
class Flank:
    """One drawn wire, and how far inside its outline was found. [px]"""

    finish: str
    metal: str
    width_px: float
    inside_px: float | None
    shares_px: float


def skin(normals: Floats, toward: Floats, *, metal: Floats, sheet: Floats, mirror: float, shade: float) -> Floats:
    """Return what skin with normals (n, 3) sends straight up, shape (n, 3); bare white paper is 1."""
    along = normals[:, :2] @ toward
    ground = sheet * (1.0 - shade * (0.7 - 0.3 * along))[:, None]
    up = normals[:, 2]
    lamp = np.array([*(toward * math.cos(math.radians(ELEVATION_DEG))), math.sin(math.radians(ELEVATION_DEG))])
    lit = SKY * (1.0 + up) / 2.0 + WINDOW * np.maximum(normals @ lamp, 0.0) / lamp[2]
    scattered = metal * (lit[:, None] + (1.0 - up)[:, None] / 2.0 * ground)
    way = 2.0 * up[:, None] * normals - np.array([0.0, 0.0, 1.0])
    pane = way @ lamp > math.cos(math.radians(PANE_DEG))
    above = np.where(pane, 2.5, SKY)[:, None] * np.ones(3)
    mirrored = metal * np.where(way[:, 2:] > 0.0, above, ground)
    return np.asarray((1.0 - mirror) * scattered + mirror * mirrored)


def draw(scene: Scene, polygon: Polygon, width_mm: float, *, metal: str, mirror: float, shade: float) -> Photo:
    """Return the photo of a wire with the outline of a polygon of one width."""
    view = view_of(scene)
    picture = render_linear(replace(scene, parts=()))
    darken_beside(picture, scene, view, polygon=polygon, thickness_mm=width_mm)
    edges = see_prism(view, polygon, base_mm=0.0, thickness_mm=0.0).top
    window = around(edges, margin_px=2.0, shape=picture.shape[:2])
    share = coverage(edges, window)
    border = shapely.multilinestrings(edges.reshape(-1, 2, 2))
    shapely.prepare(border)
    rows, columns = np.nonzero(share > 0.0)
    radius = width_mm * view.pixels_per_mm / 2.0
    sheet = np.array(linear(scene.print.field_srgb or scene.print.paper_srgb))
    azimuth = math.radians(scene.light.azimuth_deg)
    toward = np.array([math.cos(azimuth), math.sin(azimuth)])
    colour = np.zeros((len(rows), 3))
    steps = (-1.0 / 3.0, 0.0, 1.0 / 3.0)
    for dx in steps:
        for dy in steps:
            spots = np.column_stack([columns + window.left + dx, rows + window.top + dy])
            nearest = shapely.get_coordinates(shapely.shortest_line(shapely.points(spots), border)).reshape(-1, 2, 2)
            out = nearest[:, 1] - spots
            far = np.hypot(*out.T)
            side = np.clip(1.0 - far / radius, 0.0, 1.0)
            flat = out / np.maximum(far, 1e-9)[:, None] * side[:, None]
            normals = np.column_stack([flat, np.sqrt(1.0 - side**2)])
            colour += (
                skin(normals, toward, metal=np.array(METALS[metal]), sheet=sheet, mirror=mirror, shade=shade)
                / len(steps) ** 2
            )
    crop = picture[window.slices]
    weight = share[rows, columns][:, None]
    crop[rows, columns] = crop[rows, columns] * (1.0 - weight) + weight * colour.astype(np.float32)
    pixels = develop(picture, scene.chain, np.random.default_rng(scene.seed))
    focal = scene.camera.stated_f35_mm * float(np.hypot(*pixels.shape[:2])) / DIAGONAL_35MM  # type: ignore[operator]
    return Photo(name="flank", pixels=pixels, sha256="", focal_px=focal, dpi=None, camera="")


def wire(rng: np.random.Generator, finish: str, metal: str) -> Flank:
    """Draw and read one wire."""
    width = float(rng.uniform(1.5, 5.0))
    turn = rng.uniform(0.0, 2.0 * math.pi)
    angles = turn + np.linspace(0.0, math.radians(rng.uniform(60.0, 200.0)), 120)
    bend = float(rng.uniform(5.0, 8.0)) * width
    path = np.column_stack([np.cos(angles), np.sin(angles)]) * min(bend, 28.0)
    path += np.array([130.0, 90.0]) - path.mean(axis=0)
    polygon = LineString(path).buffer(width / 2.0, cap_style="flat", quad_segs=32)
    assert isinstance(polygon, Polygon)
    depth = float(rng.uniform(0.2, 0.6))
    light = Light(
        azimuth_deg=float(rng.uniform(0.0, 360.0)), contact_depth=depth, contact_width_mm=1.5 * width,
        contact_shift_mm=0.2 * width, cast_depth=0.7 * depth, elevation_deg=ELEVATION_DEG, cast_softness_mm=width,
    )  # fmt: skip
    size = (2016, 1512) if rng.uniform() < 0.5 else (3024, 2268)
    scene = Scene(
        parts=(ScenePart(polygon=polygon, thickness_mm=0.0),),
        camera=Camera(width_px=size[0], height_px=size[1], distance_mm=270.0),
        light=light,
        chain=Chain(blur_px=float(rng.uniform(0.6, 1.2)), sharpening=float(rng.uniform(0.0, 0.6)), full_well=8000.0),
        seed=int(rng.integers(1 << 31)),
    )
    photo = draw(scene, polygon, width, metal=metal, mirror=MIRRORS[finish], shade=depth)
    lengths = CheckReading(read_mm=scene.sheet.check_lengths_mm)
    per_px = 1.0 / view_of(scene).pixels_per_mm
    try:
        (found,) = find_outlines(photo, thickness=Measured(value=0.0, unit="mm"), reading=lengths).parts
    except (AreakitError, ValueError):
        return Flank(finish=finish, metal=metal, width_px=width / per_px, inside_px=None, shares_px=0.0)
    off = (polygon.area - found.outline.area.value) / polygon.length / per_px
    stated = found.outline.area.standard_uncertainty / polygon.length / per_px
    return Flank(finish=finish, metal=metal, width_px=width / per_px, inside_px=off, shares_px=stated)


def is_held(one: Flank, *, dull: bool) -> bool:
    """Return whether the true width lies within what is stated of it."""
    assert one.inside_px is not None
    seen = one.width_px - 2.0 * one.inside_px + FLANK_PX
    spread = math.hypot(FLANK_PX / math.sqrt(3.0), 2.0 * one.shares_px)
    if not dull:
        spread = math.hypot((1.0 + MIRRORED) / 2.0 * spread, seen * (MIRRORED - 1.0) / 2.0 / math.sqrt(3.0))
        seen *= (1.0 + MIRRORED) / 2.0
    return abs(one.width_px - seen) <= 2.0 * spread


def table(flanks: list[Flank]) -> list[str]:
    """Return the lines of the table: by finish, how far inside, and how many lie within what a form adds and opens."""
    groups: dict[str, list[Flank]] = defaultdict(list)
    for one in flanks:
        groups[one.finish].append(one)
    lines = [
        "| finish | wires | refused | mean inside | 5 to 95 % | truth inside, said dull | truth inside, not said |",
        "|---|---|---|---|---|---|---|",
    ]
    for finish, group in groups.items():
        read = [one for one in group if one.inside_px is not None]
        off = np.array([one.inside_px for one in read], dtype=float)
        held = [[is_held(one, dull=dull) for one in read] for dull in (True, False)]
        low, high = np.percentile(off, [5, 95]) if len(off) else (math.nan, math.nan)
        lines.append(
            f"| {finish} | {len(group)} | {len(group) - len(read)} | {off.mean():.2f} px "
            f"| {low:.2f} to {high:.2f} px | " + " | ".join(f"{100 * np.mean(one):.0f} %" for one in held) + " |"
        )
    return lines


def main() -> None:
    options = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    options.add_argument("--wires", type=int, default=5, help="of each finish and metal")
    options.add_argument("--out", type=Path)
    chosen = options.parse_args()
    rng = np.random.default_rng(SEED)
    flanks = [wire(rng, finish, metal) for finish in MIRRORS for metal in METALS for _ in range(chosen.wires)]
    text = "\n".join(table(flanks))
    print(text)
    if chosen.out:
        head = "# Flanks: where the edge of drawn wires is found\n\nMade by `python -m calibration.studies.flanks`. "
        chosen.out.write_text(f"{head}Inside of the drawn outline, all round.\n\n{text}\n", encoding="utf-8")


if __name__ == "__main__":
    main()
