"""A label for a bottle, 100 × 60 mm: what it holds, what is left in plain digits, until when it may be used."""

from __future__ import annotations

import io
from pathlib import Path

from reportlab.lib.units import mm
from reportlab.lib.utils import simpleSplit
from reportlab.pdfgen.canvas import Canvas

from areakit.output import write_whole
from areakit.plating.metals import all_baths
from areakit.records.bottles import Bottle
from areakit.reports.bench_words import rounded
from areakit.reports.fonts import LEFT_OUT, LEFT_OUT_WORDS, Typeface, typeface
from areakit.reports.lettering import draw_words, words_width
from areakit.uncertainty import Measured
from areakit.units import in_unit, pretty_unit

WIDTH_MM, HEIGHT_MM = 100.0, 60.0
_WARNINGS = {
    "cyanide": "CYANIDE: deadly gas with any acid",
    "hexavalent-chromium": "CHROMIUM(VI): causes cancer",
    "fluoride": "FLUORIDE: burns deep and late",
    "acid": "ACID: burns; keep from cyanide",
    "caustic": "CAUSTIC: burns",
    "nickel": "NICKEL: sensitises the skin",
    "cobalt": "COBALT: sensitises the skin",
    "palladium": "PALLADIUM: sensitises the skin",
    "platinum": "PLATINUM: sensitises the airways",
    "rhodium": "RHODIUM: irritates, may sensitise",
    "sulfur-dioxide": "SULFUR DIOXIDE with acid: chokes",
}
"""Caution of a bath to the words for it on a label, the worst first."""
_MOST_LINES = 3
_CAUTION = "See the safety data sheet. Never mix across labels."


def write_label(bottle: Bottle, target: Path, *, today: str, font: Path | None = None) -> None:
    """Write the label as PDF, dated ``today``.

    Raises FileError if the file cannot be written.
    """
    face = typeface(font)
    name, what = face.printable(bottle.label), face.printable(_what(bottle))
    buffer = io.BytesIO()
    canvas = Canvas(buffer, pagesize=(WIDTH_MM * mm, HEIGHT_MM * mm), invariant=1)
    canvas.setTitle(f"Bottle {name}")
    canvas.rect(1.5 * mm, 1.5 * mm, (WIDTH_MM - 3) * mm, (HEIGHT_MM - 3) * mm)
    _fit(canvas, " ".join([name, *_unfit(bottle, today)]), face.bold, 20, y=HEIGHT_MM - 11)
    _fit(canvas, what, face.regular, 10, y=HEIGHT_MM - 17)
    for row, (label, value) in enumerate(_lines(bottle, today)):
        y = HEIGHT_MM - 24.5 - 5.6 * row
        canvas.setFont(face.regular, 8)
        canvas.drawString(5 * mm, y * mm, label)
        _fit(canvas, value, face.bold, 11, y=y, left=33)
    _wrapped(canvas, _warning(bottle), face.bold)
    _foot(canvas, face, today)
    if LEFT_OUT in name + what and LEFT_OUT not in bottle.label + _what(bottle):
        canvas.setFont(face.regular, 4.5)
        canvas.drawString(5 * mm, 2.5 * mm, LEFT_OUT_WORDS)
    canvas.save()
    write_whole(target, buffer.getvalue())


def _warning(bottle: Bottle) -> str:
    """Return what bath and solution bring along, in words for a label; of a bath not named, what it may hold."""
    known = all_baths()
    if bottle.bath in known:
        keys = {*known[bottle.bath].contains, *bottle.contains}
        return "; ".join(words for key, words in _WARNINGS.items() if key in keys)
    may = set(bottle.contains) | {
        key for bath in known.values() if bath.metal == bottle.metal_name for key in bath.contains
    }
    words = "; ".join(words for key, words in _WARNINGS.items() if key in may)
    return f"Kind of bath not named. It may hold {words}" if words else ""


def _what(bottle: Bottle) -> str:
    metal = "" if bottle.solution == bottle.metal_name else bottle.metal_name
    lots = [one for one in (bottle.lot, *bottle.topped_up) if one]
    parts = [bottle.solution, metal, f"lot {' + '.join(lots)}" if lots else ""]
    return ", ".join(part for part in [*parts, "RECOVERED" if bottle.recovered else ""] if part)


def _unfit(bottle: Bottle, today: str) -> list[str]:
    """Return why the bottle must not be used, in capitals."""
    expired = bottle.expiry is not None and today > bottle.expiry
    return ["EXPIRED"] * expired + ["DISCARDED"] * bottle.discarded


def _lines(bottle: Bottle, today: str) -> list[tuple[str, str]]:
    metal = "not known" if bottle.metal is None else _plain(bottle.metal, "g")
    usable = "" if bottle.usable is None else f", {_to_plate(bottle.usable)} of it to plate"
    most = "at most " if bottle.metal is not None and bottle.metal_unknown else ""
    expired = " EXPIRED" if "EXPIRED" in _unfit(bottle, today) else ""
    return [
        ("charge left", _plain(bottle.charge_left, "A.h") if bottle.charge_left else "not limited by its label"),
        ("metal left", f"{most}{metal}{usable}"),
        ("volume", _plain(bottle.volume, "mL")),
        ("use until", f"{bottle.expiry}{expired}" if bottle.expiry else "no date given"),
    ]


def _to_plate(usable: Measured) -> str:
    return _plain(usable, "g") if usable.value > 0.0 else "none"


def _plain(quantity: Measured, unit: str) -> str:
    """Return a quantity without its ±, down to the first digit that this moves."""
    shown = in_unit(quantity, unit)
    return f"{rounded(shown.value, shown.expanded_uncertainty)} {pretty_unit(unit)}"


def _fit(canvas: Canvas, text: str, font: str, size: float, *, y: float, left: float = 5) -> None:
    """Write text, smaller where it would not fit."""
    room = (WIDTH_MM - left - 4) * mm
    size = min(size, size * room / max(words_width(text, font, size), 1e-6))
    draw_words(canvas, (left * mm, y * mm), text, font=font, size=size)


def _wrapped(canvas: Canvas, text: str, font: str) -> None:
    """Write the hazards in the largest type in which they take three lines at most."""
    room = (WIDTH_MM - 9) * mm
    for size in (8.5, 8.0, 7.5, 7.0, 6.5, 6.0, 5.5):
        lines = simpleSplit(text, font, size, room)
        if len(lines) <= _MOST_LINES:
            break
    canvas.setFont(font, size)
    for row, line in enumerate(lines):
        canvas.drawString(5 * mm, (14.6 - 3.1 * row) * mm, line)


def _foot(canvas: Canvas, face: Typeface, today: str) -> None:
    canvas.setFont(face.regular, 6.5)
    canvas.drawString(5 * mm, 4.5 * mm, _CAUTION)
    canvas.drawRightString((WIDTH_MM - 4) * mm, 4.5 * mm, f"as of {today}")
