"""The type of printed pages: one open font that comes along, or the user's own; registered here and nowhere else.

The built-in fonts of PDF lack most letters beyond western Europe and print them as boxes, without a word.
"""

from __future__ import annotations

import hashlib
import io
import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import TYPE_CHECKING

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFont

from areakit.errors import FileError

if TYPE_CHECKING:
    from PIL.ImageFont import FreeTypeFont

LEFT_OUT = "[…]"
"""Stands where letters were left out."""
LEFT_OUT_WORDS = f"{LEFT_OUT}: letters that the font of this page lacks."
_SHIPPED = ("DejaVuSansCondensed", "DejaVuSansCondensed-Bold")
_BLANK = {" ", "\t", "\n"}
_JOINERS = {"\u200c", "\u200d"}
"""Keep two letters apart, or join them (Unicode, 23.2)."""
_SHAPED = ((0x0900, 0x109F), (0x1780, 0x17FF))
"""Scripts of South and South-East Asia, whose signs change with their neighbours."""
_CONTENTS: dict[str, bytes] = {}
"""Name of a registered font to its file."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Typeface:
    """Names of a regular and a bold font that are registered."""

    regular: str
    bold: str

    def printable(self, text: str) -> str:
        """Return text as this page can print it: signs that show nothing go, letters that it lacks become ``[…]``."""
        known: dict[int, int] = getattr(pdfmetrics.getFont(self.regular), "face").charToGlyph  # noqa: B009
        found = ""
        for letter in plain(text):
            lacks = letter not in _BLANK and (ord(letter) not in known or (_is_joined(letter) and not can_join()))
            if not lacks:
                found += letter
            elif not found.endswith(LEFT_OUT):
                found += LEFT_OUT
        return found


def plain(text: str) -> str:
    """Return text without signs that show nothing, letters and their accents put together where there is one for both.

    Control characters become blanks, and what turns the reading direction by force goes: it would show other words
    than were written.
    """
    composed = unicodedata.normalize("NFC", text)
    blanked = (" " if unicodedata.category(letter) == "Cc" and letter not in _BLANK else letter for letter in composed)
    return "".join(letter for letter in blanked if not _is_hidden(letter))


def _is_hidden(letter: str) -> bool:
    if letter in _JOINERS or unicodedata.bidirectional(letter) == "AN":  # signs before Arabic numbers show
        return False
    return unicodedata.category(letter) == "Cf" or "\ufe00" <= letter <= "\ufe0f"


def needs_shaping(text: str) -> bool:
    """Tell whether letters run from right to left, join, or carry marks, which PDF text does not do by itself."""
    return any(_is_joined(letter) or unicodedata.combining(letter) for letter in text)


def _is_joined(letter: str) -> bool:
    return unicodedata.bidirectional(letter) in {"R", "AL", "AN"} or any(a <= ord(letter) <= b for a, b in _SHAPED)


def can_join() -> bool:
    """Tell whether the library that joins and orders letters is there."""
    from PIL import features

    return bool(features.check("raqm"))


@lru_cache(maxsize=64)
def engine_font(name: str, size: float) -> FreeTypeFont:
    """Return a registered font for the text engine, which joins and orders letters; the size is in its dots."""
    from PIL import ImageFont

    return ImageFont.truetype(io.BytesIO(_CONTENTS[name]), size)


def typeface(font: Path | None = None) -> Typeface:
    """Return the typeface of printed pages: that which comes with areakit, or a TrueType file of the user's.

    Raises FileError if the file is no TrueType font that can be embedded.
    """
    if font is not None:
        name = "own-" + hashlib.sha256(str(font.resolve()).encode()).hexdigest()[:12]
        _register(name, font)
        return Typeface(regular=name, bold=name)
    for name in _SHIPPED:
        _register(name, files("areakit").joinpath(f"data/fonts/{name}.ttf"))
    return Typeface(regular=_SHIPPED[0], bold=_SHIPPED[1])


def _register(name: str, path: Path | Traversable) -> None:
    if name in _CONTENTS:
        return
    try:
        content = path.read_bytes()
        pdfmetrics.registerFont(TTFont(name, io.BytesIO(content)))
    except (TTFError, OSError) as error:
        why = str(error).splitlines()[0][:120] if str(error) else "no reason given"
        raise FileError(f"{path} cannot be used as a font: {why}.", remedy="Name a TrueType (.ttf) file.") from None
    _CONTENTS[name] = content
