"""Traps of the part and what lies on it or beside it."""

from __future__ import annotations

import math
from colorsys import hsv_to_rgb
from dataclasses import replace
from typing import Any

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box

from areakit.synthetic import Patch, Scene, ScenePart
from areakit.synthetic.sheet_print import linear
from calibration.studies.silent import Case, Draw
from calibration.studies.silent_sheet import case_of, good_scene

PAINTS_SRGB = (
    (20, 50, 130), (30, 80, 170), (40, 105, 180), (60, 95, 160),
    (15, 70, 150), (80, 140, 215), (40, 60, 200), (0, 95, 165),
)  # fmt: skip
"""Blues of stop-off lacquers, enamels and tapes (practice); none is the sheet's own."""
BLUES_HSV = (195.0, 235.0), (0.4, 0.95), (0.3, 0.9)
"""Hue, saturation and value of any other blue, the sheet's own among them. [deg, 1, 1]"""
ASKED = {"BESIDE_UNDECIDED", "LOOKS_UNDECIDED"}


def _chance(kind: str, seed: int) -> np.random.Generator:
    return np.random.default_rng([seed, 77, *kind.encode()])


def _with_shape(scene: Scene, shape: Polygon) -> Scene:
    """Lay a shape, its middle at the origin, in the middle of the field at the turn that was drawn."""
    left, top, right, bottom = scene.sheet.field_mm
    middle = (left + right) / 2, (top + bottom) / 2
    part = replace(scene.parts[0], polygon=shape, position_mm=middle)
    return replace(scene, parts=(part,))


def _sheet_light(scene: Scene) -> np.ndarray[Any, Any]:
    p = scene.print
    return np.array(linear(p.paper_srgb if p.field_srgb is None else p.field_srgb))


def slits(seed: int) -> Case:
    """A comb: slits of 0.25 to 0.6 mm, open to an edge or enclosed."""
    rng = _chance("slits", seed)
    scene = good_scene("slits", seed, thickness_mm=(0.05, 1.5), size_px=((2688, 2016), (4032, 3024))[seed % 2])
    width, height = float(rng.uniform(30.0, 70.0)), float(rng.uniform(20.0, 50.0))
    count, slit = int(rng.integers(6, 22)), float(rng.uniform(0.25, 0.6))
    reach = height * float(rng.uniform(0.4, 0.75))
    first = -height / 2 - 1.0 if seed // 2 % 2 else -reach / 2
    shape = box(-width / 2, -height / 2, width / 2, height / 2)
    for i in range(count):
        x = -width / 2 + (i + 0.5) * width / count
        shape = shape.difference(box(x - slit / 2, first, x + slit / 2, first + reach))
    case = case_of(_with_shape(scene, shape), seed, {"NARROW_SLITS"})
    return replace(
        case, words=f"{case.words}, {count} slits of {slit:.2f} mm, {'open' if seed // 2 % 2 else 'enclosed'}"
    )


def joint(seed: int) -> Case:
    """Two parts flush side by side: a joint line of some hundredths of a millimetre."""
    rng = _chance("joint", seed)
    scene = good_scene("joint", seed, thickness_mm=(0.3, 4.0))
    height = float(rng.uniform(18.0, 45.0))
    one, two = (float(v) for v in rng.uniform(14.0, 40.0, 2))
    gap, step = float(rng.uniform(0.03, 0.12)), float(rng.uniform(0.0, 0.25)) * height * (seed % 2)
    left = box(-one - gap / 2, -height / 2, -gap / 2, height / 2)
    right = box(gap / 2, -height / 2 + step, two + gap / 2, height / 2)
    whole = _with_shape(scene, left)
    parts = (whole.parts[0], replace(whole.parts[0], polygon=right))
    line = LineString([(0.0, -height / 2 + step), (0.0, height / 2)]).buffer(gap / 2 + 0.01, cap_style="flat")
    part = parts[0]
    placed = affinity.translate(affinity.rotate(line, part.turn_deg, origin=(0.0, 0.0)), *part.position_mm)
    seen = Patch(polygon=placed, colour=(0.02, 0.02, 0.02), opacity=0.95)
    lines = tuple(replace(seen, on=i) for i in range(2))
    filled = replace(scene, parts=parts, patches=(replace(seen, on=None), *lines))
    case = case_of(filled, seed, {"PARTS_TOUCH"})
    return replace(case, asks=frozenset({"JOINT_UNDECIDED", "PARTS_TOUCH"}), words=f"{case.words}, gap {gap:.2f} mm")


def _band_of(part: Polygon, share: float, angle_deg: float) -> Polygon:
    """Return what of a part lies beyond a straight line that leaves about this share of it there."""
    turned = affinity.rotate(part, -angle_deg, origin=(0.0, 0.0))
    low, high = turned.bounds[0], turned.bounds[2]
    near, far = low, high
    for _ in range(30):
        middle = (near + far) / 2
        cut = turned.intersection(box(middle, -1e4, 1e4, 1e4)).area / turned.area
        near, far = (middle, far) if cut > share else (near, middle)
    piece = affinity.rotate(turned.intersection(box(near, -1e4, 1e4, 1e4)), angle_deg, origin=(0.0, 0.0))
    return max((g for g in shapely.get_parts(piece) if isinstance(g, Polygon)), key=lambda g: g.area)


def mirror(seed: int) -> Case:
    """Polished metal that mirrors the coloured sheet over part of its face."""
    rng = _chance("mirror", seed)
    scene = good_scene(
        "mirror", seed, finishes=("mirror",), metals=("copper", "gold", "nickel", "silver", "steel", "brass"),
        area_cm2=(6.0, 60.0), thickness_mm=(0.2, 4.0),
    )  # fmt: skip
    placed = scene.parts[0].placed()
    light = _sheet_light(scene) * np.array(scene.metal.reflectance) * float(rng.uniform(0.75, 0.95))
    soft = float(rng.choice([0.0, 0.15, 0.6, 2.0]))
    share = float(rng.uniform(0.15, 0.6))
    band = _band_of(placed, share, float(rng.uniform(0.0, 360.0)))
    patch = Patch(polygon=band.buffer(0.0), colour=tuple(light), opacity=0.97, softness_mm=soft, on=0)
    # The border on the outline's side is the part's own: the patch reaches beyond the part, and is cut to its face.
    patch = replace(patch, polygon=_reaching_out(band, placed))
    case = case_of(replace(scene, patches=(patch,)), seed, set())
    return replace(case, asks=frozenset(ASKED), words=f"{case.words}, {100 * share:.0f} % mirrored, soft {soft:g} mm")


def _reaching_out(band: Polygon, placed: Polygon) -> Polygon:
    """Grow a band beyond the part, but not over the rest of its face."""
    grown = band.buffer(6.0).difference(placed.difference(band).buffer(0.0)).buffer(0.0)
    pieces = [g for g in shapely.get_parts(grown) if isinstance(g, Polygon)]
    return max(pieces, key=lambda g: g.area)


def paint(seed: int) -> Case:
    """Blue stop-off, enamel or tape on the part: at its edge, or inside."""
    rng = _chance("paint", seed)
    scene = good_scene("paint", seed, area_cm2=(6.0, 60.0), thickness_mm=(0.1, 4.0))
    placed = scene.parts[0].placed()
    srgb = _any_blue(rng) if seed % 3 == 2 else PAINTS_SRGB[seed % len(PAINTS_SRGB)]
    light = tuple(np.array(linear(srgb)) * float(rng.uniform(0.85, 1.1)))
    if seed // 2 % 2:
        band = _reaching_out(_band_of(placed, float(rng.uniform(0.06, 0.4)), float(rng.uniform(0, 360))), placed)
        where = "at the edge"
    else:
        inside = placed.buffer(-2.0)
        middle = inside.representative_point() if not inside.is_empty else placed.representative_point()
        size = math.sqrt(placed.area) * float(rng.uniform(0.1, 0.25))
        blob = affinity.scale(Point(middle.x, middle.y).buffer(size), 1.0, float(rng.uniform(0.5, 1.0)))
        band, where = blob, "inside"
        kept = blob.intersection(inside if not inside.is_empty else placed)
        band = max((g for g in shapely.get_parts(kept) if isinstance(g, Polygon)), key=lambda g: g.area)
    patch = Patch(polygon=Polygon(band.exterior), colour=light, opacity=1.0, softness_mm=0.05, on=0)
    case = case_of(replace(scene, patches=(patch,)), seed, set())
    return replace(case, asks=frozenset(ASKED), words=f"{case.words}, paint {srgb} {where}")


def _any_blue(rng: np.random.Generator) -> tuple[int, int, int]:
    hue, saturation, value = (float(rng.uniform(*span)) for span in BLUES_HSV)
    red, green, blue = (round(255 * one) for one in hsv_to_rgb(hue / 360.0, saturation, value))
    return red, green, blue


def glare(seed: int) -> Case:
    """A lamp in the gloss of the printed sheet: a bright patch that touches the part."""
    rng = _chance("glare", seed)
    scene = good_scene("glare", seed, area_cm2=(4.0, 50.0), thickness_mm=(0.1, 3.0))
    placed = scene.parts[0].placed()
    at = placed.exterior.interpolate(float(rng.uniform(0.0, 1.0)), normalized=True)
    size = math.sqrt(placed.area) * float(rng.uniform(0.15, 0.4))
    blob = affinity.rotate(
        affinity.scale(at.buffer(size), 1.0, float(rng.uniform(0.4, 1.0))), float(rng.uniform(0, 180))
    )
    soft, gain = size * float(rng.choice([0.1, 0.25, 0.5])), float(rng.uniform(0.15, 0.9))
    field = box(*scene.sheet.field_mm)
    patch = Patch(polygon=blob.intersection(field), colour=(gain, gain, gain), opacity=0.0, softness_mm=soft, on=None)
    case = case_of(replace(scene, patches=(patch,)), seed, {"GLARE_AT_EDGE"})
    return replace(
        case, asks=frozenset(ASKED), words=f"{case.words}, glare {gain:.2f} of {size:.0f} mm, soft {soft:.1f} mm"
    )


def stray_light(seed: int) -> Case:
    """Light of the metal's colour on the sheet beside the part: a warm lamp, or a coloured wall in the gloss."""
    rng = _chance("stray light", seed)
    scene = good_scene(
        "stray light", seed, metals=("gold", "copper", "brass"), area_cm2=(4.0, 50.0), thickness_mm=(0.1, 3.0),
        fields=(("blue", "blue", "pale", "white")[seed % 4],),
    )  # fmt: skip
    placed = scene.parts[0].placed()
    at = placed.exterior.interpolate(float(rng.uniform(0.0, 1.0)), normalized=True)
    size = math.sqrt(placed.area) * float(rng.uniform(0.15, 0.6))
    blob = affinity.rotate(
        affinity.scale(at.buffer(size), 1.0, float(rng.uniform(0.4, 1.0))), float(rng.uniform(0.0, 180.0))
    )
    soft, gain = size * float(rng.choice([0.15, 0.3, 0.6])), float(rng.uniform(0.05, 0.8))
    lamp = bool(rng.random() < 0.5)  # a lamp lights the sheet's own colour; a gloss adds what it mirrors
    light = gain * np.array(scene.metal.reflectance) * (_sheet_light(scene) if lamp else 1.0)
    patch = Patch(
        polygon=blob.intersection(box(*scene.sheet.field_mm)), colour=tuple(light), opacity=0.0, softness_mm=soft
    )
    case = case_of(replace(scene, patches=(patch,)), seed, {"GLARE_AT_EDGE"})
    words = f"{case.words}, {'lamp' if lamp else 'gloss'} {gain:.2f} of {size:.0f} mm, soft {soft:.1f} mm"
    return replace(case, asks=frozenset(ASKED), words=words)


def too_large(seed: int) -> Case:
    """A part larger than the field: it covers the field and reaches into the marker frame."""
    rng = _chance("too_large", seed)
    scene = good_scene(
        "too_large",
        seed,
        layout=("A4-r1", "A5-r1", "small-r1")[seed % 3],
        area_cm2=(2.0, 14.0),
        thickness_mm=(0.1, 3.0),
    )
    left, top, right, bottom = scene.sheet.field_mm
    beyond = rng.uniform(0.2, 6.0, 4) * (rng.random(4) < 0.85)
    short = rng.uniform(0.0, 3.0, 4) * (beyond == 0.0)
    x0, y0 = left - beyond[0] + short[0], top - beyond[1] + short[1]
    x1, y1 = right + beyond[2] - short[2], bottom + beyond[3] - short[3]
    shape = box(x0, y0, x1, y1)
    if seed % 2:
        corner = 0.25 * min(x1 - x0, y1 - y0)
        shape = shape.buffer(-corner).buffer(corner)
    for _ in range(int(rng.integers(0, 4))):
        x, y = rng.uniform(left + 10, right - 10), rng.uniform(top + 10, bottom - 10)
        shape = shape.difference(Point(x, y).buffer(float(rng.uniform(1.5, 5.0))))
    shape = max((g for g in shapely.get_parts(shape) if isinstance(g, Polygon)), key=lambda g: g.area)
    part = ScenePart(polygon=shape, thickness_mm=scene.parts[0].thickness_mm)
    return case_of(replace(scene, parts=(part,)), seed, {"FIELD_COVERED"})


KINDS: dict[str, Draw] = {
    "slits": slits,
    "joint": joint,
    "mirror": mirror,
    "paint": paint,
    "glare": glare,
    "stray light": stray_light,
    "too-large": too_large,
}
