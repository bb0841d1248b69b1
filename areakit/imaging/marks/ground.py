"""How far the plain ground reaches on which mark and parts lie: a sheet of paper on a table ends somewhere."""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from areakit.errors import ScaleUnreliable
from areakit.imaging.camera import Camera
from areakit.imaging.edge import LUMINANCE, linear_table
from areakit.imaging.marks.field import SMALLEST_FIELD_MM
from areakit.imaging.photo import Overview

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Window = tuple[float, float, float, float]

CELLS = 72
"""The field is judged on this many cells each way."""
BAND = 3
"""Cells along each side that must show the ground."""
SHADE, HUE = 0.7, 0.22
"""How far shade and colour of the same ground may differ in logarithm: light falls off, shadows are soft."""
MOSTLY = 0.9
BARE = 0.15
"""Share of the field that must be bare ground: else the mark fills it, and there is no room for a part."""
FLOOR = 0.004


def ground_field(
    field: Window, camera: Camera, small: Overview, *, taken: tuple[Floats, ...] = (), beside: bool = False
) -> Window:
    """Return the field cut back until all four sides show one ground.

    Parameters
    ----------
    field : tuple of float
        Left, top, right, bottom. [mm]
    taken : tuple of ndarray, shape (n, 2) each
        Outlines of what the mark takes; inside them nothing is judged. [mm]
    beside : bool
        Whether the mark's surroundings show the ground. Otherwise the commonest colour of the field does.

    Raises
    ------
    ScaleUnreliable
        If hardly any is left.
    """
    left, top, right, bottom = field
    x = left + (np.arange(CELLS) + 0.5) / CELLS * (right - left)
    y = top + (np.arange(CELLS) + 0.5) / CELLS * (bottom - top)
    cells = np.stack(np.meshgrid(x, y), axis=2)
    logs = _logs(camera, small, cells.reshape(-1, 2))
    step = np.array([right - left, bottom - top]) / CELLS
    free = _free(taken, np.array([left, top]), step)
    if beside and taken:
        ground = np.median(_logs(camera, small, np.vstack([_surroundings(one) for one in taken])), axis=0)
    else:
        ground = _commonest(logs[free.ravel()])
    plain = _alike(logs, ground).reshape(CELLS, CELLS)
    low, high = _largest_plain(plain | ~free)
    bare = (plain & free)[int(low[1]) : int(high[1]), int(low[0]) : int(high[0])]
    share = float(bare.mean()) if bare.size and min((high - low) * step) >= SMALLEST_FIELD_MM else 0.0
    if share < BARE:
        raise ScaleUnreliable(
            f"Only {100 * share:.0f} % of the field round the mark is one plain ground; {100 * BARE:.0f} % are needed.",
            remedy="Lay mark and part on one plain ground, a large sheet of paper for instance, with room between.",
            code="GROUND_NOT_PLAIN",
        )
    (x0, y0), (x1, y1) = np.array([left, top]) + low * step, np.array([left, top]) + high * step
    return float(x0), float(y0), float(x1), float(y1)


def plain_share(camera: Camera, small: Overview, points_mm: Floats) -> float:
    """Return which share of some points of the sheet, shape (n, 2), shows the colour that most of them show."""
    logs = _logs(camera, small, points_mm)
    return float(_alike(logs, np.median(logs, axis=0)).mean())


def _logs(camera: Camera, small: Overview, points_mm: Floats) -> Floats:
    """Return log red, green and blue at points of the sheet, shape (n, 3); the border stands for what is beyond it."""
    pixels = np.rint(small.from_full(camera.project(points_mm))).astype(int)
    limits = np.array(small.pixels.shape[1::-1]) - 1
    pixels = np.clip(pixels, 0, limits)
    soft = cv2.blur(small.pixels, (3, 3))
    return np.asarray(np.log(linear_table()[soft[pixels[:, 1], pixels[:, 0]]] + FLOOR), dtype=float)


def _free(taken: tuple[Floats, ...], corner: Floats, step: Floats) -> Flags:
    """Tell which cells the mark leaves free, shape (CELLS, CELLS)."""
    inside = np.zeros((CELLS, CELLS), dtype=np.uint8)
    for one in taken:
        cv2.fillPoly(inside, [np.rint(((one - corner) / step - 0.5) * 16).astype(np.int32)], 1, shift=4)
    return np.asarray(inside == 0)


def _commonest(logs: Floats) -> Floats:
    """Return the colour that most others are alike, of every so-many-eth."""
    tried = logs[:: max(1, len(logs) // 60)]
    return np.asarray(tried[int(np.argmax([_alike(logs, one).sum() for one in tried]))])


def _surroundings(outline: Floats) -> Floats:
    """Return points a little outside an outline, all the way round."""
    middle = outline.mean(axis=0)
    share = np.linspace(0, 1, 12, endpoint=False)[:, None]
    rim = np.concatenate([a + share * (b - a) for a, b in zip(outline, np.roll(outline, -1, axis=0), strict=True)])
    return np.concatenate([middle + grow * (rim - middle) for grow in (1.05, 1.12, 1.2)])


def _alike(logs: Floats, ground: Floats) -> Flags:
    """Tell which colours are the ground's, whatever the shade within limits."""
    away = logs - ground
    shade = away @ LUMINANCE
    return np.asarray((np.abs(shade) < SHADE) & (np.abs(away - shade[:, None]).max(axis=1) < HUE))


def _largest_plain(plain: Flags) -> tuple[Floats, Floats]:
    """Move the worst side inward until all four show the ground; return first and last cell of x and y."""
    x0, y0, x1, y1 = 0, 0, plain.shape[1], plain.shape[0]
    while min(x1 - x0, y1 - y0) > 2 * BAND:
        inner = plain[y0:y1, x0:x1]
        shares = [inner[:, :BAND].mean(), inner[:BAND].mean(), inner[:, -BAND:].mean(), inner[-BAND:].mean()]
        worst = int(np.argmin(shares))
        if shares[worst] >= MOSTLY:
            return np.array([x0, y0], dtype=float), np.array([x1, y1], dtype=float)
        x0, y0, x1, y1 = x0 + (worst == 0), y0 + (worst == 1), x1 - (worst == 2), y1 - (worst == 3)
    return np.zeros(2), np.zeros(2)
