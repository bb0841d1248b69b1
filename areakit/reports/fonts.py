"""The type of printed pages: one open font that comes along, or the user's own; registered here and nowhere else.

The built-in fonts of PDF lack most letters beyond western Europe and print them as boxes, without a word.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from importlib.resources import as_file, files
from pathlib import Path

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFont

from areakit.errors import FileError, InputError

_SHIPPED = ("DejaVuSansCondensed", "DejaVuSansCondensed-Bold")
_BLANK = {" ", "\t", "\n"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Typeface:
    """Names of a regular and a bold font that are registered."""

    regular: str
    bold: str

    def check(self, texts: Iterable[str]) -> None:
        """Refuse text with a letter that the font lacks; it would print as a box.

        Raises
        ------
        InputError
            Naming the first such letter.
        """
        known: dict[int, int] = getattr(pdfmetrics.getFont(self.regular), "face").charToGlyph  # noqa: B009
        for text in texts:
            for letter in text:
                if letter not in _BLANK and ord(letter) not in known:
                    raise InputError(
                        f"The font of this page has no sign for {letter!r} in {text[:40]!r}.",
                        remedy="Name a TrueType font that has it with --font.",
                    )


def typeface(font: Path | None = None) -> Typeface:
    """Return the typeface of printed pages: that which comes with areakit, or a TrueType file of the user's.

    Raises
    ------
    FileError
        If the file is no TrueType font that can be embedded.
    """
    if font is not None:
        name = "own-" + hashlib.sha256(str(font.resolve()).encode()).hexdigest()[:12]
        _register(name, font)
        return Typeface(regular=name, bold=name)
    for name in _SHIPPED:
        with as_file(files("areakit").joinpath(f"data/fonts/{name}.ttf")) as path:
            _register(name, path)
    return Typeface(regular=_SHIPPED[0], bold=_SHIPPED[1])


def _register(name: str, path: Path) -> None:
    if name in pdfmetrics.getRegisteredFontNames():
        return
    try:
        pdfmetrics.registerFont(TTFont(name, str(path)))
    except (TTFError, OSError) as error:
        why = str(error).splitlines()[0][:120] if str(error) else "no reason given"
        raise FileError(f"{path} cannot be used as a font: {why}.", remedy="Name a TrueType (.ttf) file.") from None
