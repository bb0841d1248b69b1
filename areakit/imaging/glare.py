"""A lamp's reflection on the sheet, or that of coloured things, which an outline may follow in place of metal."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from areakit.imaging.contrast import hue

Singles = npt.NDArray[np.float32]
Flags = npt.NDArray[np.bool_]

GLARE_SOFT = 1.6
"""Softness of an edge over the frame's usual one from which it may be that of a lamp's reflection on the sheet."""
GLARE_LIGHT, GLARE_EVEN, BURNT_LIGHT = 0.03, 0.5, 0.97
"""Linear light that such a reflection adds at the least; share of its strongest channel that its weakest has, beside
white or the metal's colour; and the light from which a channel is at its end and does not count."""
OTHER_HUE = 0.12
"""Difference in log colour, whatever the shade, from the metal along the rest of the outline (glare of the study of
traps: 0.24 and more; silver and steel as white as glare: 0.06 at most)."""
FLOOR = np.float32(0.02)


def like_glare(inside: Singles, outside: Singles, metal: Singles) -> Flags:
    """Tell where the inner side of an edge is the outer one with light added, from linear colours (n, 3).

    The light is white, or has the colour of the part's metal, shape (3,), as from a warm lamp or a wall beside it.
    """
    open_ = inside < BURNT_LIGHT
    enough = open_.sum(axis=1) >= 2
    found = np.zeros(len(inside), dtype=bool)
    for light in (np.ones(3), metal / max(float(np.max(metal)), 1e-6)):
        added = (inside - outside) / np.maximum(light, FLOOR)
        most = np.where(open_, added, -np.inf).max(axis=1)
        least = np.where(open_, added, np.inf).min(axis=1)
        found |= (most > GLARE_LIGHT) & (least > GLARE_EVEN * most) & (added > 0.0).all(axis=1)
    return np.asarray(enough & found)


def unlike_metal(inside: Singles, metal: Singles) -> Flags:
    """Tell where the inner side of an edge, linear colours (n, 3), has not the hue of the part's metal, shape (3,)."""
    apart = np.log(inside + FLOOR) - np.log(metal + FLOOR)
    return np.asarray(hue(apart) > OTHER_HUE)
