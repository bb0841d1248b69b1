"""Contact sheets: the overlays of many photos side by side, to be looked through before the numbers are believed."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

from areakit.imaging.own_picture import is_own_picture
from areakit.reports.overlay import FONT, INK, PAPER, forward, save_overlay, shown

ACROSS, DOWN = 5, 4
TILE_PX = (420, 330)
CAPTION_PX = 84
_TYPE_PX = 18
_GAP = 10
_REFUSED = (196, 30, 30)
_BLANK = (226, 226, 228)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tile:
    """One photo: its overlay's file, if any, its name, what it gave in a few words, and whether it was refused."""

    picture: Path | None
    name: str
    words: str
    refused: bool


def write_contact_sheets(tiles: Sequence[Tile], folder: Path) -> list[Path]:
    """Write ``contact-sheet-1.jpg`` and so on into a folder, twenty photos each, and remove sheets left from before.

    Raises FileError if they cannot be written.
    """
    written = []
    for number, sheet in enumerate(_sheets(tiles), start=1):
        path = folder / f"contact-sheet-{number}.jpg"
        save_overlay(sheet, path)
        written.append(path)
    for old in folder.glob("contact-sheet-*.jpg"):
        if old not in written and is_own_picture(old):
            old.unlink(missing_ok=True)
    return written


def _sheets(tiles: Sequence[Tile]) -> Iterator[Image.Image]:
    font = ImageFont.truetype(str(FONT), _TYPE_PX)
    many = ACROSS * DOWN
    for start in range(0, len(tiles), many):
        here = tiles[start : start + many]
        across, down = min(ACROSS, len(here)), -(-len(here) // ACROSS)
        step = (TILE_PX[0] + _GAP, TILE_PX[1] + CAPTION_PX + _GAP)
        sheet = Image.new("RGB", (across * step[0] + _GAP, down * step[1] + _GAP), PAPER)
        for i, tile in enumerate(here):
            place = (_GAP + (i % ACROSS) * step[0], _GAP + (i // ACROSS) * step[1])
            drawn = replace(tile, name=_name(tile.name, start + i + 1), words=shown(tile.words))
            _put(sheet, drawn, place, font)
        yield sheet


def _name(name: str, number: int) -> str:
    """Return the name of a photo, led by its number in the table where the font lacks letters of it."""
    said = shown(name)
    return said if said == name else f"photo {number}: {said}"


def _put(sheet: Image.Image, tile: Tile, place: tuple[int, int], font: ImageFont.FreeTypeFont) -> None:
    draw = ImageDraw.Draw(sheet)
    left, top = place
    width, height = TILE_PX
    small = _small(tile.picture)
    if small is None:
        draw.rectangle((left, top, left + width, top + height), fill=_BLANK)
        draw.text((left + width / 2, top + height / 2), "no picture", fill=INK, font=font, anchor="mm")
    else:
        sheet.paste(small, (left + (width - small.width) // 2, top + (height - small.height) // 2))
    if tile.refused:
        draw.rectangle((left, top, left + width, top + height), outline=_REFUSED, width=5)
    below = top + height + 4
    draw.text((left, below), _fitting(tile.name, font, width), fill=INK, font=font, direction=forward())
    colour = _REFUSED if tile.refused else INK
    first = _words_that_fit(tile.words, font, width)
    rest = _fitting(tile.words[len(first) :], font, width)
    draw.text((left, below + 1.4 * _TYPE_PX), f"{first.strip()}\n{rest}", fill=colour, font=font, spacing=3)


def _small(picture: Path | None) -> Image.Image | None:
    """Return the overlay at the size of a tile; None if it is gone or damaged."""
    if picture is None:
        return None
    try:
        with Image.open(picture, formats=["JPEG"]) as image:
            image.draft("RGB", TILE_PX)
            image.thumbnail(TILE_PX, Image.Resampling.LANCZOS)
            return image.convert("RGB")
    except (OSError, ValueError, SyntaxError):
        return None


def _words_that_fit(text: str, font: ImageFont.FreeTypeFont, width_px: int) -> str:
    """Return as many whole words from the start as fit on one line; none where the first is too long."""
    fits = ""
    for word in re.findall(r"\s*\S+", text):
        if font.getlength(fits + word) > width_px:
            break
        fits += word
    return fits


def _fitting(text: str, font: ImageFont.FreeTypeFont, width_px: int) -> str:
    """Return the text on one line, cut off with an ellipsis where it is too long."""
    plain = " ".join("".join(letter if letter.isprintable() else " " for letter in text).split())
    if font.getlength(plain) <= width_px:
        return plain
    while plain and font.getlength(plain + "…") > width_px:
        plain = plain[:-1]
    return plain + "…"
