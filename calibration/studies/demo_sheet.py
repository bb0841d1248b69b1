"""The printed sheet as coloured rectangles: (left, top, right, bottom) in sheet mm, and a linear colour for each."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw, ImageFont

from areakit.imaging.marks.dictionary import MODULES, marker_bits
from areakit.imaging.marks.frame_layout import FrameLayout
from calibration.studies.demo_scenes import Colour, Scene

Floats = npt.NDArray[np.float64]
INK: Colour = (0.035, 0.035, 0.038)
FIELD_SRGB = {"blue": (70, 115, 195), "pale-green": (190, 225, 190)}
LABEL_PX_PER_MM = 12


def sheet_rectangles(scene: Scene) -> tuple[Floats, Floats]:
    """Return the rectangles (n, 4) that tile the paper without overlap, as designed, and their colours (n, 3)."""
    sheet, paper = scene.layout, scene.paper
    boxes, colours = _paper_border(sheet, paper)
    for square in sheet.frame_squares:
        left, top = square[0] * sheet.square_mm, square[1] * sheet.square_mm
        if square in sheet.marker_squares:
            marker_id = sheet.first_id + sheet.marker_squares.index(square)
            more = _marker_square(sheet, marker_id, at=(left, top), paper=paper)
            boxes += more[0]
            colours += more[1]
        else:
            boxes.append((left, top, left + sheet.square_mm, top + sheet.square_mm))
            colours.append(INK if sheet.is_black(*square) else paper)
    boxes.append(sheet.field_mm)
    field = scene.field_srgb or FIELD_SRGB.get(scene.field)
    colours.append(linear(field) if field else paper)
    return np.array(boxes), np.array(colours)


def _paper_edges(sheet: FrameLayout) -> tuple[float, float, float, float]:
    """The paper's edges in sheet mm; the ring sits in its middle."""
    side, top = (sheet.paper_mm[0] - sheet.width_mm) / 2.0, (sheet.paper_mm[1] - sheet.height_mm) / 2.0
    return -side, -top, sheet.width_mm + side, sheet.height_mm + top


def _paper_border(sheet: FrameLayout, paper: Colour) -> tuple[list[Any], list[Any]]:
    left, top, right, bottom = _paper_edges(sheet)
    w, h = sheet.width_mm, sheet.height_mm
    boxes = [(left, top, right, 0.0), (left, h, right, bottom), (left, 0.0, 0.0, h), (w, 0.0, right, h)]
    return boxes, [paper] * 4


def _marker_square(
    sheet: FrameLayout, marker_id: int, *, at: tuple[float, float], paper: Colour
) -> tuple[list[Any], list[Any]]:
    quiet = (sheet.square_mm - sheet.marker_mm) / 2.0
    steps = [0.0, *(quiet + np.arange(MODULES + 1) * sheet.marker_mm / MODULES), sheet.square_mm]
    black = np.pad(marker_bits(marker_id), 1)
    boxes, colours = [], []
    for row in range(MODULES + 2):
        for column in range(MODULES + 2):
            boxes.append((at[0] + steps[column], at[1] + steps[row], at[0] + steps[column + 1], at[1] + steps[row + 1]))
            colours.append(INK if black[row, column] else paper)
    return boxes, colours


def border_print(sheet: FrameLayout) -> Floats:
    """Return black rectangles (n, 4) of the check lengths and the words in the paper's border."""
    along, down = sheet.check_lengths_mm
    left, top, _, _ = _paper_edges(sheet)
    y, x = sheet.height_mm - top / 2.0, left / 2.0
    x0, y0 = (sheet.width_mm - along) / 2.0, (sheet.height_mm - down) / 2.0
    bars = [(x0, y - 0.125, x0 + along, y + 0.125), (x - 0.125, y0, x + 0.125, y0 + down)]
    bars += [(end - 0.125, y - 2.5, end + 0.125, y + 2.5) for end in (x0, x0 + along)]
    bars += [(x - 2.5, end - 0.125, x + 2.5, end + 0.125) for end in (y0, y0 + down)]
    title = _words(f"{sheet.code}   print at 100 %   measure the two lines", 3.6, (x0, top / 2.0))
    length = _words(f"{along:g} mm", 3.0, (sheet.width_mm / 2.0 - 6.0, y - 2.8))
    height = _words(f"{down:g} mm", 3.0, (sheet.height_mm / 2.0 - 6.0, -x - 2.8))
    upright = np.column_stack([-height[:, 3], height[:, 0], -height[:, 1], height[:, 2]])
    return np.vstack([bars, title, length, upright])


def _words(text: str, size_mm: float, at_mm: tuple[float, float]) -> Floats:
    """Return letters as rectangles, one for each run of black pixels in a row."""
    font = ImageFont.load_default(size_mm * LABEL_PX_PER_MM)
    _, top, right, bottom = (int(v) for v in font.getbbox(text))
    page = Image.new("L", (right + 4, bottom + 4))
    ImageDraw.Draw(page).text((0, 0), text, fill=255, font=font)
    black = np.asarray(page) > 127
    runs = []
    for row in range(black.shape[0]):
        turns = np.flatnonzero(np.diff(np.concatenate([[0], black[row].astype(np.int8), [0]])))
        runs += [(a, row, b, row + 1) for a, b in turns.reshape(-1, 2)]
    boxes = np.array(runs, dtype=float) / LABEL_PX_PER_MM
    middle = (top + bottom) / 2.0 / LABEL_PX_PER_MM
    return boxes + np.array([at_mm[0], at_mm[1] - middle] * 2)


def as_printed(scene: Scene, boxes: Floats) -> Floats:
    """Return where designed rectangles (n, 4) really are: stretched about the middle of the ring."""
    x, y = scene.layout.width_mm / 2.0, scene.layout.height_mm / 2.0
    middle, scale = np.array([x, y, x, y]), np.array([*scene.print_scale, *scene.print_scale])
    return np.asarray(middle + (boxes - middle) * scale, dtype=float)


def linear(srgb: tuple[int, int, int]) -> Colour:
    """Undo the sRGB curve of IEC 61966-2-1."""
    r, g, b = (v / 3294.6 if v <= 10 else ((v / 255.0 + 0.055) / 1.055) ** 2.4 for v in srgb)
    return r, g, b
