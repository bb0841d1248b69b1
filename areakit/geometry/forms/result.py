"""What a form makes of an outline: its surfaces, the figures behind them, and where each lies on the outline."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
from shapely.geometry import Polygon

from areakit.flags import Flag
from areakit.geometry.features import Basis, Side
from areakit.uncertainty import Measured

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class FormLine:
    """One surface of a form: the outside is its ``front``, the inside its ``back``, ends and edges its ``wall``."""

    name: str
    side: Side
    basis: Basis
    area: Measured


@dataclass(frozen=True, slots=True, kw_only=True)
class Spots:
    """Spots of equal kind over the outside, as seen in part coordinates: ``points`` (n, 2) [mm], ``weights`` (n,)."""

    points: Floats
    weights: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class FormSurface:
    """The surfaces of a form.

    - ``figures``: what was found on the way: diameters, lengths, heights, corrections.
    - ``unrolled``: the outside laid flat, of the same area as far as it is plated with the outside. [mm]
    - ``spots``: where the outside lies on the outline, for masks; None where the form cannot say.
    """

    lines: tuple[FormLine, ...]
    figures: Mapping[str, Measured] = field(default_factory=dict)
    flags: tuple[Flag, ...] = ()
    unrolled: Polygon | None = None
    spots: Spots | None = None


def lengths_unrolled(lengths: Floats, widths: Floats) -> Polygon | None:
    """Return a surface laid flat: its width at each place, to either side of a straight middle line. [mm]

    ``lengths`` (n,) run on, ``widths`` (n,) are whole. The area is that of the surface, as in an equal-area map.
    """
    keep = np.concatenate([[True], np.diff(lengths) > 1e-9])
    along, half = lengths[keep], np.maximum(widths[keep] / 2.0, 1e-6)
    if len(along) < 2:
        return None
    ring = np.concatenate([np.column_stack([along, half]), np.column_stack([along, -half])[::-1]])
    polygon = Polygon(ring)
    return polygon if polygon.is_valid else None
