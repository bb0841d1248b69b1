"""The photo with what was found drawn over it, to be looked at before a number is believed."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw, ImageFont

from areakit.errors import FileError
from areakit.output import write_whole
from areakit.reports.own_mark import own_mark

Rings = Sequence[npt.NDArray[np.float64]]
Bytes = npt.NDArray[np.uint8]

FONT = Path(__file__).resolve().parents[1] / "data" / "fonts" / "DejaVuSansCondensed.ttf"
LONGEST_PX = 2000
_FORMATS = {".jpg": "JPEG", ".jpeg": "JPEG", ".png": "PNG", ".webp": "WEBP", ".tif": "TIFF", ".tiff": "TIFF"}
OUTLINE = (214, 0, 108)
HOLE = (255, 140, 0)
INK = (20, 20, 24)
PAPER = (255, 255, 255)


@dataclass(frozen=True, slots=True, kw_only=True)
class Labelled:
    """One part to draw: its rings in pixels of the photo, outer first, and the lines of its label."""

    rings_px: Rings
    lines: tuple[str, ...]


def draw_overlay(pixels: Bytes, parts: Sequence[Labelled], caption: str) -> Image.Image:
    """Return the photo, at most 2000 pixels long, with outlines, holes, labels and a caption strip below."""
    height, width = pixels.shape[:2]
    factor = min(1.0, LONGEST_PX / max(height, width))
    size = (max(1, round(width * factor)), max(1, round(height * factor)))
    image = Image.fromarray(pixels).resize(size, Image.Resampling.LANCZOS, reducing_gap=2.0)
    draw = ImageDraw.Draw(image)
    type_px = max(12, round(min(size) / 55))
    font = ImageFont.truetype(str(FONT), type_px)
    line = max(2, round(min(size) / 500))
    for part in parts:
        for i, ring in enumerate(part.rings_px):
            scaled = (ring + 0.5) * factor - 0.5
            points = [(float(x), float(y)) for x, y in (*scaled, scaled[0])]
            draw.line(points, fill=HOLE if i else OUTLINE, width=line, joint="curve")
    crowded = len(parts) > 12
    for part in parts:
        low, high = (part.rings_px[0].min(axis=0) * factor, part.rings_px[0].max(axis=0) * factor)
        if crowded:
            _label(draw, ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2), part.lines, font, size)
        else:  # below the part, where it hides nothing of it
            _label(draw, ((low[0] + high[0]) / 2, high[1] + 2.2 * type_px), part.lines, font, size)
    return _with_caption(image, caption, font, type_px)


def save_overlay(image: Image.Image, path: Path) -> None:
    """Write the picture with areakit's mark in its metadata, whole or not at all; the suffix chooses the format.

    Raises
    ------
    FileError
        If it cannot be written.
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


def _label(
    draw: ImageDraw.ImageDraw,
    middle: tuple[float | np.float64, float | np.float64],
    lines: Sequence[str],
    font: ImageFont.FreeTypeFont,
    size: tuple[int, int],
) -> None:
    text = "\n".join(lines)
    left, top, right, bottom = draw.multiline_textbbox((0, 0), text, font=font, spacing=4, align="center")
    width, height = right - left, bottom - top
    x = min(max(middle[0] - width / 2, 8), size[0] - width - 8)  # the frame needs 6 px and its own line
    y = min(max(middle[1] - height / 2, 8), size[1] - height - 8)
    draw.rounded_rectangle((x - 6, y - 5, x + width + 6, y + height + 5), radius=5, fill=PAPER, outline=OUTLINE)
    draw.multiline_text((x - left, y - top), text, fill=INK, font=font, spacing=4, align="center")


def _with_caption(image: Image.Image, caption: str, font: ImageFont.FreeTypeFont, type_px: int) -> Image.Image:
    pad = type_px // 2
    lines = _wrapped(caption, font, image.width - 2 * pad)
    strip = math.ceil(len(lines) * type_px * 1.35) + 2 * pad
    whole = Image.new("RGB", (image.width, image.height + strip), PAPER)
    whole.paste(image, (0, 0))
    draw = ImageDraw.Draw(whole)
    for i, text in enumerate(lines):
        draw.text((pad, image.height + pad + i * type_px * 1.35), text, fill=INK, font=font)
    return whole


def _wrapped(text: str, font: ImageFont.FreeTypeFont, width_px: int) -> list[str]:
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
