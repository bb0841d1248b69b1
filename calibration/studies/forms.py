"""How often the truth lies inside what a form states: solids of known surface, seen by a camera above the sheet.

Run from the project's root::

    python -m calibration.studies.forms                   # 200 scenes a form, prints the table
    python -m calibration.studies.forms --scenes 20       # a quick look
    python -m calibration.studies.forms --out calibration/studies/forms_results.md

Each scene is a true solid, its sections projected through a pinhole onto the sheet. What a photo leaves open is put in
as it is stated: the edge lies off all round, the scale is off, the camera's height is off, each by a draw.
"""

from __future__ import annotations

import argparse
import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from shapely import affinity
from shapely.geometry import Point, Polygon, box

from areakit.geometry.forms.seen import View
from areakit.geometry.forms.turning import Stations, resting_slope
from areakit.geometry.forms.words import read_form
from areakit.geometry.outline import Outline
from areakit.geometry.part import Part
from areakit.geometry.regions import FormRegion
from areakit.geometry.surface import plated_surface
from areakit.service.form_regions import PLACE_EDGE_MM
from areakit.synthetic.solids import Floats, stock_sections, swept_shadow, turned_sections
from areakit.uncertainty import Measured

EDGE_MM, SCALE, HEIGHT = 0.03, 0.002, 0.01
"""Standard uncertainties: of the edge [mm], of the scale, and of the camera's height over itself."""
PLACE_MM = PLACE_EDGE_MM / math.sqrt(3.0)
"""Standard uncertainty of a seam that was read off a picture. [mm]"""
SEED = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """One solid on the sheet: what the camera sees, the words that a user types, and the true surface. [mm, mm2]

    ``level_mm`` is the height at which the outline is read: that of the flat part whose ``region`` has those words.
    """

    shadow: Polygon
    words: str
    true: float
    region: Polygon | None = None
    level_mm: float = 0.0


def camera(rng: np.random.Generator) -> View:
    """Return a camera held above the sheet, up to 15 degrees off the part's place."""
    return View(x_mm=0.0, y_mm=0.0, height_mm=float(rng.uniform(220.0, 420.0)))


def place(rng: np.random.Generator, view: View) -> tuple[float, float]:
    """Return where a part lies: within 15 degrees of straight below."""
    reach, way = view.height_mm * math.tan(math.radians(15.0)) * math.sqrt(rng.uniform()), rng.uniform(0, 2 * math.pi)
    return float(reach * math.cos(way)), float(reach * math.sin(way))


def wire(rng: np.random.Generator, view: View) -> Scene:
    """Return a wire bent in its plane: curvature that changes along it, nowhere tighter than two diameters."""
    diameter, length = float(rng.uniform(1.0, 4.0)), float(rng.uniform(25.0, 70.0))
    s = np.linspace(0.0, length, 160)
    most = min(1.0 / (2.0 * diameter), 2.5 / length)
    bend = most * np.sin(2 * math.pi * rng.uniform(0.2, 1.0) * s / length + rng.uniform(0, 6))
    heading = rng.uniform(0, 2 * math.pi) + np.cumsum(bend) * (s[1] - s[0])
    path = np.cumsum(np.column_stack([np.cos(heading), np.sin(heading)]), axis=0) * (s[1] - s[0])
    path += np.array(place(rng, view)) - path.mean(axis=0)
    taper = float(rng.uniform(-0.2, 0.2)) if rng.uniform() < 0.3 else 0.0
    radius = lambda share: diameter / 2.0 * (1.0 + taper * (share - 0.5))  # noqa: E731
    ends = ("flat", None)[int(rng.uniform() < 0.5)]
    shadow = swept_shadow(stock_sections(path, radius), view)
    run = float(np.hypot(*np.diff(path, axis=0).T).sum())
    true = math.pi * diameter * run + math.pi * sum(radius(end) ** 2 for end in (0.0, 1.0))
    return Scene(shadow=shadow, words=f"round, ends {ends}" if ends else "round", true=true)


def tube(rng: np.random.Generator, view: View) -> Scene:
    """Return a straight tube with a typed bore."""
    diameter, length = float(rng.uniform(4.0, 10.0)), float(rng.uniform(40.0, 80.0))
    wall = float(rng.uniform(0.5, 1.5))
    way, (x, y) = float(rng.uniform(0, math.pi)), place(rng, view)
    along = np.linspace(-length / 2, length / 2, 5)
    path = np.column_stack([x + along * math.cos(way), y + along * math.sin(way)])
    bore = diameter - 2.0 * wall
    true = math.pi * length * (diameter + bore) + math.pi / 2.0 * (diameter**2 - bore**2)
    return Scene(shadow=swept_shadow(stock_sections(path, diameter / 2), view),
                 words=f"tube, bore {bore + rng.uniform(-0.05, 0.05):.4f} ± 0.05 mm", true=true)  # fmt: skip


def profile(rng: np.random.Generator) -> tuple[Floats, Floats]:
    """Return place and radius along the axis of a knob, a vase or a bead. [mm]"""
    length, size = float(rng.uniform(14.0, 45.0)), float(rng.uniform(3.0, 12.0))
    x = np.linspace(-length / 2, length / 2, 120)
    kind = rng.integers(3)
    if kind == 0:
        radius = size * (1.0 + 0.35 * np.sin(rng.uniform(1.5, 4.0) * 2 * x / length + rng.uniform(0, 6)))
    elif kind == 1:
        radius = size * (0.55 + 0.45 * (x / length + 0.5))
    else:
        radius = size * np.sqrt(np.maximum(1.0 - (2.0 * x / length) ** 2, 1e-4))
    return x, np.asarray(radius)


def _axis(x: Floats, radius: Floats) -> str:
    """Return what a user says who is asked which of two axes of symmetry it was turned about."""
    return "long" if x[-1] - x[0] > 2.0 * radius.max() else "short"


def swept(x: Floats, radius: Floats) -> float:
    """Return the surface of revolution, ends included (cones cut off, closed form). [mm2]"""
    slant = np.hypot(np.diff(x), np.diff(radius))
    return float(math.pi * np.sum((radius[1:] + radius[:-1]) * slant) + math.pi * (radius[0] ** 2 + radius[-1] ** 2))


def propped(rng: np.random.Generator, view: View) -> Scene:
    """Return a turned part propped until its axis is level."""
    x, radius = profile(rng)
    sections = turned_sections(
        x, radius, height_mm=float(radius.max()), turn=float(rng.uniform(0, 6)), at=place(rng, view)
    )
    return Scene(
        shadow=swept_shadow(sections, view), words=f"turned, level, axis {_axis(x, radius)}", true=swept(x, radius)
    )


def lying(rng: np.random.Generator, view: View) -> Scene:
    """Return a turned part of which nobody says how it lies: freely in half of the scenes, else propped."""
    x, radius = profile(rng)
    over, slope = resting_slope(Stations(x=x, radius=radius, uneven=np.zeros_like(x)))
    tilt = math.atan(slope)
    free = rng.uniform() < 0.5
    sections = turned_sections(
        x,
        radius,
        height_mm=over * math.cos(tilt) if free else float(radius.max()),
        turn=float(rng.uniform(0, 6)),
        at=place(rng, view),
        tilt=tilt if free else 0.0,
    )
    return Scene(shadow=swept_shadow(sections, view), words=f"turned, axis {_axis(x, radius)}", true=swept(x, radius))


def rod(rng: np.random.Generator, view: View) -> Scene:
    """Return a threaded rod, drawn by its major diameter; its true surface is that of the profile of ISO 68-1."""
    from areakit.geometry.forms.profile import DEPTH, THREAD_HEIGHT, thread_factor

    diameter, length = float(rng.choice([3.0, 4.0, 5.0, 6.0, 8.0, 10.0])), float(rng.uniform(20.0, 60.0))
    pitch = {3.0: 0.5, 4.0: 0.7, 5.0: 0.8, 6.0: 1.0, 8.0: 1.25, 10.0: 1.5}[diameter]
    way, (x, y) = float(rng.uniform(0, math.pi)), place(rng, view)
    along = np.linspace(-length / 2, length / 2, 5)
    path = np.column_stack([x + along * math.cos(way), y + along * math.sin(way)])
    root = diameter - 2.0 * DEPTH * THREAD_HEIGHT * pitch
    true = math.pi * diameter * length * thread_factor(diameter, pitch) + math.pi / 2.0 * root**2
    return Scene(
        shadow=swept_shadow(stock_sections(path, diameter / 2), view), words=f"thread, pitch {pitch:g} mm", true=true
    )


def leaf(rng: np.random.Generator, view: View) -> Scene:
    """Return a flat leaf with a wire as its stem, both on the sheet; the region is drawn by hand, off by a draw."""
    wide, high = float(rng.uniform(8.0, 16.0)), float(rng.uniform(10.0, 22.0))
    thick, wire = float(rng.uniform(0.5, 1.5)), float(rng.uniform(1.0, 2.0))
    run = float(rng.uniform(12.0, 30.0))
    x, y = place(rng, view)
    face = affinity.scale(Point(0.0, high).buffer(1.0, quad_segs=64), wide, high)
    foot = high - high * math.sqrt(1.0 - (wire / 2.0 / wide) ** 2)
    path = np.column_stack([np.zeros(40), np.linspace(foot + 0.05, -run, 40)])
    turn = float(rng.uniform(0.0, 360.0))
    sections = stock_sections(path, wire / 2.0)
    way = math.radians(turn)
    spin = np.array([[math.cos(way), -math.sin(way)], [math.sin(way), math.cos(way)]])
    for section in sections:
        section[:, :2] = section[:, :2] @ spin.T + [x, y]
    origin = (0.0, 0.0)
    moved = affinity.translate(affinity.rotate(face, turn, origin=origin), x, y)
    scale = view.height_mm / (view.height_mm - thick)
    stem = affinity.scale(swept_shadow(sections, view), 1.0 / scale, 1.0 / scale, origin=(view.x_mm, view.y_mm))
    whole = moved.union(stem)
    assert isinstance(whole, Polygon)
    seam = float(np.clip(rng.normal(foot, PLACE_MM), foot - 1.0, foot + 1.0))
    region = affinity.translate(affinity.rotate(box(-wire, -run - 5, wire, seam), turn, origin=origin), x, y)
    around = moved.exterior.length - wire
    hidden = (_lens(thick, wire, resting=True) + _lens(thick, wire, resting=False)) / 2.0
    step = math.pi * wire**2 / 4.0 + thick * wire - 2.0 * hidden
    true = 2.0 * face.area + around * thick + math.pi * wire * (run + foot) + math.pi * wire**2 / 4.0 + step
    return Scene(shadow=whole, words="round, ends flat", true=true, region=region, level_mm=thick)


def _lens(thick: float, wire: float, *, resting: bool) -> float:
    """Return what sheet hides of the end of a wire as wide as itself: on one table, or middle on middle. [mm2]"""
    low = 0.0 if resting else (wire - thick) / 2.0
    circle = Point(0.0, wire / 2.0).buffer(wire / 2.0, quad_segs=64)
    return float(circle.intersection(box(-wire, low, wire, low + thick)).area)


FORMS: dict[str, Callable[[np.random.Generator, View], Scene]] = {
    "wire": wire,
    "tube": tube,
    "turned, axis level": propped,
    "turned, lie not said": lying,
    "threaded rod": rod,
    "leaf with a wire stem": leaf,
}


def outline_of(shadow: Polygon, rng: np.random.Generator) -> Outline:
    """Return the outline as a photo would give it: edge and scale off by a draw from what is stated."""
    stretch = 1.0 + SCALE * rng.normal()
    seen = affinity.scale(shadow, stretch, stretch, origin=(0.0, 0.0)).buffer(EDGE_MM * rng.normal())
    assert isinstance(seen, Polygon)
    shares = {"edge": EDGE_MM * seen.length, "scale": 2.0 * SCALE * seen.area}
    return Outline(
        polygon=seen,
        area=Measured(value=seen.area, unit="mm2", budget=shares),
        perimeter_outer=Measured(value=seen.exterior.length, unit="mm", budget={"scale": SCALE * seen.length}),
        perimeter_holes=Measured(value=sum(ring.length for ring in seen.interiors), unit="mm"),
        origin="drawing",
    )


def measured(scene: Scene, view: View, rng: np.random.Generator) -> Measured:
    """Return the plated area that the form gives, the camera's height off by a draw."""
    believed = View(
        x_mm=view.x_mm,
        y_mm=view.y_mm,
        height_mm=view.height_mm * (1.0 + HEIGHT * rng.normal()),
        level_mm=scene.level_mm,
    )
    return plated_surface(part_of(scene, outline_of(scene.shadow, rng), believed)).plated


def part_of(scene: Scene, outline: Outline, view: View | None) -> Part:
    """Return the part as its user describes it."""
    form = read_form(scene.words)
    if scene.region is None:
        return Part(outline=outline, thickness=None, faces="all", form=form, view=view)
    region = FormRegion(region=scene.region, form=form, thickness=None, edge_mm=PLACE_MM)
    thickness = Measured(value=scene.level_mm, unit="mm")
    return Part(outline=outline, thickness=thickness, faces="all", regions=(region,), view=view)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One form over many scenes: share inside, mean error, largest error and mean expanded uncertainty, in percent."""

    form: str
    scenes: int
    inside: float
    bias: float
    worst: float
    stated: float
    uncorrected: float


def row(name: str, scenes: int, seed: int = SEED) -> Row:
    """Run one form; ``uncorrected`` is the mean error of the same outline without height and slant."""
    rng = np.random.default_rng([seed, *name.encode()])
    errors, stated, plain = [], [], []
    for _ in range(scenes):
        view = camera(rng)
        scene = FORMS[name](rng, view)
        found = measured(scene, view, rng)
        errors.append(found.value / scene.true - 1.0)
        stated.append(found.expanded_uncertainty / scene.true)
        part = part_of(scene, outline_of(scene.shadow, rng), None)
        plain.append(plated_surface(part).plated.value / scene.true - 1.0)
    off, spread = np.array(errors), np.array(stated)
    return Row(
        form=name,
        scenes=scenes,
        inside=100.0 * float(np.mean(np.abs(off) <= spread)),
        bias=100.0 * float(off.mean()),
        worst=100.0 * float(np.abs(off).max()),
        stated=100.0 * float(spread.mean()),
        uncorrected=100.0 * float(np.mean(plain)),
    )


def table(rows: list[Row]) -> str:
    """Return the rows as a table in Markdown."""
    lines = [
        "| form | scenes | truth inside | mean error | largest error | stated ± (mean) | mean error uncorrected |",
        "|---|---|---|---|---|---|---|",
    ]
    lines += [
        f"| {r.form} | {r.scenes} | {r.inside:.1f} % | {r.bias:+.2f} % | {r.worst:.2f} % | {r.stated:.2f} % | "
        f"{r.uncorrected:+.1f} % |"
        for r in rows
    ]
    return "\n".join(lines)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--scenes", type=int, default=200)
    parser.add_argument("--out", type=Path)
    given = parser.parse_args()
    text = table([row(name, given.scenes) for name in FORMS])
    print(text)
    if given.out is not None:
        given.out.write_text(
            f"# Forms: solids of known surface under a camera\n\n{_ABOUT}\n\n{text}\n", encoding="utf-8"
        )


_ABOUT = (
    "Made by `python -m calibration.studies.forms`. Edge 0.03 mm, scale 0.2 %, camera's height 1 % (standard "
    "uncertainties), camera 220 to 420 mm above the sheet, parts within 15° of straight below."
)

if __name__ == "__main__":
    main()
