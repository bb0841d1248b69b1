"""Traps of the photo, the camera and the sheet."""

from __future__ import annotations

import io
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image
from shapely.geometry import Point, Polygon

from areakit.errors import MeasurementError
from areakit.imaging.outlines import find_outlines
from areakit.imaging.photo import read_photo
from areakit.synthetic import Scene, ScenePart, draw_scene, jpeg_bytes, render, render_linear, truth
from areakit.synthetic.projection import project, view_of
from areakit.synthetic.sensor import develop
from areakit.uncertainty import Measured
from calibration.studies.accuracy_scenes import entry_of
from calibration.studies.silent import Case, Draw

Bytes = npt.NDArray[np.uint8]
USUAL: dict[str, Any] = {
    "size_px": (2688, 2016),
    "tilt_deg": (0.0, 18.0),
    "blur_px": (0.6, 1.0),
    "fields": ("blue",),
    "finishes": ("matte", "brushed"),
}
"""What every trap starts from: a photo as the advice asks for it, at a size that one scene a second allows."""
SHEETS: tuple[dict[str, Any], ...] = (
    {"layout": "A4-r1", "area_cm2": (4.0, 90.0)},
    {"layout": "A5-r1", "area_cm2": (2.0, 40.0)},
    {"layout": "A4-r1", "area_cm2": (2.0, 30.0)},
    {"layout": "small-r1", "area_cm2": (1.5, 12.0), "f35_mm": 52.0},
)
FOCAL = {"FOCAL_LENGTH_DOUBTED", "FOCAL_LENGTH_UNCHECKED"}


def dice(kind: str, seed: int) -> np.random.Generator:
    """Return the source of chance of one case beyond its scene."""
    return np.random.default_rng([seed, 7, *kind.encode()])


def good_scene(kind: str, seed: int, **limits: Any) -> Scene:
    """Return a scene for a kind and a seed that is measured right without any trap; drawn anew until one is."""
    for attempt in range(20):
        rng = np.random.default_rng([seed, attempt, *kind.encode()])
        scene = draw_scene(rng, **{**USUAL, **SHEETS[seed % len(SHEETS)], **limits})
        if _measured_right(scene, seed):
            return scene
    raise RuntimeError(f"no good scene for {kind} {seed}")


def _measured_right(scene: Scene, seed: int) -> bool:
    entry, true = entry_of(scene, seed), truth(scene)[0].face_mm2
    photo = read_photo(jpeg_bytes(render(scene), scene))
    try:
        found = find_outlines(photo, thickness=entry.thickness, reading=entry.reading)
    except MeasurementError:
        return False
    areas = [part.outline.area for part in found.parts]
    return len(areas) == 1 and abs(areas[0].value - true) <= areas[0].expanded_uncertainty


def case_of(
    scene: Scene,
    seed: int,
    causes: set[str],
    *,
    photo: bytes | None = None,
    words: str = "",
    request: Mapping[str, Any] | None = None,
) -> Case:
    """Return the case of a scene with what a careful user enters: thickness and check lengths.

    The photo is that of the scene, where no changed one is given.
    """
    entry, facts, part = entry_of(scene, seed), truth(scene), scene.parts[0]
    metal = f"{scene.metal.name} {scene.metal.finish}"
    return Case(
        photo=as_jpeg(render(scene), scene) if photo is None else photo,
        request={"thickness": entry.thickness, "reading": entry.reading, **(request or {})},
        areas_mm2=tuple(fact.face_mm2 for fact in facts),
        causes=frozenset(causes),
        words=f"{metal}, {facts[0].face_mm2 / 100:.1f} cm2, {part.thickness_mm:.2f} mm, "
        f"tilt {scene.camera.tilt_deg:.0f}, {scene.layout}; {words}",
    )


def as_jpeg(pixels: Bytes, scene: Scene, *, quality: int | None = None, stated: bool = True) -> bytes:
    """Return a JPEG of a changed picture, with or without the focal length that the scene states."""
    camera = scene.camera if stated else replace(scene.camera, stated_f35_mm=None)
    chain = scene.chain if quality is None else replace(scene.chain, jpeg_quality=quality)
    return jpeg_bytes(np.ascontiguousarray(pixels), replace(scene, camera=camera, chain=chain))


def mirrored(seed: int) -> Case:
    """A picture that somebody flipped: no marker is one of the sheet's."""
    scene = good_scene("mirrored", seed)
    picture = render(scene)
    flipped = picture[:, ::-1] if seed % 3 else picture[::-1]
    named: dict[str, Any] = {"mark": "A4"} if seed % 4 == 0 and scene.layout == "A4-r1" else {}
    return case_of(scene, seed, {"MIRRORED"}, photo=as_jpeg(flipped, scene), request=named)


def motion_kernel(length_px: float, direction_deg: float) -> npt.NDArray[np.float32]:
    """Return the point spread of an even straight motion, by fine sampling."""
    reach = int(np.ceil(length_px / 2)) + 1
    kernel = np.zeros((2 * reach + 1,) * 2)
    toward = np.array([np.cos(np.radians(direction_deg)), np.sin(np.radians(direction_deg))])
    for place in np.linspace(-length_px / 2, length_px / 2, 400):
        x, y = place * toward + reach
        column, row = int(x), int(y)
        dx, dy = x - column, y - row
        kernel[row : row + 2, column : column + 2] += np.outer([1 - dy, dy], [1 - dx, dx])
    return np.asarray(kernel / kernel.sum(), dtype=np.float32)


def _moved(kind: str, seed: int, span_px: tuple[float, float], **limits: Any) -> Case:
    """A camera that moved along a straight line while the shutter was open."""
    scene, rng = good_scene(kind, seed, **limits), dice(kind, seed)
    length, direction = float(rng.uniform(*span_px)), float(rng.uniform(0.0, 180.0))
    light = render_linear(scene)
    light = np.asarray(cv2.filter2D(light, -1, motion_kernel(length, direction), borderType=cv2.BORDER_REPLICATE))
    photo = as_jpeg(develop(light, scene.chain, rng), scene)
    words = f"{length:.1f} px along {direction:.0f} deg"
    return case_of(scene, seed, {"MOTION_BLUR"}, photo=photo, words=words)


def motion(seed: int) -> Case:
    """9 to 15 px of motion."""
    return _moved("motion", seed, (9.0, 15.0), size_px=(4032, 3024))


def slight_motion(seed: int) -> Case:
    """2 to 9 px of motion, which much less tells of."""
    return _moved("slight_motion", seed, (2.0, 9.0))


def focal_wrong(seed: int) -> Case:
    """A focal length in the file that is not the lens's: digital zoom, another lens, a copied tag."""
    scene, rng = good_scene("focal_wrong", seed, thickness_mm=(2.0, 6.0)), dice("focal_wrong", seed)
    factor = float(np.exp(rng.uniform(np.log(1.15), np.log(2.0)))) ** (1 if seed % 3 else -1)
    stated = max(9, round(scene.camera.f35_mm / factor))
    scene = replace(scene, camera=replace(scene.camera, stated_f35_mm=stated))
    words = f"states {stated} mm, is {scene.camera.f35_mm:.0f} mm"
    return case_of(scene, seed, FOCAL, photo=as_jpeg(render(scene), scene), words=words)


def cropped(seed: int) -> Case:
    """A picture cut to the sheet by a program that kept the tags of the whole; half of them keep the shape too."""
    rng = dice("cropped", seed)
    scene = good_scene("cropped", seed, thickness_mm=(2.0, 6.0), size_px=(4032, 3024), f35_mm=26.0)
    factor = float(rng.uniform(1.3, 1.9))
    scene = replace(scene, camera=replace(scene.camera, distance_mm=factor * scene.camera.distance_mm))
    left, top, right, bottom = _ring_box(scene, margin=float(rng.uniform(0.02, 0.08)))
    if seed % 2 == 0:
        left, top, right, bottom = _shaped_as(4 / 3, (left, top, right, bottom))
    photo = as_jpeg(render(scene)[top:bottom, left:right], scene)
    return case_of(scene, seed, FOCAL, photo=photo, words=f"cut to {right - left} x {bottom - top} px")


Box = tuple[int, int, int, int]


def _ring_box(scene: Scene, *, margin: float) -> Box:
    """Return left, top, right, bottom of the ring in the picture, with a margin as a share of its width. [px]"""
    sheet, camera = scene.sheet, scene.camera
    rim = np.array([(0, 0), (sheet.width_mm, 0), (sheet.width_mm, sheet.height_mm), (0, sheet.height_mm)], dtype=float)
    seen = project(view_of(scene), rim)
    low, high = seen.min(axis=0), seen.max(axis=0)
    low, high = low - margin * (high - low)[0], high + margin * (high - low)[0]
    low, high = np.maximum(low, 0.0), np.minimum(high, [camera.width_px, camera.height_px])
    return int(low[0]), int(low[1]), int(high[0]), int(high[1])


def _shaped_as(ratio: float, box: Box) -> Box:
    """Return the box made higher or wider until its sides have a ratio."""
    left, top, right, bottom = box
    width, height = right - left, bottom - top
    if width < ratio * height:
        width = round(ratio * height)
    else:
        height = round(width / ratio)
    left, top = max(0, (left + right - width) // 2), max(0, (top + bottom - height) // 2)
    return left, top, left + width, top + height


def folded(seed: int) -> Case:
    """A sheet that was folded once for the pocket: a ridge or a valley of 1 to 2 mm."""
    scene, rng = good_scene("folded", seed), dice("folded", seed)
    depth = float(rng.uniform(1.0, 2.0)) * (1.0 if seed % 2 else -1.0)
    across = float(rng.choice([0.0, 90.0]) + rng.normal(0.0, 2.0))
    print_ = replace(scene.print, fold_mm=depth, fold_direction_deg=across, fold_offset_mm=float(rng.normal(0.0, 15.0)))
    scene = replace(scene, print=print_)
    causes = {"SCALE_RESIDUALS_HIGH", "FOCAL_LENGTH_DOUBTED"}  # its words name a sheet that is not flat
    return case_of(scene, seed, causes, photo=as_jpeg(render(scene), scene), words=f"{depth:+.1f} mm")


def panorama(seed: int) -> Case:
    """A picture that a phone put together from a sweep: a cylinder instead of a plane, and seams."""
    scene, rng = good_scene("panorama", seed), dice("panorama", seed)
    height, width = scene.camera.height_px, scene.camera.width_px
    bend = scene.camera.focal_px * float(rng.uniform(1.0, 4.0))
    x, y = np.meshgrid(np.arange(width, dtype=np.float32), np.arange(height, dtype=np.float32))
    angle = (x - width / 2) / bend
    from_x = bend * np.tan(angle) + width / 2
    from_y = (y - height / 2) / np.cos(angle) + height / 2
    seams = np.sort(rng.uniform(0.1, 0.9, 4)) * width
    slips = np.concatenate([[[0.0, 0.0]], np.cumsum(rng.normal(0.0, 1.0, (4, 2)), axis=0)])
    strip = np.searchsorted(seams, np.arange(width))
    from_x += slips[strip, 0].astype(np.float32)
    from_y += slips[strip, 1].astype(np.float32)
    picture = cv2.remap(render(scene), from_x.astype(np.float32), from_y.astype(np.float32), cv2.INTER_CUBIC)
    words = f"bend {bend / scene.camera.focal_px:.1f} f"
    return case_of(scene, seed, {"SCALE_RESIDUALS_HIGH"}, photo=as_jpeg(np.asarray(picture), scene), words=words)


def one_axis(seed: int) -> Case:
    """A print that is 2 to 4 % longer or shorter along one axis, and nobody measured its check lengths."""
    scene, rng = good_scene("one_axis", seed), dice("one_axis", seed)
    stretch = 1.0 + float(rng.uniform(0.02, 0.04)) * (1 if seed % 2 else -1)
    sizes = {"scale_x": stretch} if seed % 4 < 2 else {"scale_y": stretch}
    scene = replace(scene, print=replace(scene.print, **sizes))
    causes = {"PRINT_STRETCHED", "PRINTED_AT_OTHER_SIZE", "SHEET_UNVERIFIED"}  # the last: nobody measured the print
    words = f"{next(iter(sizes))} {stretch:.3f}"
    return case_of(scene, seed, causes, photo=as_jpeg(render(scene), scene), words=words, request={"reading": None})


def squashed_file(seed: int) -> Case:
    """A JPEG of quality 4 to 15; every third was saved again at a high quality."""
    scene, rng = good_scene("compressed", seed), dice("compressed", seed)
    quality = int(rng.integers(4, 16))
    photo = as_jpeg(render(scene), scene, quality=quality)
    again = seed % 3 == 2
    if again:
        with Image.open(io.BytesIO(photo)) as image:
            photo = as_jpeg(np.asarray(image.convert("RGB")), scene, quality=95)
    words = f"quality {quality}{', saved again' if again else ''}"
    return case_of(scene, seed, {"COMPRESSED"}, photo=photo, words=words)


def thumbnail(seed: int) -> Case:
    """A picture reduced to 320 to 800 px, as previews and messages hold it; every third was enlarged again."""
    scene, rng = good_scene("thumbnail", seed), dice("thumbnail", seed)
    longest, quality = int(rng.integers(320, 800)), int(rng.integers(50, 90))
    small = Image.fromarray(render(scene)).resize((longest, longest * 3 // 4), Image.Resampling.LANCZOS)
    again = seed % 3 == 2
    if again:
        file = io.BytesIO()
        small.save(file, format="JPEG", quality=quality)
        small = Image.open(file).resize((2400, 1800), Image.Resampling.BICUBIC)
    photo = as_jpeg(np.asarray(small), scene, quality=quality)
    words = f"{longest} px, quality {quality}{', enlarged' if again else ''}"
    return case_of(scene, seed, {"COMPRESSED", "LOW_RESOLUTION", "SLIGHT_BLUR"}, photo=photo, words=words)


COIN_MM, COIN_THICK_MM = 25.75, 2.2


def coin_among_discs(seed: int) -> Case:
    """A coin as the mark, nobody tapped it, and one to three other round things beside it are the parts."""
    rng = dice("coin", seed)
    places = [(85.0 + 30.0 * i, 60.0 + 60.0 * j) for i in range(0, 4, 1) for j in range(2)]
    chosen = [places[i] for i in rng.permutation([0, 1, 4, 5] if rng.random() < 0.5 else [2, 3, 6, 7])]
    count = int(rng.integers(2, 5))
    discs = [_disc(COIN_MM)] + [_round_part(rng) for _ in range(count - 1)]
    parts = tuple(
        ScenePart(polygon=shape, thickness_mm=COIN_THICK_MM, position_mm=place)
        for shape, place in zip(discs, chosen, strict=False)
    )
    scene = good_scene("coin", seed, layout="A4-r1", area_cm2=(4.0, 9.0), tilt_deg=(0.0, 4.0))
    camera = replace(scene.camera, look_offset_mm=(0.0, 0.0), distance_mm=190.0, roll_deg=0.0, f35_mm=35.0)
    camera = replace(camera, stated_f35_mm=35, width_px=2688, height_px=1792)
    scene = replace(scene, parts=parts, camera=camera)
    request = {
        "mark": f"coin:{COIN_MM} mm,{COIN_THICK_MM} mm",
        "reading": None,
        "thickness": Measured(value=COIN_THICK_MM, unit="mm", budget={"thickness as entered": 0.05}),
    }
    case = case_of(scene, seed, {"COIN_AMONG_OTHERS"}, photo=as_jpeg(render(scene), scene), request=request)
    return replace(case, areas_mm2=case.areas_mm2[1:], words=f"{count - 1} beside the coin, {case.words}")


def _disc(diameter_mm: float) -> Polygon:
    return Point(0, 0).buffer(diameter_mm / 2, quad_segs=128)


def _round_part(rng: np.random.Generator) -> Polygon:
    """Return a disc or a washer that is no coin of this size."""
    diameter = COIN_MM * float(rng.uniform(0.55, 0.9) if rng.random() < 0.5 else rng.uniform(1.1, 1.7))
    disc = _disc(diameter)
    return disc.difference(_disc(0.4 * diameter)) if rng.random() < 0.5 else disc


def squeezed(seed: int) -> Case:
    """A picture squeezed along one axis to 35 to 95 % by a web page or a program, without the lens's tag."""
    scene, rng = good_scene("squeezed", seed), dice("squeezed", seed)
    share = float(rng.uniform(0.35, 0.95))
    width, height = scene.camera.width_px, scene.camera.height_px
    size = (round(share * width), height) if seed % 2 else (width, round(share * height))
    picture = Image.fromarray(render(scene)).resize(size, Image.Resampling.LANCZOS)
    photo = as_jpeg(np.asarray(picture), scene, stated=False)
    request: dict[str, Any] = {"reading": None} if seed % 3 == 0 else {}
    words = f"{'width' if seed % 2 else 'height'} at {100 * share:.0f} %"
    return case_of(scene, seed, {"PRINT_STRETCHED", "SQUEEZED"}, photo=photo, words=words, request=request)


KINDS: dict[str, Draw] = {
    "coin among round things": coin_among_discs,
    "compressed": squashed_file,
    "cropped, tag kept": cropped,
    "focal length wrong": focal_wrong,
    "folded sheet": folded,
    "mirrored": mirrored,
    "motion blur": motion,
    "motion blur, slight": slight_motion,
    "panorama": panorama,
    "print stretched": one_axis,
    "squeezed": squeezed,
    "thumbnail": thumbnail,
}
