"""Drawn sheets of A4 that do not lie flat: how true the area of a small thing on them is, by where it lies.

``python -m calibration.studies.paper_bow [--scenes 60] [--out FILE]``. Each scene is a bare sheet, bent to a trough or
a hump of up to 3 mm in a direction of its own, or folded once and laid flat again, which no smooth bow follows; under a
lens and a tilt of its own, photographed at 12 MP. A disc of 24 mm lies on it in its middle, half way out and near its
corners; its outline is exact, so that all that is off is the scale. Sheets are cut exactly, so the share of the cut is
left out of what is stated.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from areakit.errors import AreakitError
from areakit.imaging.camera import usual_prior
from areakit.imaging.marks.paper import find_paper
from areakit.imaging.photo import Photo, overview
from areakit.imaging.scale import PlaneScale
from areakit.synthetic import projection
from areakit.synthetic.draw import draw_scene
from areakit.synthetic.render import render
from areakit.synthetic.scene import Print, Scene
from areakit.synthetic.sheet_print import height_of_sheet, linear
from calibration.studies.study_page import options_of, show

Floats = npt.NDArray[np.float64]

FIRST_SEED = 40_000
LIFTS_MM = (0.0, 0.5, 1.0, 2.0, 3.0)
FOLDS_MM = (0.5, 1.0, 1.5)
KINDS = tuple(f"bent {lift:g} mm" for lift in LIFTS_MM) + tuple(f"folded {fold:g} mm" for fold in FOLDS_MM)
WHITE = 238
DISC_MM = 12.0
PLACES = {"middle": ((0.0, 0.0),), "half way": ((0.25, 0.25), (-0.25, 0.2), (0.3, -0.2), (-0.3, -0.25)),
          "near a corner": ((0.4, 0.38), (-0.4, 0.38), (0.4, -0.38), (-0.4, -0.38))}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One place on one sheet: how it lies, error of area, and its standard uncertainty, as shares."""

    kind: str
    place: str
    error: float
    stated: float


def scene_of(seed: int, size_px: tuple[int, int] = (4032, 3024)) -> Scene:
    """Return a sheet without any print, bent or folded."""
    rng = np.random.default_rng(seed)
    drawn = draw_scene(rng, tilt_deg=(0.0, 20.0), fields=("white",), layout="A4-r1", size_px=size_px)
    scene = replace(drawn, parts=())
    way = 1.0 if rng.random() < 0.5 else -1.0
    direction, kind = float(rng.uniform(0.0, 180.0)), seed % len(KINDS)
    lift, fold = (*LIFTS_MM, *(0.0 for _ in FOLDS_MM))[kind], (*(0.0 for _ in LIFTS_MM), *FOLDS_MM)[kind]
    bare = Print(
        field_srgb=None, paper_srgb=(WHITE,) * 3, ink=linear((WHITE,) * 3)[0], edge_lift_mm=way * lift,
        fold_mm=way * fold, curl_direction_deg=direction, fold_direction_deg=direction,
        fold_offset_mm=float(rng.uniform(-50.0, 50.0)),
    )  # fmt: skip
    camera = replace(scene.camera, distance_mm=1.12 * scene.camera.distance_mm)
    return replace(scene, print=bare, camera=camera, desk_srgb=(84, 66, 50))


def rows_of(scene: Scene, kind: str) -> list[Row]:
    """Return what the sheet's edges say of discs on it."""
    camera = scene.camera
    photo = Photo(name=kind, pixels=render(scene), sha256="", focal_px=projection_focal(scene), dpi=None, camera="")
    scale = find_paper(photo, overview(photo), usual_prior(camera.width_px, camera.height_px, photo.focal_px), "A4")
    assert scale is not None
    found = []
    for place, spots in PLACES.items():
        for spot in spots:
            seen = _disc_px(scene, np.array(spot) * scene.sheet.paper_mm)
            error = _area(scale.camera.to_sheet(seen)) / (np.pi * DISC_MM**2) - 1.0
            found.append(Row(kind=kind, place=place, error=error, stated=level_share(scale, seen)))
    return found


def projection_focal(scene: Scene) -> float:
    """Return the focal length that the photo states. [px]"""
    camera = scene.camera
    return float(camera.stated_f35_mm or 26) / camera.f35_mm * camera.focal_px


def _disc_px(scene: Scene, middle_mm: Floats) -> Floats:
    """Return the rim in the picture of a stiff disc that rests on the bent sheet, shape (n, 2)."""
    angle = np.linspace(0.0, 2 * np.pi, 180, endpoint=False)
    middle = middle_mm + np.array(scene.middle_mm)
    steps = np.array([middle, middle + [1.0, 0.0], middle - [1.0, 0.0], middle + [0.0, 1.0], middle - [0.0, 1.0]])
    level = height_of_sheet(scene, steps)
    slope = np.array([level[1] - level[2], level[3] - level[4]]) / 2
    rim = DISC_MM * np.column_stack([np.cos(angle), np.sin(angle)])
    heights = level[0] + rim @ slope
    shorter = rim - np.outer(rim @ slope, slope) / 2  # as long along the slope as on the level
    return projection.project(projection.view_of(scene), middle + shorter, heights)


def _area(ring: Floats) -> float:
    x, y = ring.T
    return 0.5 * abs(float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))))


def level_share(scale: PlaneScale, seen_px: Floats) -> float:
    """Return the relative standard uncertainty of an area for camera, bow and level of the sheet (JCGM 100, 5.2.2)."""
    flat = scale.camera.to_sheet(seen_px)
    chord = np.roll(flat, -1, axis=0) - np.roll(flat, 1, axis=0)
    slopes = np.einsum("ni,nip->p", np.column_stack([chord[:, 1], -chord[:, 0]]) / 2, scale.camera.moves(flat))
    pose = float(slopes @ scale.camera.covariance @ slopes) / _area(flat) ** 2
    return float(np.sqrt(pose + (2 * scale.flatness_mm / scale.camera.height_mm) ** 2))


def table(rows: list[Row]) -> str:
    """Return the table by kind and place."""
    lines = [
        "| sheet | place | discs | error, mean | root mean square | largest | stated, k = 1, median | inside k = 2 |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for kind in KINDS:
        for place in PLACES:
            here = [row for row in rows if (row.kind, row.place) == (kind, place)]
            if here:
                errors, stated = np.array([row.error for row in here]), np.array([row.stated for row in here])
                lines.append(
                    f"| {kind} | {place} | {len(here)} | {100 * errors.mean():+.2f} % | "
                    f"{100 * np.sqrt(np.mean(errors**2)):.2f} % | {100 * np.abs(errors).max():.2f} % | "
                    f"{100 * np.median(stated):.2f} % | {100 * np.mean(np.abs(errors) <= 2 * stated):.0f} % |"
                )
    return "\n".join(lines) + "\n"


def main() -> None:
    """Draw the sheets, print the table, and write it where asked."""
    options = options_of(__doc__, default=60, first=FIRST_SEED)
    rows: list[Row] = []
    refused = 0
    for seed in range(options.first, options.first + options.scenes):
        try:
            rows += rows_of(scene_of(seed), KINDS[seed % len(KINDS)])
        except AreakitError:
            refused += 1
    page = f"""# The scale of a sheet of A4 that does not lie flat

Made by `python -m calibration.studies.paper_bow`, whose docstring says what is drawn.
{options.scenes} sheets, {refused} refused.

{table(rows)}"""
    show(page, options.out)


if __name__ == "__main__":
    main()
