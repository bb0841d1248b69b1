"""Checks of the field: whether what fills it is the sheet at all, or a part that covers it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from areakit.errors import OutlineNotFound
from areakit.imaging.edge import linear_table
from areakit.imaging.marks.frame_layout import FrameLayout, layouts
from areakit.imaging.photo import Overview
from areakit.imaging.scale import PlaneScale
from areakit.imaging.sheet_colour import SheetDistance

Floats = npt.NDArray[np.float64]

INSIDE_MM = 1.5
"""How far inside the field's edge its ground is looked at: the middle of the band that stays empty on the sheets."""
PAPER = 0.45
"""Difference in log light up to which the ground is the paper of the frame, printed on nothing; a shadow's edge may run
between the two (set on the traps and the good scenes of the study)."""
BLUE = 0.7
"""Log of blue over red, against the paper's, from which the ground is the printed blue; it is 2.2 as printed."""
BLUE_SEEN = 0.1
"""Share of places that show the printed blue from which all should: the rest may be metal as white as the paper (the
traps; of 160 drawn scenes without one, blue fields show it at all places, others at none)."""
STRANGE_REFUSED = 0.4
"""Share of places along the field's edge from which something covers it."""
DARK = 0.5
"""Light of a black square over that of a white one from which it is hidden; printed black is 0.02 to 0.2."""
NEAR_FIELD = 0.3
"""How far toward the field from its middle a black square is looked at, in squares: a part that just reaches over the
frame hides its inner half first."""
MOSTLY = 0.5
"""Share of the field that one thing at its edge may take, before what else lies there counts for crumbs of it."""
GUARD_MISS = 1.7
"""Usual distance from the modelled bare sheet, of the band that must stay empty, from which the model is none (good
scenes 1.0 at most; 2.6 where a part covered a third of the band and gave the model its colour)."""
FLOOR = 0.004


def check_guard_bare(sheet: SheetDistance, scale: PlaneScale) -> None:
    """Refuse a printed field whose colour could not be learnt: the band along its edge is not what was learnt from it.

    Of a printed sheet only; cloth and wood differ from place to place.

    Raises
    ------
    OutlineNotFound
    """
    if scale.mark == "frame" and float(np.median(sheet.distance[sheet.guard])) > GUARD_MISS:
        raise OutlineNotFound(
            "The empty band along the field's edge does not look like one bare sheet.",
            remedy="Keep parts, fingers and strong shadows away from the edge of the field, use a larger scale sheet "
            "for a large part, and the original photo instead of a small or packed copy.",
            code="GUARD_BAND_COVERED",
        )


def check_field_seen(small: Overview, scale: PlaneScale) -> None:
    """Refuse a photo in which the field of a printed sheet is covered: its rim is neither paper nor printed blue.

    Each place along the rim is held against the white square of the marker frame beside it, so that light that falls
    off over the sheet does not count.

    Raises
    ------
    OutlineNotFound
    """
    layout = layouts().get(scale.sheet) if scale.mark == "frame" else None
    if layout is None:
        return
    share = max(strange_share(*rim_pairs(small, scale, layout)), hidden_share(*frame_row(small, scale, layout)))
    if share > STRANGE_REFUSED:
        raise OutlineNotFound(
            f"Along {100 * share:.0f} % of its edge the field or the marker frame beside it is hidden: the part covers "
            "the field.",
            remedy="Use a larger scale sheet, or lay the part so that the sheet is seen all round it.",
            code="FIELD_COVERED",
        )


def check_not_filled(largest_px: float, field_px: float) -> None:
    """Refuse a photo in which one thing that crosses the field's edge takes most of the field.

    Parameters
    ----------
    largest_px, field_px : float
        Areas of the largest thing that crosses the edge, and of the field. [px]

    Raises
    ------
    OutlineNotFound
    """
    share = largest_px / field_px
    if share > MOSTLY:
        raise OutlineNotFound(
            f"One thing takes {100 * share:.0f} % of the field and crosses its edge: the part covers the field.",
            remedy="Use a larger scale sheet, or lay the part so that the sheet is seen all round it.",
            code="FIELD_COVERED",
        )


def strange_share(paper: Floats, ground: Floats) -> float:
    """Return the share of places that differ from the rest, by linear light, shape (n, 3) each.

    A sheet shows paper all round or blue all round; what is neither, or shows both, is something on it.
    """
    ratio = np.log(ground + FLOOR) - np.log(paper + FLOOR)
    bare = np.abs(ratio).max(axis=1) < PAPER
    blue = ratio[:, 2] - ratio[:, 0] > BLUE
    if not len(ratio):
        return 0.0
    printed = float(np.mean(blue))
    return 1.0 - (printed if printed > BLUE_SEEN else max(float(np.mean(bare & ~blue)), printed))


def hidden_share(black: Floats, white: Floats) -> float:
    """Return the share of the frame's black squares that are not dark beside its white ones, by linear light (n, 3)."""
    if not len(black) or not len(white):
        return 0.0
    return float(np.mean(black.mean(axis=1) > DARK * np.median(white.mean(axis=1))))


def frame_row(small: Overview, scale: PlaneScale, layout: FrameLayout) -> tuple[Floats, Floats]:
    """Return linear light of the frame's inner row, shape (n, 3) each.

    Of its black squares beside the field, and of the middles of its white ones.
    """
    black, white = [], []
    for column, row in layout.frame_squares:
        toward = _toward_field(layout, column, row)
        middle = (np.array([column, row]) + 0.5) * layout.square_mm
        if toward is None:
            continue
        if layout.is_black(column, row):
            black.append(middle + np.array(toward) * NEAR_FIELD * layout.square_mm)
        else:
            white.append(middle)
    stretch = np.array([scale.sheet_scale.x, scale.sheet_scale.y])
    lights = [_light(small, scale, np.array(places) * stretch) for places in (black, white)]
    return lights[0][~np.isnan(lights[0]).any(axis=1)], lights[1][~np.isnan(lights[1]).any(axis=1)]


def rim_pairs(small: Overview, scale: PlaneScale, layout: FrameLayout) -> tuple[Floats, Floats]:
    """Return linear light of the white squares next to the field, and of the field beside each, shape (n, 3) each."""
    places = []
    for column, row in layout.frame_squares:
        toward = _toward_field(layout, column, row)
        if toward is not None and not layout.is_black(column, row):
            middle = (np.array([column, row]) + 0.5) * layout.square_mm
            places.append((middle, middle + np.array(toward) * (layout.square_mm / 2 + INSIDE_MM)))
    stretch = np.array([scale.sheet_scale.x, scale.sheet_scale.y])
    paper, ground = (_light(small, scale, np.array(side) * stretch) for side in zip(*places, strict=True))
    seen = ~(np.isnan(paper).any(axis=1) | np.isnan(ground).any(axis=1))
    return paper[seen], ground[seen]


def _toward_field(layout: FrameLayout, column: int, row: int) -> tuple[int, int] | None:
    """Return the step from a square of the frame's inner row into the field; None for any other square."""
    c, r = layout.columns, layout.rows
    if 2 <= column < c - 2:
        return {1: (0, 1), r - 2: (0, -1)}.get(row)
    if 2 <= row < r - 2:
        return {1: (1, 0), c - 2: (-1, 0)}.get(column)
    return None


def _light(small: Overview, scale: PlaneScale, points_mm: Floats) -> Floats:
    """Return the median linear light of 3 x 3 overview pixels at points of the sheet; NaN outside the picture."""
    height, width = small.pixels.shape[:2]
    pixels = np.rint(small.from_full(scale.camera.project(points_mm))).astype(int)
    found = np.full((len(points_mm), 3), np.nan)
    inside = ((pixels >= 1) & (pixels < [width - 1, height - 1])).all(axis=1)
    x, y = (pixels[inside, axis, None] + steps for axis, steps in enumerate(np.mgrid[-1:2, -1:2].reshape(2, 9)))
    found[inside] = np.median(linear_table()[small.pixels[y, x]], axis=1)
    return found
