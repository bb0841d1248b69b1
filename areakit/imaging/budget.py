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
from areakit.imaging.closed_ring import mean_along, signed_area
from areakit.imaging.marks.field import lifted
from areakit.imaging.pale_edge import pale_edge_mm
from areakit.imaging.scale import PlaneScale
from areakit.imaging.sheet_colour import BURNT_LIMIT, SheetDistance
from areakit.imaging.slopes import ThinnedRings, thinned
from areakit.imaging.trace import EdgeRing
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
WALL_SHARE, OPEN_WALL_SHARE = 0.063, 0.22
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
CORNER_PX, CORNER_RAD = 3.0, 0.35
"""Radius to which a sharp corner is rounded, and the turning angle from which a corner counts. [px, rad]"""
LENGTH_SHARE, LEAST_LENGTH_SHARE = 0.5, 0.002
"""Standard uncertainty of an outline's length: share of the difference of its two readings, and at least of itself."""
FOIL_STEP_MM, RIM_STEP_MM = 0.03, 0.24
"""Usual steps between rim and shadow of an edge on a pale sheet: of foil, and what 1 mm of thickness adds. [mm]"""
STEPS = 6.0
"""Reach, in such steps, over which a ring is averaged to take them out."""
WALLED_PX = 1.5
"""Mean width of the walls seen along an outline from which they make it step. [px]"""
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
    area, outer, holes = _sizes(rings_mm)
    off, off_spread = slits.taken_off(area)
    area -= off
    area += (beside_mm2 - undecided_mm2) / 2
    shares = _Shares(area, outer, holes, hole_count=len(rings) - 1)
    _add_sheet(shares, scale, rings_mm)
    few = thinned(scale.camera, rings, height.value if height else 0.0)
    _add_camera(shares, few, height.value if height else 0.0)
    _add_height(shares, few, height)
    if inset is not None and height is not None:
        _add_form(shares, scale, rings, height.value, inset.standard_uncertainty)
    pixel_mm = scale.camera.mm_per_px(rings_mm[0].mean(axis=0))
    lengths = np.array([outer, *(_length(ring, 1e-3) for ring in rings_mm[1:])])
    tall_mm = UNKNOWN_HEIGHT_MM if height is None else height.value
    _add_edges(shares, rings, lengths, pixel_mm, coarseness=coarseness, enlarged=enlarged)
    shares.add_offset(EDGE, edge_mm)
    shares.add_offset("edge on a pale sheet", pale_edge_mm(sheet, rings, pixel_mm, tall_mm))
    shares.add_offset("burnt-out sheet", _burnt_mm(sheet))
    if height is not None:
        _add_walls(shares, rings, lengths, pixel_mm * (HIDDEN_WALLS if hidden_mm > HIDDEN_MM else 1.0))
    shares.add("undecided holes", UNDECIDED * undecided_mm2, 0.0, 0.0)
    shares.add("undecided ground", UNDECIDED * beside_mm2, 0.0, 0.0)
    shares.add("narrow slits", off_spread, 0.0, 0.0)
    shares.add("second threshold", rival_share * area / np.sqrt(12.0), 0.0, 0.0)
    _add_smoothing(shares, rings, rings_mm, pixel_mm=scale.mm_per_px, step_mm=_step_mm(sheet, tall_mm))
    return shares.done()


class _Shares:
    """Collects shares of area, outer and hole perimeter under one name each."""

    def __init__(self, area: float, outer: float, holes: float, *, hole_count: int) -> None:
        self.values = (area, outer, holes)
        self.turns = 2 * np.pi, -2 * np.pi * hole_count
        self.budgets: tuple[dict[str, float], ...] = ({}, {}, {})

    def add(self, name: str, area: float, outer: float, holes: float) -> None:
        for budget, share in zip(self.budgets, (area, outer, holes), strict=True):
            budget[name] = share

    def add_offset(self, name: str, offset_mm: float) -> None:
        """Add what an edge shifted outward all round does: a strip of area, and one turn's worth of each length."""
        _, outer, holes = self.values
        self.add(name, offset_mm * (outer + holes), offset_mm * self.turns[0], offset_mm * self.turns[1])

    def done(self) -> Sizes:
        area, outer, holes = (
            Measured(value=value, unit=unit, budget=budget)
            for value, unit, budget in zip(self.values, ("mm2", "mm", "mm"), self.budgets, strict=True)
        )
        return Sizes(area=area, outer=outer, holes=holes)


def _sizes(rings_mm: tuple[Floats, ...]) -> tuple[float, float, float]:
    areas = [abs(signed_area(ring)) for ring in rings_mm]
    tolerance = 2e-4 * np.sqrt(max(areas[0] - sum(areas[1:]), 1e-9))
    lengths = [_length(ring, float(tolerance)) for ring in rings_mm]
    return areas[0] - sum(areas[1:]), lengths[0], sum(lengths[1:])


def _length(ring: Floats, tolerance_mm: float) -> float:
    """Length of a ring after taking off the noise of its points, which only ever adds length."""
    return float(LinearRing(ring).simplify(tolerance_mm, preserve_topology=False).length)


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


def _add_smoothing(
    shares: _Shares, rings: tuple[EdgeRing, ...], rings_mm: tuple[Floats, ...], *, pixel_mm: float, step_mm: float
) -> None:
    """What following an edge by points leaves open in its length: noise lengthens it, cut corners shorten it.

    A corner of turning angle a that is rounded by a radius r loses (2 tan(a/2) - a) r, which is put back; that is the
    long reading. The short one is the ring averaged along itself; on a pale sheet so far that steps between rim and
    shadow go. The truth lies between: near the long one where no wall is seen, in the middle where walls or a pale
    sheet make the edge step in and out. LENGTH_SHARE of their difference is the standard uncertainty (tuning scenes of
    the accuracy study: 97 % of the truths within twice that).
    """
    spread, moved = [], []
    for edge, ring in zip(rings, rings_mm, strict=True):
        fine = _length(ring, 2e-4 * float(np.sqrt(abs(signed_area(ring)))))
        coarse = LinearRing(ring).simplify(pixel_mm, preserve_topology=False)
        points = np.array(coarse.coords)[:-1]
        along = np.roll(points, -1, axis=0) - points
        heading = np.arctan2(along[:, 1], along[:, 0])
        turns = np.abs((np.diff(heading, append=heading[:1]) + np.pi) % (2 * np.pi) - np.pi)
        turns = np.minimum(turns[turns > CORNER_RAD], 0.8 * np.pi)
        lost = CORNER_PX * pixel_mm * float(np.sum(2 * np.tan(turns / 2) - turns))
        long, short = fine + lost, _short_length(ring, STEPS * step_mm)
        stepping = min(1.0, float(np.maximum(edge.wall_px, 0.0).mean()) / WALLED_PX + step_mm / pixel_mm)
        moved.append(lost - stepping * (long - short) / 2)
        spread.append(float(np.hypot(LENGTH_SHARE * (long - short), LEAST_LENGTH_SHARE * long)))
    area, outer, holes = shares.values
    shares.values = (area, outer + moved[0], holes + sum(moved[1:]))
    shares.add("length of the outline", 0.0, float(spread[0]), float(sum(spread[1:])))


def _short_length(ring: Floats, least_mm: float) -> float:
    """Length of a ring after averaging each point with its neighbours: four to either side, or as far as least_mm.

    A ring of few points is averaged over fewer, so that its own form stays.
    """
    spacing = float(LinearRing(ring).length) / len(ring)
    reach = int(np.clip(least_mm / spacing, min(4, len(ring) // 30), len(ring) // 12))
    reach = max(reach, 1)
    return float(LinearRing(mean_along((ring - ring[0]).astype(np.float32), reach)).length)


def _add_walls(shares: _Shares, rings: tuple[EdgeRing, ...], lengths: Floats, pixel: float) -> None:
    """What the height does to the edge that is seen: walls taken for face or sheet."""
    open_mm = np.array([_open_wall_px(ring) for ring in rings]) * pixel
    # The edge steps in and out where the verdict on the wall changes; all round, that is about one turn's worth.
    turn = 2 * np.pi * open_mm
    shares.add("seen wall", float(np.sum(open_mm * lengths)), float(turn[0]), float(turn[1:].sum()))


def _step_mm(sheet: SheetDistance, height_mm: float) -> float:
    """Return how far an edge on a white or grey sheet usually steps in and out; 0 on a coloured one. [mm]"""
    return 0.0 if sheet.coloured else FOIL_STEP_MM + RIM_STEP_MM * min(height_mm, 1.0)


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
