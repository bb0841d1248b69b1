"""Compare the marker frame with the cut edges of the paper it is printed on: the two are independent references."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt

from areakit.flags import Flag, flag
from areakit.imaging.edge import LUMINANCE, linear_table
from areakit.imaging.marks.frame_layout import FrameLayout, layouts
from areakit.imaging.marks.paper import SIZES
from areakit.imaging.photo import Overview
from areakit.imaging.scale import UNVERIFIED, PlaneScale, SheetScale, with_flags

Floats = npt.NDArray[np.float64]

TRUSTED = 0.015
"""Share by which frame and paper may differ, beside the limits of the cut, before anything is said: a print fitted to
the page is usually at 97 % or less (practice), and office printers are true to about 1 %."""
CUT_LIMIT_MM = 2.0
"""ISO 216 cut limit between 150 and 600 mm (from memory, unverified)."""
PRINTED_WITHIN = 0.15
"""Log of the largest change of size that a printer makes to fit a sheet to its page (practice); else a small size of
paper has the shape of a large one."""
BETWEEN_SIDES = 0.02
"""Share by which the two sides may be stretched differently and still be one size of paper."""
REACH = (0.93, 1.14)
"""Where an edge is looked for, as shares of half the side: clear of the check bars, and out to a print at 88 %."""
PROFILES, STEPS = 24, 96
FEWEST_AGREE = 0.6
AGREE_MM = 1.0
CLEAR = 0.08
"""Least fall of linear light, as share of the brighter side, that counts as the edge of the sheet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperReading:
    """What the frame says of the paper: its sides as read, and the size that it must be. [mm]"""

    read_mm: tuple[float, float]
    name: str
    true_mm: tuple[float, float]

    @property
    def printed_at(self) -> float:
        """Printed size of the frame over its nominal size, if the paper is true."""
        x, y = (true / read for true, read in zip(self.true_mm, self.read_mm, strict=True))
        return float(np.sqrt(x * y))


def check_paper(scale: PlaneScale, small: Overview, *, verified: bool) -> PlaneScale:
    """Return the scale of a frame with a caution where the paper's four edges are seen and say another size.

    Without check lengths the scale stands but its uncertainty grows to cover what the paper says.
    """
    layout = layouts()[scale.sheet]
    read = paper_sides(scale, small, layout)
    reading = likely_paper(read, layout) if read is not None else None
    if reading is None:
        return scale
    off = abs(reading.printed_at - 1.0)
    if off <= TRUSTED + CUT_LIMIT_MM / min(reading.true_mm):
        return scale
    if verified:
        return with_flags(scale, _disagreement(reading))
    kept = tuple(f for f in scale.flags if f.code != "SHEET_UNVERIFIED")
    return replace(
        scale,
        sheet_scale=SheetScale(shares=dict.fromkeys(UNVERIFIED.shares, (off, off))),
        flags=(*kept, _other_size(reading)),
    )


def _disagreement(reading: PaperReading) -> Flag:
    (x, y), (true_x, true_y) = reading.read_mm, reading.true_mm
    return flag(
        "SCALES_DISAGREE",
        first=f"with the check lengths the marker frame reads the paper {x:.0f} x {y:.0f} mm",
        second=f"{reading.name} has {true_x:.0f} x {true_y:.0f} mm",
        advice="Measure both check lengths again, along x and along y, and check the unit.",
    )


def _other_size(reading: PaperReading) -> Flag:
    return flag(
        "PRINTED_AT_OTHER_SIZE",
        percent=100 * reading.printed_at,
        width_mm=reading.read_mm[0],
        height_mm=reading.read_mm[1],
        name=reading.name,
        true_width_mm=reading.true_mm[0],
        true_height_mm=reading.true_mm[1],
    )


def likely_paper(read_mm: tuple[float, float], layout: FrameLayout) -> PaperReading | None:
    """Return the standard size whose shape the sides have, about as large; of equal shapes the one nearest in size."""
    papers = {layout.paper.upper() if layout.paper != "letter" else "letter": layout.paper_mm}
    papers |= {code: (size.long_mm, size.short_mm) for code, size in SIZES.items()}
    read = np.array(read_mm)
    fits = []
    for name, paper in papers.items():
        logs = np.log(read / np.array(paper))
        if abs(float(logs[0] - logs[1])) < BETWEEN_SIDES and abs(float(logs.mean())) < PRINTED_WITHIN:
            fits.append((abs(float(logs.mean())), name, paper))
    if not fits:
        return None
    _, name, paper = min(fits)
    return PaperReading(read_mm=read_mm, name=name, true_mm=paper)


def paper_sides(scale: PlaneScale, small: Overview, layout: FrameLayout) -> tuple[float, float] | None:
    """Return width and height of the paper as the frame reads them, or None unless all four edges are seen. [mm]"""
    found = edge_places(scale, small, layout)
    if found is None:
        return None
    left, right, top, bottom = found[1]
    return left + right, top + bottom


def edge_places(scale: PlaneScale, small: Overview, layout: FrameLayout) -> tuple[Floats, list[float]] | None:
    """Return width and height of the frame, and how far left, right, top and bottom edge lie from its middle. [mm]"""
    true = np.array([scale.sheet_scale.x, scale.sheet_scale.y])
    frame = np.array([layout.width_mm, layout.height_mm]) * true
    paper = np.array(layout.paper_mm) * true
    places = []
    for axis, sign in ((0, -1), (0, 1), (1, -1), (1, 1)):
        place = _edge_place(scale, small, axis=axis, sign=sign, frame=frame, paper=paper)
        if place is None:
            return None
        places.append(place)
    return frame, places


def _edge_place(
    scale: PlaneScale, small: Overview, *, axis: int, sign: int, frame: Floats,
    paper: Floats,
) -> float | None:  # fmt: skip
    """Return the distance of one paper edge from the middle of the frame, or None where it is not seen. [mm]"""
    other = 1 - axis
    away = np.linspace(REACH[0] * paper[axis] / 2, REACH[1] * paper[axis] / 2, STEPS)
    along = np.linspace(-0.42, 0.42, PROFILES) * frame[other]
    grid = np.empty((PROFILES, STEPS, 2))
    grid[..., axis] = frame[axis] / 2 + sign * away[None, :]
    grid[..., other] = frame[other] / 2 + along[:, None]
    pixels = small.from_full(scale.camera.project(grid.reshape(-1, 2))).astype(np.float32).reshape(PROFILES, STEPS, 2)
    inside = np.asarray(((pixels >= 0) & (pixels <= np.array(small.pixels.shape[1::-1]) - 1)).all(axis=2))
    x, y = pixels[..., 0], pixels[..., 1]
    colours = cv2.remap(small.pixels, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    values = linear_table()[colours] @ LUMINANCE
    span = max(2, round(1.2 / float(away[1] - away[0])))
    near, far = values[:, : -2 * span], values[:, 2 * span :]
    fall = np.where(inside[:, 2 * span :], (near - far) / np.maximum(near, 1e-3), 0.0)
    best = fall.argmax(axis=1)
    clear = fall[np.arange(PROFILES), best] > CLEAR
    found = away[best + span]
    if clear.mean() < FEWEST_AGREE:
        return None
    line, limit = np.full(PROFILES, np.median(found[clear])), 4.0
    for _ in range(4):
        kept = clear & (np.abs(found - line) < limit)
        if kept.sum() < FEWEST_AGREE * PROFILES:
            return None
        line, limit = _line(along[kept], found[kept], along), AGREE_MM
    return float(_line(along[kept], found[kept], np.zeros(1))[0])


def _line(x: Floats, y: Floats, at: Floats) -> Floats:
    """Return the straight line of least squares through points, at other places."""
    away = x - x.mean()
    return np.asarray(y.mean() + (away @ y) / max(float(away @ away), 1e-12) * (at - x.mean()))
