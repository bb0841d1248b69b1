"""Drawn discs with rounded rims on a plain sheet of A4: where their outline is read, by the metal and its light.

``python -m calibration.studies.rounded_rims [--scenes 24] [--out FILE]``. Each scene holds six discs of one metal, 18
to 27 mm across and 1.7 mm thick, with rims rounded by 0.15 to 0.6 mm and, on most, a raised border as struck pieces
have. What a rim sends to the camera is traced: a polished rim shows the sky where it leans little, the sheet where it
leans more than half a right angle. The scale is exact (sheets lie flat and are cut true), so what is off is the edge:
the outline is read as that of a sharp part of the same thickness, and as one of unknown form.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from shapely.geometry import Point

from areakit.errors import AreakitError
from areakit.geometry.edge_forms import SHARP, EdgeForm
from areakit.imaging.outlines import find_outlines
from areakit.imaging.photo import Photo
from areakit.synthetic.coverage import Plane, Window
from areakit.synthetic.draw import REFLECTANCES, draw_scene
from areakit.synthetic.projection import View, project, sheet_points, view_of
from areakit.synthetic.scene import Print, Scene
from areakit.synthetic.sensor import develop
from areakit.synthetic.shade import field_of, light_on
from areakit.synthetic.shadows import darken_beside
from areakit.synthetic.sheet_print import linear, sheet_picture
from areakit.uncertainty import Measured
from calibration.studies.study_page import options_of, show

Floats = npt.NDArray[np.float64]

FIRST_SEED = 41_000
WHITE = 238
FINE = 3
"""Sight lines along each side of a pixel."""
SPOTS = ((0.2, 0.25), (0.5, 0.3), (0.8, 0.22), (0.25, 0.75), (0.52, 0.7), (0.8, 0.78))
METALS = ("copper", "nickel", "brass", "steel", "gold", "nickel")
COLOURED = ("copper", "brass", "gold")
UNKNOWN = EdgeForm(name="unknown")


@dataclass(frozen=True, slots=True, kw_only=True)
class Disc:
    """A round piece: radius, thickness, radius of its rounded rim, width of its raised border (0: none). [mm]"""

    radius: float
    thickness: float
    rounding: float
    border: float

    def distance(self, places: Floats) -> Floats:
        """Return how far points, shape (n, 3), z up from the sheet, lie outside of it. [mm]"""
        q = self._beyond(places)
        return np.asarray(np.minimum(q.max(axis=1), 0.0) + np.hypot(*np.maximum(q, 0.0).T) - self.rounding)

    def normals(self, places: Floats) -> Floats:
        """Return unit normals of points on it, shape (n, 3), tilted where its border rises from the face."""
        q = np.maximum(self._beyond(places), 0.0)
        way = q / np.maximum(np.hypot(*q.T), 1e-9)[:, None]
        out = np.hypot(places[:, 0], places[:, 1])
        lean = way[:, 0] - 0.6 * (np.abs(out - self.radius + self.border) < 0.12) * (self.border > 0.0)
        up = way[:, 1] * np.sign(places[:, 2] - self.thickness / 2)
        side = places[:, :2] / np.maximum(out, 1e-9)[:, None]
        normal = np.column_stack([side * lean[:, None], up])
        return np.asarray(normal / np.linalg.norm(normal, axis=1)[:, None])

    def _beyond(self, places: Floats) -> Floats:
        out = np.hypot(places[:, 0], places[:, 1]) - self.radius + self.rounding
        high = np.abs(places[:, 2] - self.thickness / 2) - self.thickness / 2 + self.rounding
        return np.column_stack([out, high])


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One disc: its metal, its rounding and thickness, how far outside of the true edge it is read in either form."""

    coloured: bool
    gloss: float
    rounding: float
    thickness: float
    sharp_mm: float
    unknown_mm: float
    sharp_inside: bool
    unknown_inside: bool


def coins_photo(seed: int) -> tuple[Scene, list[tuple[Floats, Disc]], Photo, float]:
    """Return one scene, its discs with their middles on the sheet, the photo of it, and the gloss of its metal."""
    rng = np.random.default_rng(seed)
    scene = replace(draw_scene(rng, tilt_deg=(0.0, 12.0), fields=("white",), layout="A4-r1"), parts=())
    bare = Print(field_srgb=None, paper_srgb=(WHITE,) * 3, ink=linear((WHITE,) * 3)[0])
    camera = replace(scene.camera, distance_mm=1.12 * scene.camera.distance_mm)
    scene = replace(scene, print=bare, camera=camera, desk_srgb=(84, 66, 50))
    gloss = float(rng.choice([0.3, 0.6, 0.9]))
    size = scene.sheet.paper_mm
    corner = np.array(scene.middle_mm) - np.array(size) / 2
    discs = [(corner + np.array(spot) * size + rng.normal(0.0, 3.0, 2), _disc(rng)) for spot in SPOTS]
    pixels = _drawn(scene, discs, METALS[seed % len(METALS)], gloss, rng)
    focal = float(camera.stated_f35_mm or 26) / camera.f35_mm * camera.focal_px
    return scene, discs, Photo(name=str(seed), pixels=pixels, sha256="", focal_px=focal, dpi=None, camera=""), gloss


def rows_of(seed: int) -> list[Row]:
    """Return the discs of one scene that are measured."""
    scene, discs, photo, gloss = coins_photo(seed)
    metal = METALS[seed % len(METALS)]
    found = []
    mean = Measured(value=float(np.mean([d.thickness for _, d in discs])), unit="mm", budget={"thickness": 0.1})
    readings = [find_outlines(photo, thickness=mean, mark="A4", edge_form=form) for form in (SHARP, UNKNOWN)]
    for middle, disc in discs:
        seen = project(view_of(scene), middle[None], disc.thickness / 2)[0]
        parts = [
            min(reading.parts, key=lambda part: float(np.linalg.norm(part.rings_px[0].mean(axis=0) - seen)))
            for reading in readings
        ]
        if any(np.linalg.norm(part.rings_px[0].mean(axis=0) - seen) > 40.0 for part in parts):
            continue
        areas = [part.outline.area for part in parts]
        true = np.pi * disc.radius**2
        sharp, unknown = (math.sqrt(area.value / np.pi) - disc.radius for area in areas)
        found.append(
            Row(
                coloured=metal in COLOURED, gloss=gloss, rounding=disc.rounding, thickness=disc.thickness,
                sharp_mm=sharp, unknown_mm=unknown,
                sharp_inside=abs(areas[0].value - true) <= areas[0].expanded_uncertainty,
                unknown_inside=abs(areas[1].value - true) <= areas[1].expanded_uncertainty,
            )
        )  # fmt: skip
    return found


def _disc(rng: np.random.Generator) -> Disc:
    thickness = 1.7 + float(rng.uniform(-0.1, 0.1))
    return Disc(
        radius=float(rng.uniform(9.0, 13.5)), thickness=thickness, rounding=float(rng.uniform(0.15, 0.6)),
        border=float(rng.uniform(0.8, 1.6)) if rng.random() < 0.7 else 0.0,
    )  # fmt: skip


def _drawn(
    scene: Scene, discs: list[tuple[Floats, Disc]], metal: str, gloss: float, rng: np.random.Generator
) -> npt.NDArray[np.uint8]:
    view = view_of(scene)
    picture = sheet_picture(scene, view)
    for middle, disc in discs:
        outline = Point(*middle).buffer(disc.radius, quad_segs=64)
        darken_beside(picture, scene, view, polygon=outline, thickness_mm=disc.thickness)
    colour = np.array(REFLECTANCES[metal]) * (0.75 if metal not in COLOURED else 1.0)
    sky = _Sky(
        level=float(rng.uniform(0.3, 0.7)), window=float(rng.uniform(0.0, 1.5)), azimuth=float(rng.uniform(0.0, 6.28))
    )
    for middle, disc in discs:
        _lay(picture, view, middle, disc, colour, gloss, sky)
    height, width = picture.shape[:2]
    whole = Window(left=0, top=0, width=width, height=height)
    picture *= light_on(scene, field_of(view, whole), whole)[..., None]
    return develop(picture, scene.chain, rng)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sky:
    """What stands above the sheet: an even level, and a window in one direction; white sheet = 1."""

    level: float
    window: float
    azimuth: float

    def seen(self, rays: Floats) -> Floats:
        """Return what is seen along rays, shape (n, 3): sky above, the shaded sheet below."""
        toward = np.array([math.cos(self.azimuth) * 0.6, math.sin(self.azimuth) * 0.6, 0.8])
        lamp = self.window * np.exp((rays @ toward - 1.0) / 0.06)
        sheet = linear((WHITE,) * 3)[0] * (0.6 + 0.4 * np.clip(-rays[:, 2] * 2.0, 0.0, 1.0))
        return np.asarray(np.where(rays[:, 2] > 0.0, self.level + lamp, sheet))


def _lay(picture: Plane, view: View, middle: Floats, disc: Disc, colour: Floats, gloss: float, sky: _Sky) -> None:
    """Draw one disc by sight lines, each followed to its surface by steps of its distance."""
    around = disc.radius + 1.0
    corners = middle + around * np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)])
    both = np.concatenate([project(view, corners), project(view, corners, disc.thickness)])
    (x0, y0), (x1, y1) = np.floor(both.min(axis=0)).astype(int), np.ceil(both.max(axis=0)).astype(int) + 1
    steps = (np.arange(FINE) + 0.5) / FINE - 0.5
    xs, ys = (np.arange(x0, x1)[:, None] + steps).ravel(), (np.arange(y0, y1)[:, None] + steps).ravel()
    nodes = np.stack(np.meshgrid(np.linspace(x0 - 1, x1, 12), np.linspace(y0 - 1, y1, 12)), axis=-1).reshape(-1, 2)
    # The sheet below a pixel is a smooth field: fitted by cubics, to a millionth of a millimetre.
    centre, half = nodes.mean(axis=0), np.ptp(nodes, axis=0) / 2

    def terms(points: Floats) -> Floats:
        u, v = ((points - centre) / half).T
        return np.stack([u**i * v**j for i in range(4) for j in range(4 - i)], axis=1)

    figures = np.linalg.lstsq(terms(nodes), sheet_points(view, nodes), rcond=None)[0]
    foot = terms(np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)) @ figures - middle
    eye = np.array([*(view.eye_mm[:2] - middle), view.eye_mm[2]])
    rays = np.column_stack([foot, np.zeros(len(foot))]) - eye
    rays /= np.linalg.norm(rays, axis=1)[:, None]
    place = eye + rays * ((disc.thickness + 0.01 - eye[2]) / rays[:, 2])[:, None]
    for _ in range(24):
        place = place + disc.distance(place)[:, None] * rays
    hit = (disc.distance(place) < 2e-3) & (place[:, 2] > 0.0)
    normal = disc.normals(place[hit])
    mirrored = rays[hit] - 2.0 * np.einsum("ni,ni->n", rays[hit], normal)[:, None] * normal
    spread = 0.5 + 0.5 * normal[:, 2]
    soft = sky.level * spread + linear((WHITE,) * 3)[0] * 0.6 * (1.0 - spread)
    level = gloss * sky.seen(mirrored) + (1.0 - gloss) * soft
    light = np.zeros((len(foot), 4))
    light[hit, :3], light[hit, 3] = level[:, None] * colour, 1.0
    shape = (y1 - y0, FINE, x1 - x0, FINE, 4)
    mean = light.reshape(shape).mean(axis=(1, 3))
    crop = picture[y0:y1, x0:x1]
    crop *= (1.0 - mean[..., 3:]).astype(np.float32)
    crop += mean[..., :3].astype(np.float32)


def table(rows: list[Row]) -> str:
    """Return the table by metal, gloss and rounding."""
    lines = [
        "| metal | discs | read as sharp: mean, sd | inside | read as unknown: mean, sd | inside |",
        "|---|---|---|---|---|---|",
    ]
    strata = [
        (
            f"{'coloured' if coloured else 'grey'}, gloss {gloss:g}",
            lambda r, c=coloured, g=gloss: (r.coloured, r.gloss) == (c, g),
        )
        for coloured in (True, False)
        for gloss in (0.3, 0.6, 0.9)
    ]
    for name, chosen in [*strata, ("coloured", lambda r: r.coloured), ("grey", lambda r: not r.coloured)]:
        here = [row for row in rows if chosen(row)]
        if len(here) > 1:
            sharp, unknown = (np.array([getattr(row, form) for row in here]) for form in ("sharp_mm", "unknown_mm"))
            inside = [100 * np.mean([getattr(row, f) for row in here]) for f in ("sharp_inside", "unknown_inside")]
            lines.append(
                f"| {name} | {len(here)} | {sharp.mean():+.3f} mm, {sharp.std():.3f} | {inside[0]:.0f} % | "
                f"{unknown.mean():+.3f} mm, {unknown.std():.3f} | {inside[1]:.0f} % |"
            )
    return "\n".join(lines) + "\n"


def main() -> None:
    """Draw the discs, print the table, and write it where asked."""
    options = options_of(__doc__, default=24, first=FIRST_SEED)
    rows: list[Row] = []
    refused: list[str] = []
    for seed in range(options.first, options.first + options.scenes):
        try:
            rows += rows_of(seed)
        except AreakitError as error:
            refused.append(error.code)
    page = f"""# Rounded rims on white paper

Made by `python -m calibration.studies.rounded_rims`, whose docstring says what is drawn.
{options.scenes} scenes of six discs; refused: {", ".join(sorted(refused)) or "none"}.

{table(rows)}"""
    show(page, options.out)


if __name__ == "__main__":
    main()
