"""A label for a bottle, 100 × 60 mm: what it holds, what is left with its uncertainty, until when it may be used."""

from __future__ import annotations

import io
from pathlib import Path

from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

from areakit.output import write_whole
from areakit.plating.metals import all_baths
from areakit.records.bottle_json import metal_words
from areakit.records.bottles import Bottle
from areakit.reports.fonts import Typeface, typeface
from areakit.units import show

WIDTH_MM, HEIGHT_MM = 100.0, 60.0
_WARNINGS = {
    "cyanide": "CYANIDE: deadly gas with any acid",
    "hexavalent-chromium": "CHROMIUM(VI): causes cancer",
    "fluoride": "FLUORIDE: burns deep and late",
    "acid": "ACID: burns; keep from cyanide",
    "caustic": "CAUSTIC: burns",
    "nickel": "NICKEL: sensitises the skin",
}
"""Caution of a bath to the words for it on a label, the worst first."""
_CAUTION = "See the safety data sheet. Never mix across labels."


def write_label(bottle: Bottle, target: Path, *, today: str, font: Path | None = None) -> None:
    """Write the label as PDF, dated ``today``.

    Raises
    ------
    FileError
        If the file cannot be written.
    InputError
        If the font has no sign for a letter.
    """
    face = typeface(font)
    lines = _lines(bottle)
    face.check([bottle.label, *(text for pair in lines for text in pair)])
    buffer = io.BytesIO()
    canvas = Canvas(buffer, pagesize=(WIDTH_MM * mm, HEIGHT_MM * mm), invariant=1)
    canvas.setTitle(f"Bottle {bottle.label}")
    canvas.rect(1.5 * mm, 1.5 * mm, (WIDTH_MM - 3) * mm, (HEIGHT_MM - 3) * mm)
    _fit(canvas, bottle.label, face.bold, 20, y=HEIGHT_MM - 11)
    _fit(canvas, _what(bottle), face.regular, 10, y=HEIGHT_MM - 17)
    for row, (label, value) in enumerate(lines):
        y = HEIGHT_MM - 24.5 - 5.6 * row
        canvas.setFont(face.regular, 8)
        canvas.drawString(5 * mm, y * mm, label)
        _fit(canvas, value, face.bold, 11, y=y, left=33)
    _fit(canvas, _warning(bottle), face.bold, 8.5, y=13)
    _foot(canvas, face, today)
    canvas.save()
    write_whole(target, buffer.getvalue())


def _warning(bottle: Bottle) -> str:
    """Return what the bath brings along, in words for a label; of a bath that is not named, what it may hold."""
    known = all_baths()
    if bottle.bath in known:
        return "; ".join(_WARNINGS[key] for key in known[bottle.bath].contains if key in _WARNINGS)
    may = {key for bath in known.values() if bath.metal == bottle.metal_name for key in bath.contains}
    words = "; ".join(words for key, words in _WARNINGS.items() if key in may)
    return f"Kind of bath not named. It may hold {words}" if words else ""


def _what(bottle: Bottle) -> str:
    metal = "" if bottle.solution == bottle.metal_name else bottle.metal_name
    parts = [bottle.solution, metal, f"lot {bottle.lot}" if bottle.lot else ""]
    return ", ".join(part for part in [*parts, "RECOVERED" if bottle.recovered else ""] if part)


def _lines(bottle: Bottle) -> list[tuple[str, str]]:
    charge = show(bottle.charge_left, "A.h") if bottle.charge_left else "not limited by its label"
    return [
        ("charge left", charge),
        ("metal left", metal_words(bottle, "g")),
        ("volume", show(bottle.volume, "mL")),
        ("use until", bottle.expiry or "no date given"),
    ]


def _fit(canvas: Canvas, text: str, font: str, size: float, *, y: float, left: float = 5) -> None:
    """Write text, smaller where it would not fit."""
    room = (WIDTH_MM - left - 4) * mm
    size = min(size, size * room / max(stringWidth(text, font, size), 1e-6))
    canvas.setFont(font, size)
    canvas.drawString(left * mm, y * mm, text)


def _foot(canvas: Canvas, face: Typeface, today: str) -> None:
    canvas.setFont(face.regular, 6.5)
    canvas.drawString(5 * mm, 8.5 * mm, "± is the expanded uncertainty, coverage factor 2.")
    canvas.drawString(5 * mm, 4.5 * mm, _CAUTION)
    canvas.drawRightString((WIDTH_MM - 4) * mm, 4.5 * mm, f"as of {today}")
