"""Look at single scenes of the accuracy study: the true edge in green, the found one in red, and where they part.

    python -m calibration.studies.accuracy_overlay --out FOLDER --seed 100017 --seed 100203
    python -m calibration.studies.accuracy_overlay --out FOLDER --worst 20 --rows accuracy_rows.csv

The left picture shows the whole part (cyan: foot of the walls), the right ones the places that cost most area. The text
splits the error into scale, mean shift of the edge, and the largest single pieces of area too much or too little.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt
import shapely
from shapely import affinity
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from areakit.errors import MeasurementError
from areakit.imaging.one_part import FoundPart
from areakit.imaging.photo import read_photo
from areakit.synthetic import Scene
from areakit.synthetic.projection import project, view_of
from calibration.studies.accuracy import measure, photo_of
from calibration.studies.accuracy_answers import main_part
from calibration.studies.accuracy_rows import Row, read_rows
from calibration.studies.accuracy_scenes import entry_of, field_of, judged_scene, true_rings_px

Floats = npt.NDArray[np.float64]
Bytes = npt.NDArray[np.uint8]
GREEN, RED, CYAN = (0, 220, 0), (255, 30, 30), (0, 220, 220)
TILE_PX = 460
PLACES = 4
THIN_MM = 0.12
"""Pieces thinner than twice this are shifts of the edge, not places where another edge was followed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One place where the found outline differs: signed area [mm2], and a point in it on the sheet [mm]."""

    area_mm2: float
    at_mm: tuple[float, float]


def difference(scene: Scene, part: FoundPart) -> list[Piece]:
    """Return the places where another edge was followed, largest first."""
    found, true = _on_desk(scene, part.outline.polygon), scene.parts[0].placed()
    signed = ((found.difference(true), 1.0), (true.difference(found), -1.0))
    pieces = []
    for geometry, sign in signed:
        opened = geometry.buffer(-THIN_MM).buffer(1.5 * THIN_MM).intersection(geometry)
        for piece in shapely.get_parts(opened):
            if piece.area > 0.05:
                point = piece.representative_point()
                pieces.append(Piece(area_mm2=sign * piece.area, at_mm=(point.x, point.y)))
    return sorted(pieces, key=lambda piece: -abs(piece.area_mm2))


def _on_desk(scene: Scene, polygon: Polygon) -> BaseGeometry:
    """Turn a measured polygon (y up) over and move it to where the print was stretched about its middle."""
    (x, y), p = scene.middle_mm, scene.print
    down = affinity.scale(polygon, 1.0, -1.0, origin=(0.0, 0.0))
    return affinity.translate(down, x * (1.0 - p.scale_x), y * (1.0 + p.scale_y)).buffer(0)


def overlay(scene: Scene, pixels: Bytes, part: FoundPart | None, pieces: list[Piece]) -> Bytes:
    """Return the picture: the whole part, and the places that cost most."""
    top, foot = true_rings_px(scene, top=True), true_rings_px(scene, top=False)
    found = list(part.rings_px) if part else []
    low = np.min([ring.min(axis=0) for ring in (*top, *found)], axis=0) - 40
    high = np.max([ring.max(axis=0) for ring in (*top, *found)], axis=0) + 40
    curves = [(foot, CYAN), (top, GREEN), (found, RED)]
    whole = _tile(pixels, low, float(max(high - low)), curves, side=2 * TILE_PX)
    places = [
        project(view_of(scene), np.array([piece.at_mm]), scene.parts[0].thickness_mm)[0] for piece in pieces[:PLACES]
    ]
    if part and len(places) < PLACES:
        places += _far_apart(top, found, PLACES - len(places))
    tiles = [_tile(pixels, place - 30, 60.0, curves, side=TILE_PX) for place in places]
    tiles += [np.full((TILE_PX, TILE_PX, 3), 255, np.uint8)] * (PLACES - len(tiles))
    right = np.vstack([np.hstack(tiles[:2]), np.hstack(tiles[2:])])
    return np.hstack([whole, right])


def _far_apart(top: list[Floats], found: list[Floats], count: int) -> list[Floats]:
    """Return points of the true edge at even ranks of their distance from the found one, the farthest first."""
    lines = shapely.union_all([shapely.LinearRing(ring) for ring in found])
    points = np.concatenate(top)
    order = np.argsort(-shapely.distance(shapely.points(points), lines))
    return [points[order[i * len(order) // (2 * count)]] for i in range(count)]


def _tile(
    pixels: Bytes, corner: Floats, width: float, curves: list[tuple[list[Floats], tuple[int, int, int]]], *, side: int
) -> Bytes:
    """Cut a square out of the photo, enlarge it, and draw curves over it."""
    zoom = side / width
    shift = np.array([[zoom, 0.0, -zoom * corner[0]], [0.0, zoom, -zoom * corner[1]]])
    method = cv2.INTER_AREA if zoom < 1.0 else cv2.INTER_NEAREST
    if zoom < 1.0:
        x, y = (max(0, int(v)) for v in corner)
        cut = pixels[y : y + int(width), x : x + int(width)]
        tile: npt.NDArray[np.uint8] = np.full((side, side, 3), 200, np.uint8)
        small = cv2.resize(cut, None, fx=zoom, fy=zoom, interpolation=method)[:side, :side]
        tile[: small.shape[0], : small.shape[1]] = small
        shift[:, 2] = [-zoom * x, -zoom * y]
    else:
        tile = np.asarray(cv2.warpAffine(pixels, shift, (side, side), flags=method), dtype=np.uint8)
    for rings, colour in curves:
        for ring in rings:
            at = np.rint((ring @ shift[:, :2].T + shift[:, 2]) * 16).astype(np.int32)
            cv2.polylines(tile, [at], True, colour, 1, cv2.LINE_AA, 4)
    return np.asarray(tile, dtype=np.uint8)


def words_on(scene: Scene, seed: int, part: FoundPart | None, pieces: list[Piece], refused: str) -> str:
    """Return what is known of the scene and of its error, in a few lines."""
    shape, metal, light, chain = scene.parts[0].polygon, scene.metal, scene.light, scene.chain
    lines = [
        f"seed {seed}: {scene.layout}, {metal.finish} {metal.name} x{metal.brightness:.2f} on {field_of(scene)}, "
        f"{shape.area / 100:.1f} cm2, {len(shape.interiors)} holes, t {scene.parts[0].thickness_mm:.2f} mm, "
        f"tilt {scene.camera.tilt_deg:.0f}, blur {chain.blur_px:.1f}, sharpening {chain.sharpening:.2f}, "
        f"contact {light.contact_depth:.2f}/{light.contact_width_mm:.1f} mm, cast {light.cast_depth:.2f}, "
        f"veil {light.veil_depth:.2f}, highlight {metal.highlight:.2f}, rim {metal.rim_mm:.2f}x{metal.rim_gain:+.2f}, "
        f"exposure {chain.exposure:.2f}, mosaic {int(chain.mosaic)}"
    ]
    if part is None:
        return "\n".join([*lines, f"  refused: {refused}"])
    outline, around = part.outline, shape.length
    error = outline.area.value - shape.area
    jumps = sum(piece.area_mm2 for piece in pieces)
    budget = sorted(outline.area.budget.items(), key=lambda item: -abs(item[1]))[:5]
    lines += [
        f"  error {100 * error / shape.area:+.2f} % of U {100 * outline.area.relative_expanded_uncertainty:.2f} %, "
        f"E_n {error / outline.area.expanded_uncertainty:+.2f}, holes {len(outline.polygon.interiors)}, "
        f"flags {' '.join(sorted(flag.code for flag in outline.flags)) or '-'}",
        f"  other edges {100 * jumps / shape.area:+.2f} % in {len(pieces)} pieces "
        f"({', '.join(f'{piece.area_mm2:+.2f}' for piece in pieces[:6])} mm2); rest "
        f"{100 * (error - jumps) / shape.area:+.2f} % = {(error - jumps) / around:+.4f} mm along the edge",
        "  budget % (k = 1): " + ", ".join(f"{name} {100 * share / shape.area:.3f}" for name, share in budget),
    ]
    return "\n".join(lines)


def look(seed: int, folder: Path) -> str:
    """Make one scene again, write its overlay, and return the words on it."""
    scene = judged_scene(seed)
    return look_at(scene, seed, photo_of(scene), folder)


def look_at(scene: Scene, seed: int, data: bytes, folder: Path) -> str:
    """Measure a photo of a scene again, write its overlay, and return the words on it."""
    part, pieces, refused = None, list[Piece](), ""
    try:
        part = main_part(measure(data, entry_of(scene, seed)))
        pieces = difference(scene, part)
    except MeasurementError as error:
        refused = f"{error.code}: {error.message}"
    picture = overlay(scene, read_photo(data).pixels, part, pieces)
    cv2.imwrite(str(folder / f"{seed}.png"), picture[..., ::-1])
    return words_on(scene, seed, part, pieces, refused)


def worst_of(rows: Sequence[Row], count: int) -> list[Row]:
    """Return refusals and the rows with the largest error over U, refusals first."""
    return sorted(rows, key=lambda r: -abs(r.e_n) if r.measured else -float("inf"))[:count]


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--out", type=Path, required=True)
    options.add_argument("--seed", type=int, action="append", default=[])
    options.add_argument("--worst", type=int, default=0, help="the scenes with the largest error over U, and refusals")
    options.add_argument("--rows", type=Path, default=Path(__file__).with_name("accuracy_rows.csv"))
    chosen = options.parse_args()
    chosen.out.mkdir(parents=True, exist_ok=True)
    for seed in (*chosen.seed, *(row.seed for row in worst_of(read_rows(chosen.rows), chosen.worst))):
        sys.stdout.write(look(seed, chosen.out) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
