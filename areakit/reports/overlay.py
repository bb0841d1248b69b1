"""The photo with what was found drawn over it, to be looked at before a number is believed; it says whose it is."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw, ImageFont, features

from areakit.errors import FileError
from areakit.imaging.own_picture import DESCRIPTION, OWN_PICTURE
from areakit.output import write_whole
from areakit.reports.field_ruler import Field, draw_field
from areakit.reports.label_places import Named, Place, place_labels

Rings = Sequence[npt.NDArray[np.float64]]
Bytes = npt.NDArray[np.uint8]
Colour = tuple[int, int, int]
FONT = Path(__file__).resolve().parents[1] / "data" / "fonts" / "DejaVuSansCondensed.ttf"
LONGEST_PX = 2000
_FORMATS = {".jpg": "JPEG", ".jpeg": "JPEG", ".png": "PNG", ".webp": "WEBP", ".tif": "TIFF", ".tiff": "TIFF"}
OUTLINE = (214, 0, 108)
HOLE = (255, 140, 0)
LEFT_OUT = (205, 20, 20)
ASKED = (96, 32, 200)
REGION = (0, 92, 104)
INK = (20, 20, 24)
PAPER = (255, 255, 255)
SMALLER_TYPE = (1.0, 0.8, 0.65)
"""Sizes of type that are tried where labels find no place."""
LATIN_END = "\u0250"
"""Letters before this one are in the font (Unicode: Basic Latin to Latin Extended-B)."""
_PAD = (6, 5)


def own_mark() -> bytes:
    """Return the EXIF block of a picture drawn by areakit."""
    exif = Image.Exif()
    exif[DESCRIPTION] = OWN_PICTURE
    return exif.tobytes()


@dataclass(frozen=True, slots=True, kw_only=True)
class Labelled:
    """One thing to draw: its rings in pixels of the photo, outer first, and the lines of its label.

    A ``kind`` of "left out" is drawn dashed, and its lines say why; "asked" is a place at which somebody must decide;
    "region" is a region that somebody described, drawn dashed.
    """

    rings_px: Rings
    lines: tuple[str, ...]
    kind: Literal["part", "left out", "asked", "region"] = "part"

    @property
    def colour(self) -> Colour:
        """The colour of its outer edge and of its label's frame."""
        return {"part": OUTLINE, "left out": LEFT_OUT, "asked": ASKED, "region": REGION}[self.kind]


@dataclass(frozen=True, slots=True, kw_only=True)
class Overlay:
    """A drawn overlay: the picture, and for each label its place in it, None where it found none."""

    image: Image.Image
    parts: tuple[Labelled, ...]
    places: tuple[Place | None, ...]


def draw_overlay(pixels: Bytes, parts: Sequence[Labelled], caption: str, *, field: Field | None = None) -> Image.Image:
    """Return the photo, at most 2000 pixels long, with outlines, holes, labels and a caption strip below.

    With a ``field`` only the sheet is shown, with the field's edge and its millimetres along it.
    """
    return compose(pixels, parts, caption, field=field).image


def compose(pixels: Bytes, parts: Sequence[Labelled], caption: str, *, field: Field | None = None) -> Overlay:
    """Draw as `draw_overlay` does, and tell where everything went, in pixels of the picture."""
    height, width = pixels.shape[:2]
    box = (0, 0, width, height) if field is None else _box_around(field, parts, (width, height))
    factor = min(1.0, LONGEST_PX / max(box[2] - box[0], box[3] - box[1]))
    size = (max(1, round((box[2] - box[0]) * factor)), max(1, round((box[3] - box[1]) * factor)))
    image = _cut_out(pixels, box).resize(size, Image.Resampling.LANCZOS, reducing_gap=2.0)
    type_px = max(12, round(min(size) / 55))
    line = max(2, round(min(size) / 500))
    shifted = tuple(replace(part, rings_px=[_moved(ring, box, factor) for ring in part.rings_px]) for part in parts)
    draw = ImageDraw.Draw(image)
    taken: list[tuple[float, float, float, float]] = []
    if field is not None:
        here = field.moved(lambda points: _moved(points, box, factor))
        taken = draw_field(draw, here, ImageFont.truetype(str(FONT), round(0.85 * type_px)), line)
    for part in shifted:
        _draw_edges(draw, part, line)
    places, font = _placed(shifted, size, type_px, taken)
    for part, place in zip(shifted, places, strict=True):
        if place is not None:
            _draw_label(draw, part, place, font)
    homeless = [part.lines[0].split(":")[0] for part, place in zip(shifted, places, strict=True) if place is None]
    if homeless:
        caption += f" No room for the labels of {', '.join(homeless)}."
    caption = shown(caption, told=True)
    image = _with_caption(image, caption, ImageFont.truetype(str(FONT), type_px), type_px)
    return Overlay(image=image, parts=shifted, places=tuple(places))


def save_overlay(image: Image.Image, path: Path) -> None:
    """Write the picture with areakit's mark in its metadata, whole or not at all; the suffix chooses the format.

    Raises FileError if it cannot be written.
    """
    form = _FORMATS.get(path.suffix.lower())
    if form is None:
        raise FileError(
            f"The picture cannot be written to {path}: its name says no format.",
            remedy="Name a .jpg, .png, .webp or .tif file.",
        )
    stream = io.BytesIO()
    image.save(stream, form, quality=90, exif=own_mark())
    write_whole(path, stream.getvalue())


def _box_around(field: Field, parts: Sequence[Labelled], size: tuple[int, int]) -> tuple[int, int, int, int]:
    """Return the crop (left, top, right, bottom) that holds sheet and parts; it may reach beyond the photo.

    Around the field there is always room for its figures.
    """
    limit = np.array(size)
    shown = np.concatenate([field.shown_px, *(ring for part in parts for ring in part.rings_px)])
    low, high = np.maximum(shown.min(axis=0), 0), np.minimum(shown.max(axis=0), limit)
    room = 0.07 * float(np.max(np.ptp(field.edge_px, axis=0)))
    low = np.minimum(low, field.edge_px.min(axis=0) - room)
    high = np.maximum(high, field.edge_px.max(axis=0) + room)
    left, top = (int(v) for v in np.floor(low))
    right, bottom = (int(v) for v in np.ceil(high))
    return left, top, max(right, left + 1), max(bottom, top + 1)


def _cut_out(pixels: Bytes, box: tuple[int, int, int, int]) -> Image.Image:
    """Cut a box out of the photo; beyond the photo there is paper."""
    height, width = pixels.shape[:2]
    left, top, right, bottom = box
    low = max(left, 0), max(top, 0)
    inner = pixels[low[1] : min(bottom, height), low[0] : min(right, width)]
    if inner.shape[:2] == (bottom - top, right - left):
        return Image.fromarray(np.ascontiguousarray(inner))
    whole = Image.new("RGB", (right - left, bottom - top), PAPER)
    whole.paste(Image.fromarray(np.ascontiguousarray(inner)), (low[0] - left, low[1] - top))
    return whole


def _moved(points: npt.NDArray[np.float64], box: tuple[int, int, int, int], factor: float) -> npt.NDArray[np.float64]:
    """Bring pixels of the photo, shape (n, 2), to pixels of the picture."""
    return np.asarray((points - [box[0], box[1]] + 0.5) * factor - 0.5)


def _draw_edges(draw: ImageDraw.ImageDraw, part: Labelled, line: int) -> None:
    for i, ring in enumerate(part.rings_px):
        closed = np.concatenate([ring, ring[:1]])
        if part.kind not in ("left out", "region"):
            draw.line([(float(x), float(y)) for x, y in closed], HOLE if i else part.colour, line, "curve")
            continue
        for dash in _dashes(closed, 6.0 * line):
            draw.line(dash, part.colour, line + 1, "curve")


def _dashes(closed: npt.NDArray[np.float64], length_px: float) -> list[list[tuple[float, float]]]:
    """Cut a closed line into dashes of one length with gaps as long."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    count = max(2, 2 * round(float(along[-1]) / (2 * length_px)))
    ends = np.linspace(0.0, float(along[-1]), count + 1)
    dashes = []
    for start, stop in zip(ends[:-1:2], ends[1::2], strict=False):
        at = np.linspace(start, stop, 5)
        x, y = np.interp(at, along, closed[:, 0]), np.interp(at, along, closed[:, 1])
        dashes.append([(float(a), float(b)) for a, b in zip(x, y, strict=True)])
    return dashes


def _placed(
    parts: Sequence[Labelled], size: tuple[int, int], type_px: int, taken: list[tuple[float, float, float, float]]
) -> tuple[list[Place | None], ImageFont.FreeTypeFont]:
    """Find places for all labels, in smaller type if some find none."""
    places: list[Place | None] = []
    font = ImageFont.truetype(str(FONT), type_px)
    for share in SMALLER_TYPE:
        font = ImageFont.truetype(str(FONT), max(10, round(share * type_px)))
        named = [Named(rings_px=part.rings_px, size_px=_label_size(part.lines, font)) for part in parts]
        places = place_labels(named, size, taken=taken)
        if all(place is not None for place in places):
            break
    return places, font


def _text_box(lines: Sequence[str], font: ImageFont.FreeTypeFont) -> tuple[float, float, float, float]:
    draw = ImageDraw.Draw(Image.new("1", (1, 1)))
    return draw.multiline_textbbox((0, 0), "\n".join(lines), font=font, spacing=4, align="center")


def _label_size(lines: Sequence[str], font: ImageFont.FreeTypeFont) -> tuple[float, float]:
    left, top, right, bottom = _text_box(lines, font)
    return right - left + 2 * _PAD[0], bottom - top + 2 * _PAD[1]


def _draw_label(draw: ImageDraw.ImageDraw, part: Labelled, place: Place, font: ImageFont.FreeTypeFont) -> None:
    if place.leader is not None:
        draw.line(place.leader, PAPER, 4)
        draw.line(place.leader, part.colour, 2)
    draw.rounded_rectangle(place.box, radius=5, fill=PAPER, outline=part.colour)
    left, top, _, _ = _text_box(part.lines, font)
    at = (place.box[0] + _PAD[0] - left, place.box[1] + _PAD[1] - top)
    draw.multiline_text(at, "\n".join(part.lines), fill=INK, font=font, spacing=4, align="center")


def _with_caption(image: Image.Image, caption: str, font: ImageFont.FreeTypeFont, type_px: int) -> Image.Image:
    pad = type_px // 2
    lines = wrapped(caption, font, image.width - 2 * pad)
    strip = math.ceil(len(lines) * type_px * 1.35) + 2 * pad
    whole = Image.new("RGB", (image.width, image.height + strip), PAPER)
    whole.paste(image, (0, 0))
    draw = ImageDraw.Draw(whole)
    for i, text in enumerate(lines):
        draw.text((pad, image.height + pad + i * type_px * 1.35), text, fill=INK, font=font, direction=forward())
    return whole


def shown(text: str, *, told: bool = False) -> str:
    """Return text as the pictures' font draws it, ``[…]`` for letters that it lacks; with ``told`` saying so behind."""
    if all(letter < LATIN_END and letter.isprintable() for letter in text):
        return text
    from areakit.reports import fonts  # brings reportlab, which few photos need

    said = fonts.typeface().printable(text)
    cut = fonts.LEFT_OUT in said and fonts.LEFT_OUT not in text
    return f"{said} {fonts.LEFT_OUT_WORDS}" if told and cut else said


def forward() -> str | None:
    """Return the direction of lines that begin with a name: left to right, though the name may run leftwards."""
    return "ltr" if features.check("raqm") else None


def wrapped(text: str, font: ImageFont.FreeTypeFont, width_px: float) -> list[str]:
    """Break text into lines no wider than ``width_px``; a longer word stands alone."""
    lines: list[str] = []
    for paragraph in text.splitlines() or [""]:
        line = ""
        for word in paragraph.split():
            longer = f"{line} {word}".strip()
            if font.getlength(longer) > width_px and line:
                lines.append(line)
                line = word
            else:
                line = longer
        lines.append(line)
    return lines


def jpeg_bytes(pixels: Bytes, *, longest_px: int) -> bytes:
    """Return the picture, reduced to at most ``longest_px``, as the bytes of a JPEG file."""
    image = Image.fromarray(pixels)
    image.thumbnail((longest_px, longest_px), Image.Resampling.LANCZOS, reducing_gap=2.0)
    stream = io.BytesIO()
    image.save(stream, "JPEG", quality=88)
    return stream.getvalue()
