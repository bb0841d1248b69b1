"""How evenly a brush plates, from a plated foil that is cut into a grid and weighed.

    python -m calibration.studies.grid_weighing weighings.csv --density 19.32 --sleeve-thickness 3 --passes 90

This is the measurement that settles the distribution of a hand and the build-up along edges, which a plan takes from
models (areakit.plating.scatter, areakit.plating.edges):

1. Rule a grid on a flat metal foil, say 90 x 45 mm in cells of 5 mm, 2.5 mm along the edges; weigh squares of the same
   sheet for its mass per area.
2. Lay it flush in a board, its edges sealed, and brush it by a plan: charge to run, volts, overlap, overrun. Count the
   passes; measure the wet sleeve's thickness under the anode with a feeler.
3. Rinse, dry, cut along the grid, weigh each piece to 0.01 mg or better.
4. One line a piece: ``x_mm,y_mm`` (its left lower corner), ``width_mm,height_mm`` (measured after cutting), ``gain_mg``
   (mass less that of the bare foil).

Printed are the local over the mean thickness, the allowance (mean over minimum), and the width of a strip that carries
the excess of the edges, beside 0.44 times the sleeve's thickness, which the primary limit says.
Plating uses hazardous solutions: follow safety data sheets, local codes and licensed practice.
"""

from __future__ import annotations

import argparse
import csv
import sys
from dataclasses import dataclass
from math import fsum, sqrt
from pathlib import Path

from areakit.errors import AreakitError, FileError, InputError
from areakit.plating.edges import excess_strip

COLUMNS = ("x_mm", "y_mm", "width_mm", "height_mm", "gain_mg")
INNER = 1.5
"""A piece whose middle lies further from the edge than this many sleeve thicknesses counts as inside: the primary
density there is within half a percent of that far away."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One piece of the foil. [mm, mg]"""

    x: float
    y: float
    width: float
    height: float
    gain: float

    @property
    def area(self) -> float:
        """Area of the piece. [mm2]"""
        return self.width * self.height


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """What the weighings say.

    Parameters
    ----------
    mean_um, minimum_um : float
        Thickness over all pieces, and of the thinnest. [um]
    inside_um : float
        Mean thickness far from edges. [um]
    inside_deviation : float
        Standard deviation of the pieces inside over their mean. [1]
    strip_mm : float
        Width of a strip at the thickness inside that carries the excess of the edges. [mm]
    """

    pieces: int
    mean_um: float
    minimum_um: float
    inside_um: float
    inside_deviation: float
    strip_mm: float

    @property
    def allowance(self) -> float:
        """Mean over minimum. [1]"""
        return self.mean_um / self.minimum_um


def read_pieces(path: Path) -> tuple[Piece, ...]:
    """Return the pieces of a CSV file; FileError or InputError for one that cannot be read."""
    try:
        rows = list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))
    except (OSError, UnicodeDecodeError) as error:
        raise FileError(f"{path} cannot be read: {error}.", remedy="Give a CSV file in UTF-8.") from None
    pieces = []
    for line, row in enumerate(rows, start=2):
        try:
            x, y, width, height, gain = (float(row[name]) for name in COLUMNS)
        except (KeyError, TypeError, ValueError):
            raise InputError(
                f"Line {line} of {path.name} lacks a number.", remedy=f"Give the columns {','.join(COLUMNS)}."
            ) from None
        if not (width > 0.0 and height > 0.0 and gain > 0.0):
            raise InputError(f"Line {line} of {path.name} holds no size or no gain.", remedy="Weigh the piece again.")
        pieces.append(Piece(x=x, y=y, width=width, height=height, gain=gain))
    return tuple(pieces)


def weighed(pieces: tuple[Piece, ...], *, density: float, sleeve_mm: float) -> Weighed:
    """Return what the weighings of a rectangular foil say.

    Parameters
    ----------
    density : float
        Of the deposit. [g/cm3]
    sleeve_mm : float
        Thickness of the wet sleeve. [mm]

    Raises
    ------
    InputError
        If fewer than four pieces lie far enough from the edges.
    """
    left, low = min(one.x for one in pieces), min(one.y for one in pieces)
    right, high = max(one.x + one.width for one in pieces), max(one.y + one.height for one in pieces)
    inside = [one for one in pieces if _from_edge(one, left, low, right, high) > INNER * sleeve_mm]
    if len(inside) < 4:
        raise InputError(
            f"{len(inside)} pieces lie more than {INNER:g} sleeve thicknesses from the edge.",
            remedy="Use a larger foil, or smaller cells.",
        )
    area, gain = fsum(one.area for one in pieces), fsum(one.gain for one in pieces)
    inner = fsum(one.gain for one in inside) / fsum(one.area for one in inside)
    spread = [one.gain / one.area / inner - 1.0 for one in inside]
    micrometres = 1e3 / density  # mg/mm2 over g/cm3
    return Weighed(
        pieces=len(pieces),
        mean_um=gain / area * micrometres,
        minimum_um=min(one.gain / one.area for one in pieces) * micrometres,
        inside_um=inner * micrometres,
        inside_deviation=sqrt(fsum(one * one for one in spread) / (len(spread) - 1)),
        strip_mm=(gain / inner - area) / (2.0 * (right - left + high - low)),
    )


def _from_edge(one: Piece, left: float, low: float, right: float, high: float) -> float:
    x, y = one.x + one.width / 2.0, one.y + one.height / 2.0
    return min(x - left, right - x, y - low, high - y)


def main() -> int:
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("weighings", type=Path)
    ask.add_argument("--density", type=float, required=True, help="of the deposit, in g/cm3")
    ask.add_argument("--sleeve-thickness", type=float, required=True, help="wet, in mm")
    ask.add_argument("--passes", type=float, help="how many were counted")
    given = ask.parse_args()
    try:
        found = weighed(read_pieces(given.weighings), density=given.density, sleeve_mm=given.sleeve_thickness)
    except AreakitError as error:
        print(f"{error} {error.remedy}", file=sys.stderr)
        return error.exit_code
    model = excess_strip(thickness=given.sleeve_thickness)
    print(f"{found.pieces} pieces" + (f", {given.passes:g} passes" if given.passes else ""))
    print(f"mean {found.mean_um:.4g} µm, minimum {found.minimum_um:.4g} µm, allowance {found.allowance:.3f}")
    print(f"inside {found.inside_um:.4g} µm, pieces there scatter by {100 * found.inside_deviation:.2g} %")
    print(f"edges: like a strip of {found.strip_mm:.3g} mm; the primary limit says {model:.3g} mm")
    return 0


if __name__ == "__main__":
    sys.exit(main())
