"""Photos of known truth for benchmarks: 3, 12 and 48 megapixels, one part and forty."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from shapely.geometry import Point, Polygon

from areakit.synthetic import Camera, Chain, Light, Metal, Print, Scene, ScenePart, render, save_photo, truth

SIZES = {"3 MP": (2016, 1512), "12 MP": (4032, 3024), "48 MP": (8064, 6048)}
COUNTS = (1, 40)
THICKNESS_MM = 1.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Shot:
    """A photo on disk, and the true areas of its parts, largest first. [mm2]"""

    name: str
    path: Path
    pixels: int
    areas_mm2: tuple[float, ...]
    check_lengths: str


def _part(radius: float, lobes: int) -> Polygon:
    """A wavy disk with a round hole off its middle."""
    turn = np.linspace(0, 2 * np.pi, 720, endpoint=False)
    around = radius * (1 + 0.12 * np.cos(lobes * turn))
    outer = Polygon(np.column_stack([around * np.cos(turn), around * np.sin(turn)]))
    return outer.difference(Point(0.25 * radius, 0).buffer(0.3 * radius, quad_segs=64))


def scene(size_px: tuple[int, int], count: int) -> Scene:
    """Lay parts of 1.2 mm on a sheet printed 0.3 % large; a camera with a tilt of 6 degrees and a usual lens."""
    across, down = (1, 1) if count == 1 else (8, 5)
    spots = [(20 + 220 * (i + 0.5) / across, 20 + 140 * (j + 0.5) / down) for j in range(down) for i in range(across)]
    parts = tuple(
        ScenePart(
            polygon=_part(32.0 if count == 1 else 8.0 + 0.05 * i, 3 + i % 4),
            thickness_mm=THICKNESS_MM, position_mm=spot, turn_deg=23.0 * i,
        )
        for i, spot in enumerate(spots)
    )  # fmt: skip
    camera = Camera(
        width_px=size_px[0], height_px=size_px[1], distance_mm=285.0, tilt_deg=6.0, tilt_direction_deg=30.0,
        k1=-0.03, k2=0.01,
    )  # fmt: skip
    return Scene(
        parts=parts, camera=camera, print=Print(scale_x=1.003, scale_y=1.003),
        metal=Metal(reflectance=(0.57, 0.56, 0.55), brightness=0.8, finish="brushed", texture=0.05),
        light=Light(gradient=0.15, contact_depth=0.3, contact_width_mm=1.0),
        chain=Chain(blur_px=1.0, full_well=6000.0), seed=count,
    )  # fmt: skip


def shots(folder: Path, sizes: tuple[str, ...] = tuple(SIZES), counts: tuple[int, ...] = COUNTS) -> list[Shot]:
    """Return the photos, drawn where they are not in the folder yet."""
    folder.mkdir(parents=True, exist_ok=True)
    found = []
    for size in sizes:
        for count in counts:
            here = scene(SIZES[size], count)
            path = folder / f"{size.replace(' ', '')}-{count}.jpg"
            if not path.is_file():
                save_photo(path, render(here), here)
            areas = sorted((part.face_mm2 for part in truth(here)), reverse=True)
            x, y = here.sheet.check_lengths_mm
            lengths = f"{x * here.print.scale_x:.2f} x {y * here.print.scale_y:.2f} mm"
            pixels = here.camera.width_px * here.camera.height_px
            parts = "1 part" if count == 1 else f"{count} parts"
            found.append(
                Shot(name=f"{size}, {parts}", path=path, pixels=pixels, areas_mm2=tuple(areas), check_lengths=lengths)
            )
    return found
