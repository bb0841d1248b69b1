"""A user's own solutions, as their labels state them: read from TOML, checked field by field."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from math import sqrt
from typing import Any

from areakit.errors import InputError
from areakit.foreign_text import toml_from
from areakit.plating import efficiency
from areakit.plating.deposit import table_density
from areakit.plating.findings import Finding
from areakit.plating.metals import Bath, all_baths
from areakit.plating.process import all_cautions
from areakit.uncertainty import COVERAGE_FACTOR, Measured
from areakit.units import parse, parse_with_tolerance

Range = tuple[float, float]
_KEY = re.compile(r"[a-z0-9][a-z0-9-]{0,39}")
_LARGEST = 1e15
_MOST_TOLD = 8
FIELDS = {
    "metal": "the metal it deposits, such as gold",
    "bath": "the kind of bath, such as gold-cyanide; it sets electrons per ion, density and cautions",
    "title": "what the label calls it",
    "metal_content": "metal in solution, such as 8.2 g/L",
    "plating_factor": "such as 0.006 A.h/in2/0.0001in, 60 A.h/in3 or 2.2 A.min/dm2/um",
    "efficiency": "cathode efficiency in place of a plating factor, such as 72 % ± 6 %",
    "allowed_charge": "ampere-hours before discard, such as 5 A.h/L",
    "usable_fraction": "share of the metal that can be plated out, such as 30 %",
    "voltage": "such as 4 V to 10 V",
    "current_density": "such as 5 A/dm2 to 15 A/dm2",
    "speed": "speed of the tool, such as 8 m/min to 20 m/min",
    "anode": "soluble where the anodes of the tank are of the metal, else insoluble",
    "contains": "list of cautions it brings along, such as cyanide, acid, nickel, hexavalent-chromium, fluoride",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """One solution as labelled, in SI; None where the label is silent. ``plating_factor`` is in C/m3."""

    key: str
    metal: str
    bath: Bath
    title: str
    metal_content: float | None = None
    plating_factor: Measured | None = None
    efficiency: Measured | None = None
    allowed_charge: float | None = None
    usable_fraction: float | None = None
    voltage: Range | None = None
    current_density: Range | None = None
    speed: Range | None = None
    anode: str | None = None
    contains: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = field(default=())


def default_bath(metal: str, method: str | None = None) -> Bath:
    """Return the kind of bath taken for a metal when nobody names one: for a brush one of brush solutions, if any."""
    usual = {bath.metal: bath for bath in all_baths().values() if bath.usual}
    if method == "brush":
        usual |= {bath.metal: bath for bath in all_baths().values() if bath.usual_brush}
    if metal not in usual:
        raise InputError(f"There is no metal {metal!r}.", remedy=f"Known metals: {', '.join(usual)}.")
    return usual[metal]


def read_solutions(text: str) -> dict[str, Solution]:
    """Return every solution of a TOML text with one table ``[solutions.NAME]`` each.

    Raises InputError for text that is not TOML, or with one sentence for each wrong field.
    """
    try:
        tables = toml_from(text).get("solutions", {})
    except ValueError as error:
        raise InputError(
            f"The solutions file is not valid TOML: {error}.", remedy='Write key = "value" lines.'
        ) from None
    if not isinstance(tables, dict):
        raise InputError("The solutions file has no table of solutions.", remedy="Write [solutions.my-gold].")
    found: dict[str, Solution] = {}
    problems: list[str] = []
    for key, row in tables.items():
        if isinstance(row, dict):
            solution, wrong = solution_from(key, row)
            problems += wrong
            if solution is not None:
                found[key] = solution
        else:
            problems.append(f"{key}: a solution is a table, [solutions.{key}].")
    if problems:
        more = [f"And {len(problems) - _MOST_TOLD} more."] if len(problems) > _MOST_TOLD else []
        raise InputError(
            " ".join([*problems[:_MOST_TOLD], *more]),
            remedy=f"Correct {'this field' if len(problems) == 1 else 'these fields'}.",
        )
    return found


def solution_from(key: str, row: Mapping[str, Any]) -> tuple[Solution | None, list[str]]:
    """Return a solution and no problems, or None and one sentence for each wrong field."""
    reader = _Reader(key, row)
    if not _KEY.fullmatch(key):
        reader.complain("name", "use up to 40 small letters, digits and hyphens")
    for name in row:
        if name not in FIELDS:
            reader.complain(str(name), f"is not known; known fields are {', '.join(FIELDS)}")
    metal = reader.text("metal")
    bath = _bath_of(reader, metal)
    factor = reader.get("plating_factor", _factor)
    eta = reader.get("efficiency", _efficiency)
    values: dict[str, Any] = {
        "metal_content": reader.get("metal_content", lambda t: _positive(parse(t, "concentration"))),
        "allowed_charge": reader.get("allowed_charge", lambda t: _positive(parse(t, "charge per volume"))),
        "usable_fraction": reader.get("usable_fraction", lambda t: _share(parse(t, "ratio"))),
        "voltage": reader.get("voltage", lambda t: parse_range(t, "voltage")),
        "current_density": reader.get("current_density", lambda t: parse_range(t, "current density")),
        "speed": reader.get("speed", lambda t: parse_range(t, "speed")),
        "anode": reader.get("anode", _anode),
        "contains": _contains(reader),
    }
    if factor is not None and eta is not None:
        reader.complain("efficiency", "stands beside a plating factor; keep the one that the label states")
    findings = _judge(reader, bath, factor)
    if reader.problems or metal is None or bath is None:
        return None, reader.problems
    solution = Solution(
        key=key,
        metal=metal,
        bath=bath,
        title=str(row.get("title", key)),
        plating_factor=factor,
        efficiency=eta,
        findings=findings,
        **values,
    )
    return solution, []


class _Reader:
    """Reads the fields of one table and keeps one sentence for each that is wrong."""

    def __init__(self, key: str, row: Mapping[str, Any]) -> None:
        self.key, self.row = key, row
        self.problems: list[str] = []

    def complain(self, name: str, what: str) -> None:
        self.problems.append(f"{self.key}, {name}: {what.rstrip('.')}.")

    def text(self, name: str) -> str | None:
        value = self.row.get(name)
        if isinstance(value, str) and value.strip():
            return value.strip()
        self.complain(name, f"is missing; give {FIELDS[name]}")
        return None

    def get(self, name: str, read: Callable[[str], Any]) -> Any:
        value = self.row.get(name)
        if value is None:
            return None
        if not isinstance(value, str):
            self.complain(name, f"must be text with its unit, {FIELDS[name]}")
            return None
        try:
            return read(value)
        except InputError as error:
            self.complain(name, f"{error.message.rstrip('.')}; give it {FIELDS[name]}")
            return None


def _bath_of(reader: _Reader, metal: str | None) -> Bath | None:
    if metal is None:
        return None
    named = reader.row.get("bath")
    try:
        usual = default_bath(metal)
        bath = usual if named is None else all_baths()[str(named)]
    except InputError as error:
        reader.complain("metal", error.message + " " + error.remedy)
        return None
    except KeyError:
        fitting = [key for key, row in all_baths().items() if row.metal == metal]
        reader.complain("bath", f"{named!r} is not known; for {metal} there are {', '.join(fitting)}")
        return None
    if bath.metal != metal:
        reader.complain("bath", f"{named} deposits {bath.metal}, not {metal}")
        return None
    return bath


def _contains(reader: _Reader) -> tuple[str, ...]:
    names = reader.row.get("contains", [])
    if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
        reader.complain("contains", 'must be a list, such as ["cyanide"]')
        return ()
    for name in names:
        if name not in all_cautions():
            reader.complain("contains", f"{name!r} is not one of {', '.join(all_cautions())}")
    return tuple(names)


def read_factor(text: str) -> tuple[Measured, str | None]:
    """Return a plating factor [C/m3] with its half digit as uncertainty, and the unit code as written, if known."""
    value, tolerance = parse_with_tolerance(text, "plating factor")
    _positive(value)
    number = text.strip()
    digits = efficiency.half_digit(number)
    plain = _leading_number(number)
    standard = tolerance / COVERAGE_FACTOR if tolerance is not None else value * (digits / plain) / sqrt(3.0)
    unit = (
        re.sub(r"^[\d.,eE+\-\s]+", "", number).replace("·", ".").replace("²", "2").replace("³", "3").replace("µ", "u")
    )
    known = unit if unit in {"A.h/in3", "A.h/in2/0.0001in", "A.min/dm2/um"} else None
    return Measured(value=value, unit="C/m3", budget={"plating factor": standard}), known


def _factor(text: str) -> Measured:
    return read_factor(text)[0]


def _judge(reader: _Reader, bath: Bath | None, factor: Measured | None) -> tuple[Finding, ...]:
    if bath is None or factor is None:
        return ()
    unit = read_factor(str(reader.row["plating_factor"]))[1]
    finding = efficiency.judge_factor(bath, factor, density=table_density(bath).value, unit=unit)
    if finding is None:
        return ()
    if finding.severity == "stop":
        reader.complain("plating_factor", f"{finding.message.rstrip('.')}. {finding.remedy}")
    return (finding,)


def _leading_number(text: str) -> float:
    match = re.match(r"\s*(\d*[.,]?\d+(?:[eE][+-]?\d+)?)", text)
    return float(match.group(1).replace(",", ".")) if match else 1.0


def _efficiency(text: str) -> Measured:
    value, tolerance = parse_with_tolerance(text, "ratio")
    _share(value)
    return Measured(value=value, unit="1", budget={"efficiency": (tolerance or 0.0) / COVERAGE_FACTOR})


def _anode(text: str) -> str:
    if text not in ("soluble", "insoluble"):
        raise InputError(f"{text[:20]!r} is not known", remedy="Write soluble or insoluble.")
    return text


def _positive(value: float) -> float:
    if not 0 < value <= _LARGEST:
        raise InputError("it must be above zero and of this world", remedy="Check the figure.")
    return value


def _share(value: float) -> float:
    if not 0 < value <= 1:
        raise InputError(f"{value * 100:g} % is outside 0 to 100 %", remedy="Check the figure.")
    return value


def parse_range(text: str, kind: str) -> Range:
    """Return the two SI ends of ``4 V to 10 V`` or ``4 to 10 V``; one value stands for both ends."""
    pieces = re.split(r"\s+to\s+|\s*–\s*|\s*\.\.\s*", text.strip())
    if len(pieces) > 2:
        raise InputError(f"{text!r} is not a range.", remedy="Write it as 4 V to 10 V.")
    high = _positive(parse(pieces[-1], kind))
    if len(pieces) == 1:
        return high, high
    first = pieces[0]
    if re.fullmatch(r"[\d.,]+", first.strip()):
        unit = re.sub(r"^\s*[\d.,]+\s*", "", pieces[1])
        first = f"{first.strip()} {unit}"
    low = _positive(parse(first, kind))
    if low > high:
        raise InputError(f"{text!r} runs downwards.", remedy="Write the lower end first.")
    return low, high


def write_solution(key: str, row: Mapping[str, Any]) -> str:
    """Return one solution as TOML; InputError with one sentence for each wrong field."""
    _, problems = solution_from(key, row)
    if problems:
        raise InputError(" ".join(problems), remedy="Correct the label's values.")
    lines = [f"[solutions.{key}]"]
    lines += [f"{name} = {json.dumps(value, ensure_ascii=False)}" for name, value in row.items()]
    return "\n".join(lines) + "\n"
