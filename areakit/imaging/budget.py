"""What every input does to area and perimeter: the uncertainty budget of an outline from a photo.

Each share is one standard uncertainty (JCGM 100:2008). Area and perimeters of all parts of one photo share the names of
their inputs, so they stay correlated.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from shapely.geometry import LinearRing

from areakit.geometry.edge_forms import SHARE as FORM
from areakit.geometry.edge_makes import EDGE
from areakit.imaging.checks.slits import NO_SLITS, Slits
from areakit.imaging.closed_ring import signed_area
from areakit.imaging.edge_ring import EdgeRing
from areakit.imaging.marks.field import lifted
from areakit.imaging.outline_length import outline_length, raggedness
from areakit.imaging.pale_edge import pale_edge_mm
from areakit.imaging.scale import PlaneScale
from areakit.imaging.sheet_colour import BURNT_LIMIT, SheetDistance
from areakit.imaging.slopes import ThinnedRings, thinned
from areakit.uncertainty import Measured

Floats = npt.NDArray[np.float64]
EDGE_PX = 0.056
"""How far a camera's own processing (tone curve, sharpening) shifts a half-level edge: standard uncertainty at usual
softness. This and the shares of shadow, dark metal, choice of edge and walls were fitted to the errors of 892 simulated
photos on blue (seeds 1000 to 2291 of the accuracy study), and hold on its other seeds and on path-traced ones. [px]"""
SHADOW_PX = 0.08
"""Shift of an edge by a contact shadow as narrow as the edge is soft, which cannot be told from metal. [px]"""
DARK_PX = 0.2
"""How uncertain the shift is that is taken off where metal is much darker than the sheet. [px]"""
DARK_SHADOW = 3.0
"""Times as much that a shadow shifts the edge of dark metal, which it resembles."""
USUAL_SIGMA_PX = 0.9
BRIDGED_PX = 1.0
WALL_SHARE, OPEN_WALL_SHARE = 0.04, 0.22
"""Standard uncertainty of where a seen wall ends, as a share of it: where it is clear what was seen, and where nothing
tells face from wall."""
HIDDEN_WALLS, HIDDEN_MM = 1.6, 1.0
"""Times as much that walls leave open where they may hide holes, and the width of such a hole from which they do: whole
holes that no sheet shows through make the long tail of the errors of thick parts. [1, mm]"""
BURNT_SHEET_MM = 0.12
"""How far a coloured sheet that is burnt out beside the part spreads its light over the edge (practice). [mm]"""
BURNT_PALE_MM = 0.18
"""The same on a pale sheet: 46 coins on paper, photographed well and over-exposed, differ by -0.12 mm on average and by
0.18 mm root mean square. [mm]"""
UNKNOWN_HEIGHT_MM = 1.0
"""Standard uncertainty of the height of a face of which nobody gave the thickness. [mm]"""
UNDECIDED = 0.33
"""Standard uncertainty of a region that is a hole or none, half of it taken off: rectangular, and a little for its
coarse outline."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizes:
    """Area less holes, outer perimeter, perimeter of the holes: mm2, mm, mm."""

    area: Measured
    outer: Measured
    holes: Measured


def measure_rings(
    scale: PlaneScale,
    rings: tuple[EdgeRing, ...],
    rings_mm: tuple[Floats, ...],
    height: Measured | None,
    *,
    sheet: SheetDistance,
    edge_mm: float,
    hidden_mm: float = 0.0,
    inset: Measured | None = None,
    undecided_mm2: float = 0.0,
    beside_mm2: float = 0.0,
    rival_share: float = 0.0,
    slits: Slits = NO_SLITS,
    coarseness: float = 1.0,
    enlarged: float = 1.0,
) -> Sizes:
    """Return the sizes of one part with their budgets.

    Parameters
    ----------
    rings, rings_mm : tuple
        The edges in pixels and in millimetres, outer ring first.
    height : Measured or None
        Thickness. [mm] None where nobody gave it.
    sheet : SheetDistance
        Whether its colour tells metal from shadow and reflection, and whether it is burnt out.
    edge_mm : float
        How far burr, roll-over or rounding leave the edge of the part open: standard uncertainty. [mm]
    hidden_mm : float
        How wide a hole may be and still show no sheet, behind walls of this height. [mm]
    inset : Measured or None
        How far above the sheet, and below the top face, the widest lines of rounded edges lie; ``scale`` and
        ``height`` are then those between them. [mm]
    undecided_mm2 : float
        Area of regions that may be holes; half of it is taken off, and the half-width of the doubt is the other half.
    beside_mm2 : float
        Area of ground beside it that may belong to it; half of it is added.
    rival_share : float
        Share of the area by which a second threshold differs; taken as the whole width of a rectangular doubt.
    slits : Slits
        Slits that the outline runs across.
    coarseness : float
        Times as much that an edge is open in a picture that was compressed.
    enlarged : float
        How many times the picture was enlarged: a shift of edges is counted in pixels of the camera.
    """
    pixel_mm = scale.camera.mm_per_px(rings_mm[0].mean(axis=0))
    areas = [abs(signed_area(ring)) for ring in rings_mm]
    tall_mm = UNKNOWN_HEIGHT_MM if height is None else height.value
    followed = [
        outline_length(ring, pixel_mm, ragged=None if sheet.coloured else raggedness(edge), height_mm=tall_mm)
        for edge, ring in zip(rings, rings_mm, strict=True)
    ]
    lengths, spreads = np.array(followed).T
    area, outer, holes = areas[0] - sum(areas[1:]), float(lengths[0]), float(lengths[1:].sum())
    off, off_spread = slits.taken_off(area)
    area -= off
    area += (beside_mm2 - undecided_mm2) / 2
    shares = _Shares(area, outer, holes, hole_count=len(rings) - 1)
    shares.around_mm = float(sum(LinearRing(ring).length for ring in rings_mm))
    _add_sheet(shares, scale, rings_mm)
    few = thinned(scale.camera, rings, height.value if height else 0.0)
    _add_camera(shares, few, height.value if height else 0.0)
    _add_height(shares, few, height)
    if inset is not None and height is not None:
        _add_form(shares, scale, rings, height.value, inset.standard_uncertainty)
    _add_edges(shares, rings, lengths, pixel_mm, coarseness=coarseness, enlarged=enlarged)
    shares.add_offset(EDGE, edge_mm)
    whole_mm = tall_mm + (2.0 * inset.value if inset is not None else 0.0)
    shares.add_offset("edge on a pale sheet", pale_edge_mm(sheet, rings, pixel_mm, tall_mm, whole_mm=whole_mm))
    shares.add_offset("burnt-out sheet", _burnt_mm(sheet))
    if height is not None:
        # A rounded wall is seen less high than a sharp one; where it may be either, the sharp one stays possible.
        open_form = inset is not None and inset.standard_uncertainty > 0.0 and height.value > 0.0
        taller = 1.0 + 2.0 * inset.value / height.value if inset is not None and open_form else 1.0
        _add_walls(shares, rings, lengths, pixel_mm * taller * (HIDDEN_WALLS if hidden_mm > HIDDEN_MM else 1.0))
    shares.add("undecided holes", UNDECIDED * undecided_mm2, 0.0, 0.0)
    shares.add("undecided ground", UNDECIDED * beside_mm2, 0.0, 0.0)
    shares.add("narrow slits", off_spread, 0.0, 0.0)
    shares.add("second threshold", rival_share * area / np.sqrt(12.0), 0.0, 0.0)
    shares.add("length of the outline", 0.0, float(spreads[0]), float(spreads[1:].sum()))
    return shares.done()


class _Shares:
    """Collects shares of area, outer and hole perimeter under one name each."""

    def __init__(self, area: float, outer: float, holes: float, *, hole_count: int) -> None:
        self.values = (area, outer, holes)
        self.around_mm = outer + holes
        self.turns = 2 * np.pi, -2 * np.pi * hole_count
        self.budgets: tuple[dict[str, float], ...] = ({}, {}, {})

    def add(self, name: str, area: float, outer: float, holes: float) -> None:
        for budget, share in zip(self.budgets, (area, outer, holes), strict=True):
            budget[name] = share

    def add_offset(self, name: str, offset_mm: float) -> None:
        """Add what an edge shifted outward all round does: a strip of area, and one turn's worth of each length.

        The strip is as long as the edge was followed, steps and all: that is what the offsets were set on.
        """
        self.add(name, offset_mm * self.around_mm, offset_mm * self.turns[0], offset_mm * self.turns[1])

    def done(self) -> Sizes:
        area, outer, holes = (
            Measured(value=value, unit=unit, budget=budget)
            for value, unit, budget in zip(self.values, ("mm2", "mm", "mm"), self.budgets, strict=True)
        )
        return Sizes(area=area, outer=outer, holes=holes)


def _add_sheet(shares: _Shares, scale: PlaneScale, rings_mm: tuple[Floats, ...]) -> None:
    area, outer, holes = shares.values
    along_x = [_share_along_x(ring) for ring in rings_mm]
    outer_x = along_x[0]
    lengths = [float(np.hypot(*(np.roll(r, -1, axis=0) - r).T).sum()) for r in rings_mm[1:]]
    holes_x = float(np.average(along_x[1:], weights=lengths)) if lengths else 0.0
    for name, (x, y) in scale.sheet_scale.shares.items():
        shares.add(f"{name}, along x", area * x, outer * outer_x * x, holes * holes_x * x)
        shares.add(f"{name}, along y", area * y, outer * (1 - outer_x) * y, holes * (1 - holes_x) * y)
    level = scale.flatness_mm / scale.camera.height_mm
    shares.add("sheet flatness", 2 * level * area, level * outer, level * holes)


def _share_along_x(ring: Floats) -> float:
    """How much of a ring's length grows with the scale along x (the rest grows with that along y)."""
    step = np.roll(ring, -1, axis=0) - ring
    length = np.maximum(np.hypot(*step.T), 1e-12)
    return float(np.sum(step[:, 0] ** 2 / length) / np.sum(length))


def _add_camera(shares: _Shares, few: ThinnedRings, height_mm: float) -> None:
    """First-order propagation of the whole covariance (JCGM 100:2008, 5.2.2)."""
    slopes = few.camera_slopes(height_mm)
    variances = np.einsum("ps,pq,qs->s", slopes, few.camera.covariance, slopes)
    area, outer, holes = (float(s) for s in np.sqrt(np.maximum(variances, 0.0)))
    shares.add("camera pose and lens", area, outer, holes)


def _add_height(shares: _Shares, few: ThinnedRings, height: Measured | None) -> None:
    spread = height.standard_uncertainty if height else UNKNOWN_HEIGHT_MM
    middle = height.value if height else 0.0
    if spread == 0.0:
        return
    change = (
        (few.sizes(middle + spread) - few.sizes(max(middle - spread, 0.0))) * spread / (spread + min(middle, spread))
    )
    shares.add("thickness", *(float(c) for c in change))


def _add_form(
    shares: _Shares, scale: PlaneScale, rings: tuple[EdgeRing, ...], height_mm: float, open_mm: float
) -> None:
    """Add what an open radius of rounded edges does: the lower widest line goes up while the upper one goes down."""
    up, down = (
        thinned(lifted(scale.camera, by), rings, max(height_mm - 2.0 * by, 0.0)).sizes(max(height_mm - 2.0 * by, 0.0))
        for by in (open_mm, -open_mm)
    )
    shares.add(FORM, *((up - down) / 2.0))


def _add_edges(
    shares: _Shares,
    rings: tuple[EdgeRing, ...],
    lengths: Floats,
    pixel: float,
    *,
    coarseness: float,
    enlarged: float,
) -> None:
    """Add what the light at the edge leaves open; of two edges to choose from, all that is between them."""
    _, outer, holes = shares.values
    around = outer + holes
    softness = max(ring.sigma_px for ring in rings) / enlarged
    doubt = float(np.sum(lengths * [ring.doubt_px for ring in rings])) / around * pixel
    pixel = pixel * enlarged
    dark = max(ring.dark_share for ring in rings)
    shadow = max(ring.shade_outside for ring in rings) * (1.0 + (DARK_SHADOW - 1.0) * dark)
    offsets = {
        "edge position": EDGE_PX * coarseness * max(1.0, softness / USUAL_SIGMA_PX) * pixel,
        "choice of edge": doubt,
        "shadow at the edge": SHADOW_PX * pixel * shadow,
        "dark metal": DARK_PX * pixel * dark,
    }
    for name, offset in offsets.items():
        shares.add_offset(name, offset)
    glare_mm = rings[0].glare_stretch * lengths[0]  # half a disc of glare of that much outline
    shares.add("glare at the edge", glare_mm**2 / (2.0 * np.pi) / np.sqrt(3.0), 0.0, 0.0)
    bridged = float(np.sum(lengths * [1.0 - ring.seen.mean() for ring in rings]))
    shares.add("bridged edge", bridged * BRIDGED_PX * pixel / np.sqrt(3.0), 0.0, 0.0)


def _add_walls(shares: _Shares, rings: tuple[EdgeRing, ...], lengths: Floats, pixel: float) -> None:
    """What the height does to the edge that is seen: walls taken for face or sheet."""
    open_mm = np.array([_open_wall_px(ring) for ring in rings]) * pixel
    # The edge steps in and out where the verdict on the wall changes; all round, that is about one turn's worth.
    turn = 2 * np.pi * open_mm
    shares.add("seen wall", float(np.sum(open_mm * lengths)), float(turn[0]), float(turn[1:].sum()))


def _burnt_mm(sheet: SheetDistance) -> float:
    """Return how far light of a burnt-out sheet may have moved an edge; 0 on one that is well exposed. [mm]"""
    if sheet.burnt <= BURNT_LIMIT:
        return 0.0
    return BURNT_SHEET_MM if sheet.coloured else BURNT_PALE_MM


def _open_wall_px(ring: EdgeRing) -> float:
    """Mean standard uncertainty of where the wall ends. [px]

    A wall is taken for what it was told to be, give or take WALL_SHARE. Where that is open it may end anywhere, while
    three quarters were taken: up to OPEN_WALL_SHARE.
    """
    wall = np.maximum(ring.wall_px, 0.0)
    openness = 4.0 * ring.top * (1.0 - ring.top)
    return float(np.mean(wall * np.maximum(WALL_SHARE, OPEN_WALL_SHARE * openness)))
