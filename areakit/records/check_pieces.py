"""Pieces of known size with which the instrument is checked: coins, cards, washers, gauges."""

from __future__ import annotations

import csv
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from math import pi, sqrt
from typing import Any, Literal

from areakit.errors import InputError
from areakit.uncertainty import Measured, propagate

Shape = Literal["disc", "ring", "card", "rectangle"]
SIZES: Mapping[str, tuple[str, ...]] = {
    "disc": ("diameter",),
    "ring": ("diameter", "hole"),
    "card": ("width", "height", "corner"),
    "rectangle": ("width", "height"),
}
"""Shape to the sizes that make it. [mm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckPiece:
    """A piece of known size: its shape and sizes [mm] with their uncertainty, and where they come from."""

    key: str
    title: str
    shape: Shape
    sizes: Mapping[str, Measured]
    thickness_mm: float | None
    source: str

    def __post_init__(self) -> None:
        wanted = SIZES[self.shape]
        if set(self.sizes) != set(wanted):
            raise InputError(
                f"A {self.shape} is known by {', '.join(wanted)}.",
                remedy=f"Give {' and '.join('--' + w for w in wanted)}.",
            )
        if any(not size.value > 0 for name, size in self.sizes.items() if name != "corner"):
            raise InputError("A size of the check piece is not above zero.", remedy="Check its sizes.")
        if self.shape == "ring" and self.sizes["hole"].value >= self.sizes["diameter"].value:
            raise InputError(
                "The hole is as large as the ring.",
                remedy="Give both the right way round.",
                fields={"diameter": "", "hole": ""},
            )


def face_area(piece: CheckPiece) -> Measured:
    """Return the area of one face less its hole, with its uncertainty. [mm2] Closed forms."""
    sizes = [piece.sizes[name] for name in SIZES[piece.shape]]
    formulas: dict[Shape, Callable[..., Any]] = {
        "disc": lambda d: pi / 4 * d * d,
        "ring": lambda d, h: pi / 4 * (d * d - h * h),
        "card": lambda w, h, r: w * h - (4 - pi) * r * r,
        "rectangle": lambda w, h: w * h,
    }
    return propagate(formulas[piece.shape], *sizes, unit="mm2")


@cache
def known_pieces() -> dict[str, CheckPiece]:
    """Return the pieces that come with areakit, by key; limits of a size are taken as rectangular (JCGM 100, 4.3.7)."""
    text = files("areakit").joinpath("data/check_pieces.csv").read_text(encoding="utf-8")
    return {row["key"]: _piece(row) for row in csv.DictReader(text.splitlines())}


def _piece(row: Mapping[str, str]) -> CheckPiece:
    shape: Shape = "card" if row["shape"] == "card" else "disc"
    sizes = {}
    for name in SIZES[shape]:
        half = float(row["half_width_mm"]) if name != "corner" else float(row["corner_half_width_mm"])
        label = f"{row['key']} {name}"
        sizes[name] = Measured(value=float(row[f"{name}_mm"]), unit="mm", budget={label: half / sqrt(3.0)})
    return CheckPiece(
        key=row["key"],
        title=row["title"],
        shape=shape,
        sizes=sizes,
        thickness_mm=float(row["thickness_mm"]),
        source=row["source"],
    )


def known_piece(key: str) -> CheckPiece:
    """Return a piece by its key; InputError for another."""
    if key not in known_pieces():
        raise InputError(
            f"There is no check piece {key[:40]!r}.",
            remedy=f"Known: {', '.join(known_pieces())}; or give the shape and sizes of your own.",
            fields={"shape": ""},
        )
    return known_pieces()[key]
