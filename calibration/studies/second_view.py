"""Pairs of drawn photos of one part, the sheet turned by a quarter: what the second settles of what the first asks.

``python -m calibration.studies.second_view [--pairs 8] [--out FILE]``. Ten kinds of question, so many pairs each. In
half of them the first photo shows something that is gone or elsewhere in the second (a reflection on the face, light on
the sheet, a line of light across the part); in the others it stays (paint, a mirrored sheet, a joint, a stop-off), and
there the second must not answer. What lies at the place is known, so each answer is right or wrong.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box

from areakit.errors import AreakitError
from areakit.imaging.outlines import FoundParts, find_outlines
from areakit.imaging.photo import read_photo
from areakit.imaging.second_view import settle
from areakit.synthetic import Patch, Scene, draw_scene, jpeg_bytes, render
from areakit.synthetic.sheet_print import linear
from calibration.studies.accuracy_scenes import entry_of
from calibration.studies.silent_part import PAINTS_SRGB
from calibration.studies.study_page import options_of, show

FIRST_SEED = 2000
"""Figures were set on seeds below."""
Pair = tuple[Scene, Scene]
LACQUERS_SRGB = ((170, 30, 30), (30, 140, 60), (200, 150, 20), (120, 40, 140))
"""Stop-off lacquers of colours far from any metal (practice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """A kind of question: how its pair is drawn, and which answers to it are right; no right one: it must stay."""

    words: str
    code: frozenset[str]
    right: frozenset[str]
    draw: Callable[[np.random.Generator], Pair]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One pair: whether the first photo asked, and what the second answered: right, wrong, open, or refused."""

    kind: str
    asked: bool
    told: str


def _base(
    rng: np.random.Generator, *, hole_mm: float = 0.0, metals: tuple[str, ...] = ("steel", "nickel", "copper", "brass")
) -> Pair:
    """Return two photos of a plate of 25 to 60 mm; the lamp stays, the sheet is turned with the part on it."""
    first = draw_scene(
        rng, size_px=(2016, 1512), tilt_deg=(0.0, 15.0), fields=("blue",), metals=metals, blur_px=(0.6, 0.9),
        finishes=("matte", "brushed"), thickness_mm=(0.2, 2.5), area_cm2=(8.0, 25.0), shapes=("bracket",),
    )  # fmt: skip
    width, height = float(rng.uniform(35.0, 60.0)), float(rng.uniform(25.0, 40.0))
    plate = box(-width / 2, -height / 2, width / 2, height / 2).buffer(3.0)
    if hole_mm:
        plate = plate.difference(Point(0.0, 0.0).buffer(hole_mm, quad_segs=48))
    left, top, right, bottom = first.sheet.field_mm
    part = replace(
        first.parts[0], polygon=plate, turn_deg=float(rng.uniform(0.0, 360.0)),
        position_mm=((left + right) / 2 + float(rng.normal(0, 8.0)), (top + bottom) / 2 + float(rng.normal(0, 5.0))),
    )  # fmt: skip
    first = replace(first, parts=(part,))
    camera = replace(
        first.camera, roll_deg=first.camera.roll_deg + 90.0, distance_mm=1.42 * first.camera.distance_mm,
        tilt_deg=float(rng.uniform(2.0, 12.0)), tilt_direction_deg=float(rng.uniform(0.0, 360.0)),
    )  # fmt: skip
    turned = replace(first.light, azimuth_deg=first.light.azimuth_deg - 90.0)
    return first, replace(first, camera=camera, light=turned, seed=first.seed + 1)


def _put(
    scene: Scene,
    figure: Polygon,
    colour: tuple[float, ...],
    *,
    opacity: float = 1.0,
    soft: float = 0.05,
    on: int | None = 0,
) -> Scene:
    """Lay a patch, given in the part's own coordinates, on its face or on the sheet."""
    part = scene.parts[0]
    placed = affinity.translate(affinity.rotate(figure, part.turn_deg, origin=(0.0, 0.0)), *part.position_mm)
    patch = Patch(polygon=placed, colour=colour, opacity=opacity, softness_mm=soft, on=on)  # type: ignore[arg-type]
    return replace(scene, patches=(*scene.patches, patch))


def _blob(rng: np.random.Generator) -> Polygon:
    return affinity.scale(Point(0.0, 0.0).buffer(float(rng.uniform(3.0, 6.0))), 1.0, float(rng.uniform(0.6, 1.0)))


def _blue(scene: Scene, rng: np.random.Generator) -> tuple[float, ...]:
    """Return the sheet's light as metal mirrors it."""
    sheet = np.array(linear(scene.print.field_srgb or scene.print.paper_srgb))
    return tuple(sheet * np.array(scene.metal.reflectance) * float(rng.uniform(0.8, 1.0)))


def _paint(rng: np.random.Generator) -> tuple[float, ...]:
    return tuple(np.array(linear(PAINTS_SRGB[int(rng.integers(len(PAINTS_SRGB)))])) * float(rng.uniform(0.85, 1.1)))


def reflection(rng: np.random.Generator) -> Pair:
    first, second = _base(rng)
    blob, blue, soft = _blob(rng), _blue(first, rng), float(rng.choice([0.05, 0.3]))
    first = _put(first, blob, blue, soft=soft)
    away = affinity.translate(blob, 12.0 * float(rng.choice([-1.0, 1.0])), float(rng.uniform(-4.0, 4.0)))
    return first, _put(second, away, blue, soft=soft) if rng.random() < 0.6 else second


def paint_inside(rng: np.random.Generator) -> Pair:
    blob, colour = _blob(rng), _paint(rng)
    first, second = _base(rng)
    return _put(first, blob, colour), _put(second, blob, colour)


def lit_hole(rng: np.random.Generator) -> Pair:
    """A hole in which the first photo shows light that metal throws on the sheet."""
    size = float(rng.uniform(4.0, 7.0))
    first, second = _base(rng, hole_mm=size)
    glow = tuple(np.array(first.metal.reflectance) * float(rng.uniform(0.02, 0.1)))
    return _put(first, Point(0.0, 0.0).buffer(size + 1.0), glow, opacity=0.0, on=None), second


def light_beside(rng: np.random.Generator) -> Pair:
    first, second = _base(rng)
    x = first.parts[0].polygon.bounds[2]
    figure = box(x - 1.0, -8.0, x + float(rng.uniform(4.0, 9.0)), 8.0)
    glow = tuple(np.array((0.5, 0.32, 0.12)) * float(rng.uniform(0.04, 0.12)))
    return _put(first, figure, glow, opacity=0.0, soft=float(rng.uniform(0.1, 0.5)), on=None), second


def _edge_zone(scene: Scene) -> Polygon:
    x0, _, x1, _ = scene.parts[0].polygon.bounds
    return box(x1 - 0.2 * (x1 - x0), -100.0, x1 + 10.0, 100.0)


def paint_at_edge(rng: np.random.Generator) -> Pair:
    first, second = _base(rng)
    zone, colour = _edge_zone(first), _paint(rng)
    return _put(first, zone, colour), _put(second, zone, colour)


def mirror_at_edge(rng: np.random.Generator) -> Pair:
    first, second = _base(rng, metals=("steel", "nickel", "silver"))
    zone, colour = _edge_zone(first), _blue(first, rng)
    return _put(first, zone, colour, opacity=0.97), _put(second, zone, colour, opacity=0.97)


def _line(scene: Scene, at: float, width: float) -> Polygon:
    _, low, _, high = scene.parts[0].polygon.bounds
    return LineString([(at, low - 1.0), (at + 0.01, high + 1.0)]).buffer(width, cap_style="flat")


def line_of_light(rng: np.random.Generator) -> Pair:
    first, second = _base(rng)
    width, dark = float(rng.uniform(0.05, 0.12)), (0.03, 0.03, 0.03)
    first = _put(first, _line(first, 2.0, width), dark, opacity=0.9)
    return first, _put(second, _line(second, float(rng.choice([-9.0, 9.0])), width), dark, opacity=0.9)


def joint(rng: np.random.Generator) -> Pair:
    width, dark = float(rng.uniform(0.03, 0.08)), (0.02, 0.02, 0.02)
    first, second = _base(rng)
    return (
        _put(first, _line(first, 2.0, width), dark, opacity=0.95),
        _put(second, _line(second, 2.0, width), dark, opacity=float(rng.uniform(0.6, 0.95))),
    )


def coloured_reflection(rng: np.random.Generator) -> Pair:
    first, second = _base(rng)
    colour = linear(LACQUERS_SRGB[int(rng.integers(len(LACQUERS_SRGB)))])
    return _put(first, _blob(rng), colour, opacity=0.9, soft=0.1), second


def stop_off(rng: np.random.Generator) -> Pair:
    first, second = _base(rng)
    blob, colour = _blob(rng), linear(LACQUERS_SRGB[int(rng.integers(len(LACQUERS_SRGB)))])
    return _put(first, blob, colour), _put(second, blob, colour)


REGION, OTHER = frozenset({"LOOKS_UNDECIDED", "BESIDE_UNDECIDED"}), frozenset({"STOP_OFF_SEEN", "LOOKS_UNDECIDED"})
JOINT = frozenset({"JOINT_UNDECIDED"})
METAL, HOLE, STAYS = frozenset({"metal"}), frozenset({"hole"}), frozenset[str]()
KINDS = (
    Kind(words="reflection of the sheet on the face, gone or moved", code=OTHER, right=METAL, draw=reflection),
    Kind(words="paint of about the sheet's colour, inside", code=REGION, right=METAL, draw=paint_inside),
    Kind(words="hole with light in it, gone", code=REGION, right=HOLE, draw=lit_hole),
    Kind(words="light on the sheet beside the part, gone", code=REGION, right=HOLE, draw=light_beside),
    Kind(words="paint of about the sheet's colour, at the edge", code=REGION, right=METAL, draw=paint_at_edge),
    Kind(words="metal that mirrors the sheet at its edge", code=REGION, right=METAL, draw=mirror_at_edge),
    Kind(words="line of a reflection across the part, moved", code=JOINT, right=METAL, draw=line_of_light),
    Kind(words="joint or groove across the part", code=JOINT, right=STAYS, draw=joint),
    Kind(words="coloured reflection on the face, gone", code=OTHER, right=METAL, draw=coloured_reflection),
    Kind(words="stop-off on the face", code=frozenset({"STOP_OFF_SEEN"}), right=STAYS, draw=stop_off),
)


def row_of(kind: Kind, seed: int) -> Row:
    """Draw one pair, measure both photos, and let the second answer the first."""
    rng = np.random.default_rng([seed, *kind.draw.__name__.encode()])
    pair = kind.draw(rng)
    entry = entry_of(pair[0], seed)
    try:
        found = [_found(scene, entry.thickness, entry.reading) for scene in pair]
    except AreakitError as error:
        return Row(kind=kind.words, asked=False, told=f"refused: {error.code}")
    codes = {flag.code for part in found[0].parts for flag in part.outline.flags}
    codes |= {"STOP_OFF_SEEN"} if any(not s.mirrored for part in found[0].parts for s in part.stop_offs) else set()
    asked = bool(codes & kind.code)
    height = entry.thickness.value if entry.thickness else 1.0
    answers = [one for one in settle(found[0], found[1], height) if one.code in kind.code | REGION]
    wrong = any(one.kind not in kind.right for one in answers)
    return Row(kind=kind.words, asked=asked, told="wrong" if wrong else "right" if answers else "open")


def _found(scene: Scene, thickness: object, reading: object) -> FoundParts:
    return find_outlines(read_photo(jpeg_bytes(render(scene), scene)), thickness=thickness, reading=reading)  # type: ignore[arg-type]


def table(rows: list[Row]) -> str:
    """Return the table by kind of question."""
    lines = [
        "| what the first photo shows | pairs | refused | asked | settled right | stays open | settled wrong |",
        "|---|---|---|---|---|---|---|",
    ]
    for kind in KINDS:
        here = [row for row in rows if row.kind == kind.words]
        asked = [row for row in here if row.asked or row.told in ("right", "wrong")]
        told = [sum(row.told == word for row in asked) for word in ("right", "open", "wrong")]
        right = str(told[0]) if kind.right else "-"
        refused = sum(row.told.startswith("refused") for row in here)
        lines.append(f"| {kind.words} | {len(here)} | {refused} | {len(asked)} | {right} | {told[1]} | {told[2]} |")
    return "\n".join(lines) + "\n"


def main() -> None:
    """Draw the pairs, print the table, and write it where asked."""
    options = options_of(__doc__, count="pairs", default=8, first=FIRST_SEED)
    rows = [row_of(kind, options.first + i) for kind in KINDS for i in range(options.pairs)]
    page = f"""# What a second photo settles

Made by `python -m calibration.studies.second_view`, whose docstring says what is drawn. {len(rows)} pairs.

{table(rows)}"""
    show(page, options.out)


if __name__ == "__main__":
    main()
