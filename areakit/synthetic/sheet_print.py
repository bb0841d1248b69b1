"""The printed sheet as it lies on the desk: marker frame, markers, field, bars, paper."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import box
from shapely.geometry.base import BaseGeometry

from areakit.imaging.marks.dictionary import marker_bits
from areakit.imaging.marks.frame_layout import FrameLayout, layouts
from areakit.synthetic.coverage import Floats, Plane, around, coverage, edges_of, rings_of
from areakit.synthetic.prism import densified
from areakit.synthetic.projection import View, project
from areakit.synthetic.scene import Colour, Scene

FOLD_REACH_MM = 40.0
"""Distance from a fold at which a folded sheet has come down to 1 / e of it (practice: paper of 80 g). [mm]"""


def linear(srgb: tuple[int, int, int]) -> Colour:
    """Turn 8-bit sRGB values into linear ones, 0 to 1 (IEC 61966-2-1)."""
    e = np.array(srgb) / 255.0
    out = np.where(e <= 0.04045, e / 12.92, ((e + 0.055) / 1.055) ** 2.4)
    return float(out[0]), float(out[1]), float(out[2])


def height_of_sheet(scene: Scene, points_mm: Floats) -> Floats:
    """Return the height of a bent or folded sheet at points, shape (n, 2). [mm]

    A bent one is a parabolic trough through the middle; a fold stands up or dips, and fades within FOLD_REACH_MM.
    """
    height, p = np.zeros(len(points_mm)), scene.print
    if p.edge_lift_mm:
        along, reach = _across(scene, points_mm, p.curl_direction_deg)
        height += p.edge_lift_mm * (along / reach) ** 2
    if p.fold_mm:
        along, _ = _across(scene, points_mm, p.fold_direction_deg)
        height += p.fold_mm * np.exp(-np.abs(along - p.fold_offset_mm) / FOLD_REACH_MM) - min(p.fold_mm, 0.0)
    return height


def _across(scene: Scene, points_mm: Floats, direction_deg: float) -> tuple[Floats, float]:
    """Return how far points lie from the middle of the ring in a direction, and how far the ring reaches. [mm]"""
    toward = np.array([math.cos(math.radians(direction_deg)), math.sin(math.radians(direction_deg))])
    return (points_mm - np.array(scene.middle_mm)) @ toward, float(np.abs(scene.middle_mm) @ np.abs(toward))


def sheet_edges(scene: Scene, view: View, geometry: BaseGeometry, *, printed: bool) -> Floats:
    """Return the edges in the picture of a figure on the sheet, stretched by the print scale if it was printed."""
    moved = densified(view, printed_place(scene, geometry) if printed else geometry)
    return edges_of([project(view, ring, height_of_sheet(scene, ring)) for ring in rings_of(moved)])


def printed_place(scene: Scene, geometry: BaseGeometry) -> BaseGeometry:
    """Return where a designed figure really is: stretched about the middle of the ring."""
    p = scene.print
    return affinity.scale(geometry, p.scale_x, p.scale_y, origin=(*scene.middle_mm, 0.0))


def sheet_picture(scene: Scene, view: View) -> Plane:
    """Return the reflectance of desk and sheet seen at each pixel, shape (height, width, 3)."""
    camera = scene.camera
    shape = (camera.height_px, camera.width_px)
    out = np.empty((*shape, 3), dtype=np.float32)
    out[:] = linear(scene.desk_srgb)
    paper = linear(scene.print.paper_srgb)
    black = (scene.print.ink,) * 3
    dark = black_figure(scene.layout, scene.print.ink_gain_mm)
    _add(out, sheet_edges(scene, view, _paper(scene), printed=False), np.subtract(paper, linear(scene.desk_srgb)))
    if scene.print.field_srgb is not None:
        field = box(*scene.sheet.field_mm).difference(dark)
        _add(out, sheet_edges(scene, view, field, printed=True), np.subtract(linear(scene.print.field_srgb), paper))
    for piece in _quarters(scene.sheet, dark):
        _add(out, sheet_edges(scene, view, piece, printed=True), np.subtract(black, paper))
    return out


def _add(picture: Plane, edges: Floats, colour: Floats) -> None:
    """Add a colour wherever a figure covers the picture; figures that do not overlap add up exactly."""
    window = around(edges, margin_px=1.0, shape=picture.shape[:2])
    cover = coverage(edges, window)
    for channel in range(3):
        picture[(*window.slices, channel)] += cover * np.float32(colour[channel])


def _paper(scene: Scene) -> BaseGeometry:
    width, height = scene.sheet.paper_mm
    x, y = scene.middle_mm
    return box(x - width / 2, y - height / 2, x + width / 2, y + height / 2)


def _quarters(sheet: FrameLayout, figure: BaseGeometry) -> list[BaseGeometry]:
    """Cut the black figure into its four sides, so that only strips of the picture are touched."""
    left, top, right, bottom = sheet.field_mm
    far = 1000.0
    sides = [
        box(-far, -far, far, top), box(-far, bottom, far, far), box(-far, top, left, bottom),
        box(right, top, far, bottom),
    ]  # fmt: skip
    return [figure.intersection(side) for side in sides]


@cache
def black_figure(layout: str, gain_mm: float) -> BaseGeometry:
    """Return everything printed in black, grown by the ink gain. [mm]"""
    sheet = layouts()[layout]
    s = sheet.square_mm
    boxes = [box(c * s, r * s, (c + 1) * s, (r + 1) * s) for c, r in sheet.frame_squares if sheet.is_black(c, r)]
    for marker in sheet.marker_ids:
        left, top = sheet.marker_corners_mm(marker)[0]
        bits = marker_bits(marker)
        m = sheet.marker_mm / len(bits)
        boxes += [
            box(left + x * m, top + y * m, left + (x + 1) * m, top + (y + 1) * m) for y, x in np.argwhere(bits).tolist()
        ]
    figure = shapely.union_all([*boxes, *_check_bars(sheet)], grid_size=1e-6)
    return figure.buffer(gain_mm, join_style="mitre") if gain_mm else figure


def _check_bars(sheet: FrameLayout) -> list[BaseGeometry]:
    """Two bars to be measured with a ruler, with end ticks, outside the ring."""
    along_x, along_y = sheet.check_lengths_mm
    x, y = (sheet.width_mm - along_x) / 2, sheet.height_mm + 4.0
    v, w = sheet.width_mm + 4.0, (sheet.height_mm - along_y) / 2
    return [
        box(x, y - 0.1, x + along_x, y + 0.1), box(x, y - 1.5, x + 0.25, y + 1.5),
        box(x + along_x - 0.25, y - 1.5, x + along_x, y + 1.5), box(v - 0.1, w, v + 0.1, w + along_y),
        box(v - 1.5, w, v + 1.5, w + 0.25), box(v - 1.5, w + along_y - 0.25, v + 1.5, w + along_y),
    ]  # fmt: skip
