"""What a thing of known size in the field of a printed sheet says of its print, weighed against what is believed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from areakit.errors import ScaleUnreliable
from areakit.imaging.marks.ground import plain_share
from areakit.imaging.photo import Overview
from areakit.imaging.scale import UNVERIFIED, PlaneScale, SheetScale

Floats = npt.NDArray[np.float64]

AGREES = 3.0
"""Standard uncertainties of both by which print and thing may differ, and still be believed."""
ROUND_MM = (1.5, 2.5, 3.5)
"""How far outside a thing its surroundings are looked at. [mm]"""
PLAIN = 0.9
"""Share of them that must show the bare field: else its edge may be that of the field, or of a part."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """Readings of a thing: by how much each says that the print is too large, shape (n,), and how true that is.

    ``along`` tells how much of each goes along x and y, shape (n, 2); ``check`` what the user is to look at again.
    """

    said: Floats
    along: Floats
    covariance: Floats
    thing: str
    check: str


def weighed_print(scale: PlaneScale, told: Told, share: str) -> SheetScale:
    """Put together what is believed of any print and all readings by least squares (JCGM 100:2008, 5.1.2).

    Raises
    ------
    ScaleUnreliable
        If they contradict each other.
    """
    fitted = np.array([scale.sheet_scale.x, scale.sheet_scale.y])
    believed = np.array(UNVERIFIED.shares["unverified sheet copy"])
    prior = fitted - 1.0  # what the fit moved already is not moved twice
    weight = told.along.T @ np.linalg.inv(told.covariance)
    normal = weight @ told.along + np.diag(believed**-2)
    more = np.linalg.solve(normal, weight @ told.said - prior / believed**2)
    whole = told.said + told.along @ prior
    off = np.abs(whole) / np.hypot(np.sqrt(np.diag(told.covariance)), believed[0])
    if np.any(off > AGREES):
        percent = 100 * float(whole[int(np.argmax(off))])
        raise ScaleUnreliable(
            f"The {told.thing} says that the sheet was printed {percent:+.1f} % off; printers are true to about 1 %.",
            remedy=f"Print the sheet at actual size and check that {told.check}; or measure the check lengths with a "
            "ruler.",
            code="SCALES_DISAGREE",
        )
    x, y = fitted * (1.0 + more)
    left = np.linalg.inv(normal)
    # Shares along x and y count as independent: where readings err together, each is raised until the area is true.
    shares = np.sqrt(np.diag(left) * max(1.0, left.sum() / np.trace(left)))
    return SheetScale(x=float(x), y=float(y), shares={share: (float(shares[0]), float(shares[1]))})


def check_clear(scale: PlaneScale, small: Overview, points_mm: Floats, *, thing: str) -> None:
    """Refuse a thing whose surroundings, shape (n, 2), are not bare: its edge may be that of something against it.

    Raises
    ------
    ScaleUnreliable
    """
    plain = plain_share(scale.camera, small, points_mm)
    if plain < PLAIN:
        raise ScaleUnreliable(
            f"Only {100 * plain:.0f} % of what lies round the {thing} is bare field: its edge cannot be told with "
            "confidence.",
            remedy=f"Lay the {thing} 5 mm and more clear of the part and of the edge of the field.",
            code=f"{thing.upper()}_NOT_CLEAR",
        )
