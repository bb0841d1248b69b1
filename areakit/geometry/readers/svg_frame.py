"""Lengths, view boxes and transforms of SVG 2 (chapters 4 and 8) as plain numbers and matrices."""

from __future__ import annotations

import math
import re

import numpy as np
import numpy.typing as npt

from areakit.errors import FileError

Matrix = npt.NDArray[np.float64]

PIXELS_PER_INCH = 96.0
"""CSS Values and Units, level 3: 1 in is 96 px."""

_MM = {"": 25.4 / 96.0, "px": 25.4 / 96.0, "in": 25.4, "cm": 10.0, "mm": 1.0, "q": 0.25, "pt": 25.4 / 72.0,
       "pc": 25.4 / 6.0}  # fmt: skip
_LENGTH = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([a-zA-Z%]*)\s*")
_CALL = re.compile(r"[\s,]*([a-zA-Z]+)\s*\(([^()]*)\)")
_SPLIT = re.compile(r"[\s,]+")


def length_mm(text: str) -> float | None:
    """Return a length with a physical unit in mm; None for px, no unit, or percent, which say nothing physical."""
    found = _LENGTH.fullmatch(text)
    if not found:
        raise _broken("length", text)
    unit = found.group(2).lower()
    if unit in {"", "px", "%"}:
        return None
    if unit not in _MM:
        raise _broken("length", text)
    return float(found.group(1)) * _MM[unit]


def user_length(text: str | None) -> float:
    """Return a length inside the drawing in user units (1 px each), zero where none is written."""
    if text is None:
        return 0.0
    found = _LENGTH.fullmatch(text)
    if not found or found.group(2).lower() not in _MM:
        raise _broken("length", text)
    return float(found.group(1)) * _MM[found.group(2).lower()] / _MM["px"]


def numbers(text: str) -> list[float]:
    """Return a list of numbers set apart by blanks or commas."""
    try:
        found = [float(piece) for piece in _SPLIT.split(text.strip()) if piece]
    except ValueError:
        raise _broken("list of numbers", text) from None
    if not all(math.isfinite(number) for number in found):
        raise _broken("list of numbers", text)
    return found


def view_box(text: str | None) -> tuple[float, float, float, float] | None:
    """Return x, y, width and height of a view box, None where there is none."""
    if text is None:
        return None
    found = numbers(text)
    if len(found) != 4 or found[2] <= 0.0 or found[3] <= 0.0:
        raise _broken("viewBox", text)
    return found[0], found[1], found[2], found[3]


def scales(box: tuple[float, float], size: tuple[float, float], aspect: str | None) -> tuple[float, float]:
    """Return the two scales from a view box to its viewport (8.2): equal ones unless preserveAspectRatio is none."""
    across, down = size[0] / box[0], size[1] / box[1]
    words = (aspect or "").split()
    if "none" in words:
        return across, down
    one = max(across, down) if "slice" in words else min(across, down)
    return one, one


def alignment(aspect: str | None) -> tuple[float, float]:
    """Return where a view box stands in a viewport of another shape: 0 left or top, 0.5 middle, 1 right or bottom."""
    places = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
    found = re.search(r"x(Min|Mid|Max)Y(Min|Mid|Max)", aspect or "")
    return (places[found.group(1)], places[found.group(2)]) if found else (0.5, 0.5)


def affine(*abcdef: float) -> Matrix:
    """Return the matrix that SVG writes as ``matrix(a b c d e f)``."""
    a, b, c, d, e, f = abcdef
    return np.array([[a, c, e], [b, d, f], [0.0, 0.0, 1.0]])


def stretch(frame: Matrix) -> float:
    """Return the largest factor by which a matrix lengthens anything; refuse one that is not finite."""
    if not np.isfinite(frame).all():
        raise FileError("A shape of the drawing has no finite place or size.", remedy="Export the drawing again.")
    return float(np.linalg.norm(frame[:2, :2], 2))


def transform(text: str | None) -> Matrix:
    """Return the matrix of a ``transform`` attribute; the leftmost call acts last."""
    product = np.eye(3)
    if not text:
        return product
    at = 0
    while at < len(text) and text[at:].strip(" \t\r\n,"):
        found = _CALL.match(text, at)
        if not found:
            raise _broken("transform", text)
        product = product @ _call(found.group(1), numbers(found.group(2)), text)
        at = found.end()
    return product


def _call(name: str, given: list[float], text: str) -> Matrix:
    if name == "matrix" and len(given) == 6:
        return affine(*given)
    if name == "translate" and len(given) in (1, 2):
        return affine(1, 0, 0, 1, given[0], given[1] if len(given) == 2 else 0.0)
    if name == "scale" and len(given) in (1, 2):
        return affine(given[0], 0, 0, given[-1], 0, 0)
    if name == "rotate" and len(given) in (1, 3):
        cos, sin = math.cos(math.radians(given[0])), math.sin(math.radians(given[0]))
        x, y = given[1:] if len(given) == 3 else (0.0, 0.0)
        return affine(1, 0, 0, 1, x, y) @ affine(cos, sin, -sin, cos, 0, 0) @ affine(1, 0, 0, 1, -x, -y)
    if name == "skewX" and len(given) == 1:
        return affine(1, 0, math.tan(math.radians(given[0])), 1, 0, 0)
    if name == "skewY" and len(given) == 1:
        return affine(1, math.tan(math.radians(given[0])), 0, 1, 0, 0)
    raise _broken("transform", text)


def _broken(what: str, text: str) -> FileError:
    return FileError(f"{text[:40]!r} is not a {what} of SVG.", remedy="Export the drawing again as SVG.")
