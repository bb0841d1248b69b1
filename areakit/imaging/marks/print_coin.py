"""How true a print is that nobody measured, by coins of stated kind that lie in its field."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, sqrt

import numpy as np
import numpy.typing as npt

from areakit.errors import MarkNotFound, ScaleUnreliable
from areakit.imaging.marks.disc import Disc, known_disc
from areakit.imaging.marks.print_weighing import ROUND_MM, Told, check_clear, weighed_print
from areakit.imaging.marks.round_edge import RoundEdge, round_edges
from areakit.imaging.marks.wanted import Wanted
from areakit.imaging.photo import Overview, Photo
from areakit.imaging.scale import ConfirmedPrint, PlaneScale

Floats = npt.NDArray[np.float64]

LIMIT_MM = 0.1
"""Limit of the diameter of a coin in use: tolerance of striking and wear of the rim (practice). [mm]"""
READ_MM = 0.12
"""Standard uncertainty of a diameter as read in the photo, all round: contact shadow, rounded rim (that of a card).
[mm]"""
STRETCH = 0.005
"""Standard uncertainty of each of two diameters across each other, beside that: a shadow to one side (own study on
drawn photos)."""
WALL_OPEN = 0.3
"""Share of the seen wall that stays open: standard uncertainty of which edge was taken on the near side."""
LEVEL_MM = 0.2
"""Standard uncertainty of how high the widest line of its rim lies above the field (practice). [mm]"""
ALIKE = 0.05
"""Share by which a round thing may differ from a coin, and still be one on a print of the wrong size."""
MARGIN_MM = 3.0
SHARE = "sheet by a coin"


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenCoin:
    """A coin in the field: its middle, and diameters along x and y as the frame reads them, shape (2,) each. [mm]"""

    disc: Disc
    middle_mm: Floats
    read_mm: Floats

    def ring(self, away_mm: float) -> Floats:
        """Return points of the circle that runs so far outside it, shape (48, 2). [mm]"""
        angle = np.linspace(0.0, 2.0 * np.pi, 48, endpoint=False)
        radius = self.disc.diameter_mm / 2 + away_mm
        return np.asarray(self.middle_mm + radius * np.column_stack([np.cos(angle), np.sin(angle)]))


def print_by_coin(
    photo: Photo, small: Overview, scale: PlaneScale, wanted: Wanted
) -> tuple[ConfirmedPrint, tuple[Floats, ...]]:
    """Return the print's true size by the coins in its field, and what they take of it, shape (n, 2) each. [mm]

    Raises
    ------
    RangeError
        If the table has no such coin.
    MarkNotFound
        If one is not seen in the field.
    ScaleUnreliable
        If several things may be it, it touches something, or contradicts the print.
    """
    coins = [_find(photo, small, scale, one) for one in (wanted, *wanted.more)]
    covariance = np.zeros((2 * len(coins), 2 * len(coins)))
    for i, coin in enumerate(coins):
        covariance[2 * i : 2 * i + 2, 2 * i : 2 * i + 2] = _covariance(scale, coin)
        check_clear(scale, small, np.vstack([coin.ring(away) for away in ROUND_MM]), thing="coin")
    names = " and ".join(coin.disc.name for coin in coins)
    told = Told(
        said=np.concatenate([coin.disc.diameter_mm / coin.read_mm - 1.0 for coin in coins]),
        along=np.vstack([np.eye(2)] * len(coins)),
        covariance=covariance,
        thing="coin",
        check=f"the coin is {names}",
    )
    by = f"{'coins' if len(coins) > 1 else 'coin'} {names} in its field"
    known = weighed_print(scale, told, SHARE)
    return ConfirmedPrint(known=known, by=by), tuple(coin.ring(MARGIN_MM) for coin in coins)


def _find(photo: Photo, small: Overview, scale: PlaneScale, wanted: Wanted) -> SeenCoin:
    """Return the one round thing in the field that is as large as the coin."""
    disc = known_disc(wanted)
    seen = [_seen(scale, edge, disc) for edge in round_edges(photo, small, wanted.at_px) if _inside(scale, edge)]
    alike = [coin for coin in seen if np.abs(coin.read_mm / disc.diameter_mm - 1.0).max() < ALIKE]
    if not alike:
        raise MarkNotFound(
            f"No coin of {disc.diameter_mm:g} mm was found in the field of the sheet.",
            remedy="Lay it flat in the field beside the part, or measure the check lengths with a ruler.",
            code="NO_COIN",
        )
    if len(alike) > 1 and wanted.at_px is None:
        places = scale.camera.project(np.array([coin.middle_mm for coin in alike]), disc.thickness_mm)
        raise ScaleUnreliable(
            f"{len(alike)} round things are as large as the coin {disc.name}: at "
            f"{' and '.join(f'({x:.0f}, {y:.0f})' for x, y in places)} px.",
            remedy=f"Say which one it is by a place in the photo: coin:{disc.name}@1200,800.",
            code="COIN_UNDECIDED",
        )
    return alike[0]


def _inside(scale: PlaneScale, edge: RoundEdge) -> bool:
    left, top, right, bottom = scale.field_mm
    flat = scale.camera.to_sheet(edge.points_px)
    return bool((flat >= [left, top]).all() and (flat <= [right, bottom]).all())


def _seen(scale: PlaneScale, edge: RoundEdge, disc: Disc) -> SeenCoin:
    """Return a round thing as the frame reads it.

    Its edge is that of the upper face where the wall faces away from the camera, of the lower one where it is seen.
    """
    camera, height = scale.camera, disc.thickness_mm
    low, high = camera.to_sheet(edge.points_px), camera.to_sheet(edge.points_px, height)
    middle = (low + high).mean(axis=0) / 2.0
    across = np.zeros(2)
    for _ in range(4):
        out = (low + high) / 2.0 - middle
        out /= np.linalg.norm(out, axis=1)[:, None]
        away = np.einsum("ij,ij->i", out, middle + disc.diameter_mm / 2 * out - camera.centre_mm[:2])
        top = np.clip(0.5 + away / (0.1 * camera.height_mm), 0.0, 1.0)[:, None]
        radii = np.linalg.norm(low + top * (high - low) - middle, axis=1)
        fit = np.linalg.lstsq(np.column_stack([out**2 / 2.0, out]), radii, rcond=None)[0]
        across, middle = fit[:2], middle + fit[2:]
    return SeenCoin(disc=disc, middle_mm=middle, read_mm=across)


def _covariance(scale: PlaneScale, coin: SeenCoin) -> Floats:
    """Return the relative covariance of both diameters, shape (2, 2): most of what may be wrong is common to them."""
    disc, camera = coin.disc, scale.camera
    lean = float(np.hypot(*(camera.centre_mm[:2] - coin.middle_mm))) / camera.height_mm
    own_mm = hypot(LIMIT_MM / sqrt(3.0), READ_MM, WALL_OPEN * disc.thickness_mm * lean)
    common = hypot(own_mm / disc.diameter_mm, LEVEL_MM / camera.height_mm)
    return np.asarray(common**2 + STRETCH**2 * np.eye(2))
