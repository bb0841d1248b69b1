"""A disc of known diameter on the table: what is known of it, and how far its edge in the photo is from its circle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from areakit.errors import RangeError
from areakit.imaging.camera import Camera, Residuals, edge_residuals
from areakit.imaging.marks.reference_objects import reference_objects
from areakit.imaging.marks.round_edge import RoundEdge
from areakit.imaging.marks.wanted import Wanted, length_mm, wrong_form

Floats = npt.NDArray[np.float64]

USUAL_THICKNESS_MM = 1.9
ORIGIN = np.zeros(2)
_ROUNDS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Disc:
    """What is known of the coin. [mm]"""

    name: str
    diameter_mm: float
    thickness_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Coin:
    """A disc, and its edge in the photo."""

    edge: RoundEdge
    disc: Disc


def known_disc(wanted: Wanted) -> Disc:
    """Return the coin that is named by its code, or by its diameter and, if known, its thickness.

    Raises
    ------
    RangeError
        If the table has no such coin.
    """
    first, *rest = wanted.detail
    coins = {code: row for code, row in reference_objects().items() if row.diameter_mm is not None}
    if first in coins and not rest:
        row = coins[first]
        assert row.diameter_mm is not None
        return Disc(name=first, diameter_mm=row.diameter_mm, thickness_mm=row.thickness_mm)
    if not first[:1].isdigit():
        raise RangeError(
            f"There is no coin {first!r} in the table.",
            remedy=f"Name one of {', '.join(coins)}, or its diameter: coin:25.75 mm.",
        )
    if len(rest) > 1:
        raise wrong_form(wanted, "coin:25.75 mm or, with its thickness, coin:25.75 mm,2.2 mm")
    diameter = length_mm(first)
    thickness = length_mm(rest[0]) if rest else USUAL_THICKNESS_MM
    return Disc(name=f"{diameter:g} mm", diameter_mm=diameter, thickness_mm=thickness)


def place_of(coin: Coin, camera: Camera) -> Floats:
    """Return the middle of a coin on the table, shape (2,): that of the circle of its size nearest to its edge. [mm]"""
    seen = camera.to_sheet(coin.edge.points_px, coin.disc.thickness_mm / 2)
    place = seen.mean(axis=0)
    for _ in range(_ROUNDS):
        out = seen - place
        away = np.maximum(np.linalg.norm(out, axis=1), 1e-9)
        place = place + np.linalg.lstsq(out / away[:, None], away - coin.disc.diameter_mm / 2, rcond=None)[0]
    return np.asarray(place)


def disc_residuals(coin: Coin, camera: Camera, place: Floats = ORIGIN, shift: Floats = ORIGIN) -> Residuals:
    """Compare points with the circle of the top edge where the wall faces away, of the bottom edge where it is seen.

    ``place`` is the middle of the coin, for telling which point of the circle is which; ``shift`` moves that circle.
    """
    disc = coin.disc
    seen = camera.to_sheet(coin.edge.points_px, disc.thickness_mm / 2) - place
    outward = seen / np.maximum(np.linalg.norm(seen, axis=1), 1e-9)[:, None]
    circle = disc.diameter_mm / 2 * outward + place
    away = np.einsum("ij,ij->i", outward, circle - camera.centre_mm[:2])
    soft = 0.05 * camera.height_mm
    top = np.clip(0.5 + away / (2 * soft), 0.0, 1.0)
    tangent = np.column_stack([-outward[:, 1], outward[:, 0]])
    return edge_residuals(circle + shift, tangent, coin.edge.points_px, top * disc.thickness_mm)
