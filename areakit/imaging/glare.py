"""A lamp's reflection on the sheet, which an outline may follow in place of metal."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from areakit.imaging.contrast import hue

Singles = npt.NDArray[np.float32]
Flags = npt.NDArray[np.bool_]

GLARE_SOFT = 1.6
"""Softness of an edge over the ring's usual one from which it may be that of a lamp's reflection on the sheet."""
GLARE_LIGHT, GLARE_GREY, BURNT_LIGHT = 0.03, 0.5, 0.97
"""Linear light that such a reflection adds at the least; share of its strongest channel that its weakest has, for it is
white; and the light from which a channel is at its end and does not count."""
OTHER_HUE = 0.12
"""Difference in log colour, whatever the shade, from the metal along the rest of the outline (glare of the study of
traps: 0.24 and more; silver and steel as white as glare: 0.06 at most)."""
FLOOR = np.float32(0.02)


def like_glare(inside: Singles, outside: Singles) -> Flags:
    """Tell where the inner side of an edge is the outer one with white light added, from linear colours (n, 3)."""
    added = inside - outside
    open_ = inside < BURNT_LIGHT
    most = np.where(open_, added, -np.inf).max(axis=1)
    least = np.where(open_, added, np.inf).min(axis=1)
    enough = open_.sum(axis=1) >= 2
    return np.asarray(enough & (most > GLARE_LIGHT) & (least > GLARE_GREY * most) & (added > 0.0).all(axis=1))


def unlike_metal(inside: Singles, metal: Singles) -> Flags:
    """Tell where the inner side of an edge, linear colours (n, 3), has not the hue of the part's metal, shape (3,)."""
    apart = np.log(inside + FLOOR) - np.log(metal + FLOOR)
    return np.asarray(hue(apart) > OTHER_HUE)
