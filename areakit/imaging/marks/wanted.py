"""What a user may name as the scale mark, understood from one line of text."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace

from areakit.errors import RangeError
from areakit.imaging.marks.paper import SIZES
from areakit.units import parse, parse_with_tolerance

KNOWN = (
    "auto",
    "frame",
    *SIZES,
    "scan",
    "card",
    "coin:CODE",
    "coin:25.75 mm",
    "coin:eur-1@1200,800; coin:eur-2@400,300",
    "taps:x1,y1,x2,y2,100 mm",
    "ruler:x1,y1,x2,y2,100 mm",
    "chequer:9x7,30 mm",
    "chequer:9x7,30.02 ± 0.02 mm",
    "markers:6x6,4x5,37.5 mm,5 mm",
)
"""Every form of a mark's name, for help and for refusals."""

_BARE = {"auto", "frame", "scan", "card", *SIZES}
_DETAILED = {"coin", "taps", "ruler", "chequer", "markers"}
_AT = re.compile(r"^(.*?)\s*@\s*(\d+(?:\.\d+)?)\s*,\s*(\d+(?:\.\d+)?)\s*$", re.DOTALL)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """One mark: its kind, what was said of it, and where it was tapped. [px of the upright photo]

    ``more`` are the further coins of several.
    """

    kind: str
    detail: tuple[str, ...] = ()
    at_px: tuple[float, float] | None = None
    more: tuple[Wanted, ...] = ()


def read_mark(text: str) -> Wanted:
    """Return the mark that a text names: ``frame``, ``A4``, ``coin:eur-1``, ``coin:eur-1@1200,800``, or several coins.

    Raises
    ------
    RangeError
        If there is no such mark; of several, if one is no coin, or its place is not said.
    """
    first, *others = (_one_mark(one.strip()) for one in text.split(";"))
    if others and any(one.kind != "coin" or one.at_px is None for one in (first, *others)):
        raise RangeError(
            "Several marks are coins, each with its place in the photo.",
            remedy="Write them as coin:eur-1@1200,800; coin:eur-2@400,300, in pixels of the upright photo.",
        )
    return replace(first, more=tuple(others))


def _one_mark(text: str) -> Wanted:
    tapped = _AT.match(text)
    name = tapped.group(1) if tapped else text.strip()
    kind, colon, rest = name.partition(":")
    at_px = (float(tapped.group(2)), float(tapped.group(3))) if tapped else None
    pieces = tuple(piece.strip() for piece in rest.split(",")) if colon else ()
    good = (not colon and kind in _BARE) or (bool(rest.strip()) and kind in _DETAILED)
    if not good or (at_px and kind not in {"coin", "card"}):
        raise RangeError(f"{text!r} is no mark that areakit knows.", remedy=f"Choose one of {'; '.join(KNOWN)}.")
    return Wanted(kind=kind, detail=pieces, at_px=at_px)


def length_mm(text: str) -> float:
    """Return a positive length in millimetres.

    Raises
    ------
    RangeError
        If it is not above zero.
    """
    value = 1e3 * parse(text, "length")
    if not value > 0:
        raise RangeError(f"A length of {value:g} mm cannot be a scale.", remedy="Give a length above zero, as 100 mm.")
    return value


def measured_length_mm(text: str) -> tuple[float, float | None]:
    """Return a positive length and, where it was written with a ±, its standard uncertainty. [mm]

    The ± is the half-width of a rectangular distribution (JCGM 100:2008, 4.3.7), as for a thickness.

    Raises
    ------
    RangeError
        If it is not above zero, or its ± is as large.
    """
    value, tolerance = parse_with_tolerance(text, "length")
    if not value > 0 or (tolerance is not None and tolerance >= value):
        raise RangeError(f"A length of {text} cannot be a scale.", remedy="Give a length above zero, as 100 ± 0.1 mm.")
    return 1e3 * value, None if tolerance is None else 1e3 * tolerance / math.sqrt(3.0)


def wrong_form(wanted: Wanted, form: str) -> RangeError:
    """Return the refusal of a mark whose details are not as they should be."""
    said = ",".join(wanted.detail)
    return RangeError(f"{wanted.kind}:{said!r} cannot be understood.", remedy=f"Write it as {form}.")
