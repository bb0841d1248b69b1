"""What people type at the bench, turned into numbers in SI with their origin.

``±`` is read as it is printed: an expanded uncertainty, coverage factor 2.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from areakit.errors import InputError, RangeError, UnitError
from areakit.flags import Flag, flag
from areakit.geometry.bench_size import area_beyond_bench
from areakit.plating.premise import Origin, Premise, given
from areakit.plating.solutions import Solution, read_solutions
from areakit.records.area_lines import PartArea, numbered, read_part_areas
from areakit.uncertainty import COVERAGE_FACTOR, Measured, total
from areakit.units import check_tolerance, parse_with_tolerance, si_factor

BENCH_LIMIT = 1e15
SI_UNIT = {
    "length": "m",
    "area": "m2",
    "charge": "C",
    "current": "A",
    "voltage": "V",
    "time": "s",
    "mass": "kg",
    "volume": "m3",
    "volume per area": "m3/m2",
    "density": "kg/m3",
    "concentration": "g/L",
    "current density": "A/m2",
    "speed": "m/s",
    "conductivity": "S/m",
    "ratio": "1",
    "number": "1",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class AreaEntry:
    """The area of one piece in mm2, its origin, and what there is to say about it."""

    area: Measured
    origin: Origin
    flags: tuple[Flag, ...] = ()


def read_quantity(text: str, kind: str, name: str) -> Measured:
    """Return a number with its unit and, where written, its expanded uncertainty, in SI, shared under ``name``."""
    value, tolerance = parse_with_tolerance(text, kind)
    check_bench(value, tolerance or 0.0, text=text)
    return Measured(value=value, unit=SI_UNIT[kind], budget={name: (tolerance or 0.0) / COVERAGE_FACTOR})


def check_bench(*values: float, text: str) -> None:
    """Raise RangeError for SI values that no bench can mean: negative, or beyond fifteen powers of ten."""
    for value in values:
        if value < 0 or (value and not 1 / BENCH_LIMIT <= value <= BENCH_LIMIT):
            raise RangeError(
                f"{text.strip()!r} is {'negative' if value < 0 else 'beyond any bench'}.",
                remedy="Check the number and its unit.",
            )


def read_premise(text: str, kind: str, name: str) -> Premise:
    """Return an entered number as a premise."""
    return Premise(name=name, quantity=read_quantity(text, kind, name), origin=given())


def read_footprint_size(text: str) -> tuple[float, float]:
    """Return the footprint of a brush across and along the lanes, typed as ``20 x 10 mm``. [mm]

    UnitError, RangeError if these are not two lengths, each above zero.
    """
    pieces = [piece.strip() for piece in re.split(r"[x×]|\bby\b", text) if piece.strip()]
    if len(pieces) != 2:
        raise UnitError(
            f"{text[:40]!r} is not a brush footprint: it is not two lengths.",
            remedy="Write across by along the lanes, as 20 x 15 mm.",
        )
    unit = re.sub(r"^[\d\s.,/]+", "", pieces[1])
    first = pieces[0] if re.search(r"[a-zA-Z]", pieces[0]) else f"{pieces[0]} {unit}"
    across, along = (read_quantity(piece, "length", "footprint").value * 1e3 for piece in (first, pieces[1]))
    if not (across > 0 and along > 0):
        raise RangeError("The brush footprint has no size.", remedy="Write across by along the lanes, as 20 x 15 mm.")
    return across, along


def refuse_second_uncertainty(area_uncertainty: str | None) -> None:
    """Raise InputError where an uncertainty was typed for a measured area."""
    if area_uncertainty is not None:
        raise InputError(
            "A measured area has an uncertainty of its own.", remedy="Leave it out.", fields={"area_uncertainty": ""}
        )


def read_area(
    *, area: str | None, area_uncertainty: str | None, measured: str | None = None, part: int | None = None
) -> AreaEntry:
    """Return the area of one piece, typed or from the JSON that a measurement printed.

    InputError if there is none, if there are two, or if the chosen part is not there.
    """
    if (area is None) == (measured is None):
        raise InputError(
            "The plan needs one area." if area is None else "There are two areas, typed and measured.",
            remedy="Give the area, or a measured part.",
            fields={"area": "12.5 cm2", "from": ""},
        )
    if area is not None:
        if part is not None:
            raise InputError(
                "A part is one of a measurement, and the area was typed.", remedy="Leave it out.", fields={"part": ""}
            )
        return _typed_area(area, area_uncertainty)
    refuse_second_uncertainty(area_uncertainty)
    assert measured is not None
    parts = read_part_areas(measured)
    if part is not None:
        chosen = numbered(parts, part)
        return AreaEntry(area=chosen.area, origin=_measured([chosen], f"part {part}"), flags=chosen.flags)
    flags = [told for one in parts for told in one.flags]
    if len(parts) > 1:
        flags.append(flag("AREAS_ADDED", count=len(parts)))
    words = "its part" if len(parts) == 1 else f"sum of {len(parts)} parts"
    return AreaEntry(area=total([one.area for one in parts], "mm2"), origin=_measured(parts, words), flags=tuple(flags))


def _measured(parts: Sequence[PartArea], words: str) -> Origin:
    commands = " and ".join(dict.fromkeys(one.command for one in parts))
    return Origin(kind="measured", text=f"{commands}, {words}")


def _typed_area(text: str, uncertainty: str | None) -> AreaEntry:
    value, tolerance = parse_with_tolerance(text, "area")
    if uncertainty is not None:
        if tolerance is not None:
            raise InputError("The area has two uncertainties.", remedy="Give it once.")
        if uncertainty.strip().endswith("%"):
            tolerance = value * parse_with_tolerance(uncertainty, "ratio")[0]
        else:
            tolerance = parse_with_tolerance(uncertainty, "area")[0]
    typed = text if uncertainty is None else f"{text} ± {uncertainty}"
    check_bench(value, tolerance or 0.0, text=typed)
    check_tolerance(value, tolerance or 0.0, text=typed, kind="area")
    to_mm2 = 1.0 / si_factor("mm2")
    budget = {"area as entered": (tolerance or 0.0) * to_mm2 / COVERAGE_FACTOR}
    flags = [] if tolerance is not None else [flag("AREA_WITHOUT_UNCERTAINTY")]
    if area_beyond_bench(value * to_mm2):
        flags.append(flag("SIZE_BEYOND_BENCH", size=text.strip()))
    area = Measured(value=value * to_mm2, unit="mm2", budget=budget)
    return AreaEntry(area=area, origin=given(), flags=tuple(flags))


def choose_solution(name: str | None, text: str | None) -> Solution | None:
    """Return a solution of the user's file by its name; None where none was named."""
    if name is None:
        return None
    if text is None:
        raise InputError(
            f"The solution {name} was named, and there is no solutions file.",
            remedy="Name a file of solutions, or add the solution to your own.",
            fields={"solutions": "FILE", "areakit solution add": ""},
        )
    known = read_solutions(text)
    if name not in known:
        raise InputError(f"There is no solution {name!r}.", remedy=f"The file holds: {', '.join(known) or 'none'}.")
    return known[name]


def per_metal(entries: Mapping[str, str], metal: str) -> str | None:
    """Return what was entered for a metal, or for all of them under an empty name."""
    return entries.get(metal, entries.get(""))
