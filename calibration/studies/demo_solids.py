"""The demo pictures of parts that are not flat: a wire hook and a turned spindle, as true solids with their surface."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import MultiPoint, Polygon

from calibration.studies.demo_scenes import A5_MIDDLE, DemoPart, Light, Scene, _view

Floats = npt.NDArray[np.float64]
AROUND = 128
WIRE_MM, BEND_MM, BEND_DEG = 3.0, 13.0, 240.0
"""The hook: diameter of its wire, radius of its two bends along the middle of the wire, and how far each goes round."""
SPINDLE_MM = 34.0


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoSolid(DemoPart):
    """A part by its sections along the way, circles of shape (n, AROUND, 3): x, y as its outline, z upwards. [mm]

    ``surface_mm2`` is its true surface, ends included (closed form).
    """

    sections: Callable[[], Floats]
    surface_mm2: float

    def on_table(self) -> Floats:
        """Return the sections on the sheet, in sheet millimetres, z upwards."""
        turn = math.radians(self.turn_deg)
        way = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
        found = self.sections().copy()
        found[..., :2] = found[..., :2] @ way + self.centre_mm
        return found


def solid(sections: Floats) -> tuple[Floats, npt.NDArray[np.int64]]:
    """Return the skin of a solid, flat ends included: vertices (n, 3) in sheet mm, z into the table; faces (m, 3)."""
    count = len(sections)
    ring = np.arange(AROUND)
    following = (ring + 1) % AROUND
    quads = []
    for i in range(count - 1):
        a, b, c, d = (i * AROUND + ring, i * AROUND + following, (i + 1) * AROUND + following, (i + 1) * AROUND + ring)
        quads += [np.column_stack([a, b, c]), np.column_stack([a, c, d])]
    middles = sections[[0, -1]].mean(axis=1)
    first, last = count * AROUND, count * AROUND + 1
    quads.append(np.column_stack([following, ring, np.full(AROUND, first)]))
    behind = (count - 1) * AROUND
    quads.append(np.column_stack([behind + ring, behind + following, np.full(AROUND, last)]))
    points = np.vstack([sections.reshape(-1, 3), middles]) * np.array([1.0, 1.0, -1.0])
    return points, np.vstack(quads)[:, ::-1]


def hook_sections() -> Floats:
    """Return a wire bent to an S that lies on the sheet, its ends cut off square."""
    turns = np.radians(np.linspace(0.0, BEND_DEG, 120))
    upper = BEND_MM * np.column_stack([np.sin(turns), 1.0 - np.cos(turns)])[::-1]
    path = np.vstack([upper, -upper[::-1][1:]])
    return _swept(path, np.full(len(path), WIRE_MM / 2.0), height_mm=WIRE_MM / 2.0)


def spindle_radius(x: Floats) -> Floats:
    """Return the radius of the spindle along its axis: two beads of one size, so that it lies with its axis level."""
    return np.asarray(4.25 - 1.75 * np.cos(2.0 * math.pi * x / 22.0))


def spindle_sections() -> Floats:
    x = np.linspace(-SPINDLE_MM / 2.0, SPINDLE_MM / 2.0, 201)
    return _swept(
        np.column_stack([x, 0.0 * x]), spindle_radius(x), height_mm=float(spindle_radius(np.array([11.0]))[0])
    )


def _swept(path: Floats, radius: Floats, *, height_mm: float) -> Floats:
    along = np.gradient(path, axis=0, edge_order=2)
    along /= np.hypot(along[:, 0], along[:, 1])[:, None]
    angles = np.linspace(0.0, 2.0 * math.pi, AROUND, endpoint=False)
    across = np.column_stack([-along[:, 1], along[:, 0]])
    flat = path[:, None, :] + (radius[:, None] * np.cos(angles))[:, :, None] * across[:, None, :]
    high = height_mm + radius[:, None] * np.sin(angles)
    return np.concatenate([flat, high[:, :, None]], axis=2)


def seen_from_above(sections: Floats) -> Polygon:
    """Return the outline from straight above, with y as on the sheet."""
    hulls = [MultiPoint(np.vstack([a, b])[:, :2]).convex_hull for a, b in pairwise(sections)]
    found = shapely.union_all(hulls)
    assert isinstance(found, Polygon)
    return found


def hook_surface() -> float:
    """Return the surface of the hook: pi d times its length (Pappus), and two discs. [mm2]"""
    length = 2.0 * BEND_MM * math.radians(BEND_DEG)
    return math.pi * WIRE_MM * length + math.pi / 2.0 * WIRE_MM**2


def spindle_surface() -> float:
    """Return the surface of the spindle: what its profile sweeps, in cones cut off, and two discs. [mm2]"""
    x = np.linspace(-SPINDLE_MM / 2.0, SPINDLE_MM / 2.0, 10_001)
    r = spindle_radius(x)
    swept = math.pi * np.sum((r[1:] + r[:-1]) * np.hypot(np.diff(x), np.diff(r)))
    return float(swept + math.pi * (r[0] ** 2 + r[-1] ** 2))


SOLIDS = (
    Scene(
        name="wire-hook",
        what="A hook of dull copper wire, 3 mm",
        sheet="A5-r1",
        thickness_mm=WIRE_MM,
        form="round, ends flat, dull",
        ground=(1, 2, 3),
        parts=(
            DemoSolid(
                name="hook", outline=lambda: seen_from_above(hook_sections()), metal="dull copper",
                centre_mm=(92.0, 63.0), turn_deg=25.0, sections=hook_sections, surface_mm2=hook_surface(),
            ),
        ),
        camera=_view((2000, 1500), 181.0, A5_MIDDLE, tilt_deg=6.0, tilt_towards_deg=80.0, roll_deg=1.0),
        light=Light(window_azimuth_deg=150.0),
        seed=21,
        samples=36,
    ),
    Scene(
        name="turned-spindle",
        what="A turned spindle of dull brass, 34 mm long, on its side",
        sheet="A5-r1",
        thickness_mm=12.0,
        form="turned, level, dull",
        parts=(
            DemoSolid(
                name="spindle", outline=lambda: seen_from_above(spindle_sections()), metal="dull brass",
                centre_mm=(90.0, 66.0), turn_deg=-18.0, sections=spindle_sections,
                surface_mm2=spindle_surface(),
            ),
        ),
        camera=_view((1840, 1380), 181.0, A5_MIDDLE, tilt_deg=5.0, tilt_towards_deg=110.0, roll_deg=-1.4),
        light=Light(window_azimuth_deg=190.0),
        seed=22,
        samples=36,
    ),
)  # fmt: skip
