"""Shapes as people write them: ``disk 30 mm ± 0.1 mm``, ``washer 16 x 8.4 x 1.6 mm``, ``disk 3 mm, at 10 5 mm``."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from areakit.errors import InputError, RangeError
from areakit.plural import counted
from areakit.uncertainty import Measured
from areakit.units import convert, parse_with_tolerance

# shape: names of its dimensions, in order; those in brackets may be left out.
SHAPES: dict[str, tuple[str, ...]] = {
    "disk": ("diameter",),
    "ring": ("outer diameter", "inner diameter", "[height]"),
    "rectangle": ("length", "width"),
    "square": ("side",),
    "hexagon": ("width across flats",),
    "polygon": ("width across flats",),
    "oval": ("length", "width"),
    "slot": ("length", "width"),
    "washer": ("outer diameter", "bore", "thickness"),
    "bar": ("length", "width", "thickness"),
    "tube": ("outer diameter", "inner diameter", "length"),
    "wire": ("diameter", "length"),
    "cylinder": ("diameter", "height"),
    "sphere": ("diameter",),
    "cap": ("base diameter", "height"),
    "cone": ("base diameter", "height", "[top diameter]"),
}
SOLIDS = frozenset({"washer", "bar", "tube", "wire", "cylinder", "sphere", "cap", "cone"})
"""Shapes that bring their thickness; the others lie in a plane."""
_OPTIONS = ("corner", "sides", "at", "count", "circle", "turn")
_CLAUSE = re.compile(r",\s*(?=[a-z])")
_TIMES = re.compile(r"\s*(?:\bx\b|×)\s*")
_UNIT = re.compile(r"[a-zµμ\"]+\s*$", re.IGNORECASE)
_LARGEST_MM = 10_000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ShapeText:
    """One written shape: its name, its dimensions [mm], and its options. A ring with its height is a short tube.

    ``untold`` names the dimensions that came without a tolerance. ``places`` are the centres of its copies. [mm]
    """

    name: str
    dimensions: tuple[Measured, ...]
    corner: Measured | None
    sides: int
    turn_deg: float
    places: tuple[tuple[float, float], ...]
    placed: bool
    untold: tuple[str, ...]


def read_shape(text: str, *, tag: str = "") -> ShapeText:
    """Return a written shape in mm.

    - ``text``: name, dimensions set apart by ``x`` (a unit may stand once, at the last), then options after commas:
      ``corner 3 mm``, ``sides 8``, ``at 10 5 mm``, ``count 4``, ``circle 40 mm`` (pitch circle), ``turn 30``.
    - ``tag``: put before the names of its budget shares, so that two shapes do not share their tolerances.

    Raises InputError if the shape is unknown, or has too few or too many dimensions; UnitError if a dimension is not
    one plain number and one unit of length; RangeError if a dimension is not above zero, or tolerances are not smaller
    than their dimension.
    """
    if len(text) > 300:
        raise InputError("The description of a shape is too long.", remedy="Write one shape at a time.")
    head, *clauses = _CLAUSE.split(text.strip())
    name, _, rest = head.partition(" ")
    name = name.lower()
    if name not in SHAPES:
        raise InputError(f"{name[:20]!r} is not a shape.", remedy=f"Choose one of {', '.join(SHAPES)}.")
    options = dict(_option(clause) for clause in clauses)
    label = f"{tag}{name} "
    names = SHAPES[name]
    dimensions, untold = _dimensions(rest, name, label)
    corner = _length(options["corner"], f"{label}corner radius")[0] if "corner" in options else None
    return ShapeText(
        name="tube" if name == "ring" and len(dimensions) == len(names) else name,
        dimensions=dimensions,
        corner=corner,
        sides=_whole(options.get("sides", "6"), (3, 360), "sides"),
        turn_deg=_number(options.get("turn", "0").removesuffix("deg"), "turn"),
        places=_places(options),
        placed="at" in options or "circle" in options,
        untold=tuple(f"the {names[i].strip('[]')} of the {name}" for i in untold),
    )


def _option(clause: str) -> tuple[str, str]:
    word, _, value = clause.strip().partition(" ")
    if word not in _OPTIONS:
        raise InputError(f"{clause[:30]!r} is not understood.", remedy=f"Options are {', '.join(_OPTIONS)}.")
    return word, value.strip()


def _dimensions(text: str, name: str, label: str) -> tuple[tuple[Measured, ...], list[int]]:
    names = SHAPES[name]
    pieces = _TIMES.split(text.strip()) if text.strip() else []
    needed = sum(not one.startswith("[") for one in names)
    if not needed <= len(pieces) <= len(names):
        wanted = " x ".join(names)
        raise InputError(
            f"A {name} needs {counted(needed, 'dimension')}, and it was given {len(pieces)}.",
            remedy=f"Write {name} {wanted}.",
        )
    unit = _UNIT.search(pieces[-1])
    whole = [piece if _UNIT.search(piece) or not unit else f"{piece} {unit.group().strip()}" for piece in pieces]
    read = [_length(piece, f"{label}{names[i].strip('[]')}") for i, piece in enumerate(whole)]
    return tuple(quantity for quantity, _ in read), [i for i, (_, told) in enumerate(read) if not told]


def _length(text: str, label: str) -> tuple[Measured, bool]:
    """Return one length [mm] with its tolerance as a rectangular share, and whether a tolerance was told."""
    metres, tolerance = parse_with_tolerance(text, "length")
    value = convert(metres, "m", "mm")
    if not 0.0 < value <= _LARGEST_MM:
        raise RangeError(
            f"The {label} of {value:g} mm is outside 0 to {_LARGEST_MM:g} mm.", remedy="Check the figure and its unit."
        )
    if tolerance is None:
        return Measured(value=value, unit="mm"), False
    half = convert(tolerance, "m", "mm")
    if half >= value:
        raise RangeError(
            f"The tolerance of the {label} (± {half:g} mm) is not smaller than the {label}.", remedy="Check both."
        )
    return Measured(value=value, unit="mm", budget={label: half / math.sqrt(3.0)}), True


def _places(options: dict[str, str]) -> tuple[tuple[float, float], ...]:
    """Return the centres of the copies: one at a point, or several on a pitch circle round it. [mm]"""
    count = _whole(options.get("count", "1"), (1, 1000), "count")
    x, y = _point(options["at"]) if "at" in options else (0.0, 0.0)
    if "circle" not in options:
        if count > 1:
            raise InputError(
                f"Where the {count} copies lie is not said.", remedy="Give the pitch circle, as in , circle 40 mm."
            )
        return ((x, y),)
    radius = _length(options["circle"], "pitch circle")[0].value / 2.0
    turns = [2.0 * math.pi * i / count for i in range(count)]
    return tuple((x + radius * math.cos(turn), y + radius * math.sin(turn)) for turn in turns)


def _point(text: str) -> tuple[float, float]:
    unit = _UNIT.search(text)
    pieces = text[: unit.start()].split() if unit else []
    if unit is None or len(pieces) != 2:
        raise InputError(f"{text[:30]!r} is not a place.", remedy="Write it as at 10 -5 mm.")
    factor = parse_with_tolerance(f"1 {unit.group().strip()}", "length")[0] * 1000.0
    x, y = (_number(piece, "place") * factor for piece in pieces)
    return x, y


def _whole(text: str, limits: tuple[int, int], what: str) -> int:
    low, high = limits
    if not text.isdecimal() or not low <= int(text[:6]) <= high or len(text) > 6:
        raise InputError(
            f"{text[:20]!r} is not a count of {what} from {low} to {high}.", remedy="Write a whole number."
        )
    return int(text)


def _number(text: str, what: str) -> float:
    try:
        number = float(text.replace(",", "."))
    except ValueError:
        number = math.nan
    if not math.isfinite(number):
        raise InputError(f"{text[:20]!r} is not a number for {what}.", remedy="Write a plain number.")
    return number
