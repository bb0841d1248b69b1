"""One row of the accuracy study: the scene, what was measured in it, and how far that is from the truth."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import asdict, dataclass, fields, replace
from math import isfinite, nan, sqrt
from pathlib import Path
from typing import Any, TypeVar

from areakit.uncertainty import COVERAGE_FACTOR

OUTLINE_FLAGS = frozenset(
    {
        "WEAK_EDGE",
        "OUTLINES_DIFFER",
        "GREY_ON_PALE",
        "LOOKS_UNDECIDED",
        "BESIDE_UNDECIDED",
        "NARROW_SLITS",
        "SMALL_HOLES",
        "HOLES_HIDDEN",
        "PART_LEFT_OUT",
        "PART_NOT_MEASURED",
        "PARTS_TOUCH",
        "LOW_RESOLUTION",
        "OVER_EXPOSED_PART",
        "SLIGHT_BLUR",
    }
)
"""Flags that tell a user to look at the outline. Not among them: those on light, shadow, tilt and the sheet itself."""
BURR = "edge of the part"
"""Name, in the budget, of what burr and rounding do to a real edge."""
GROSS = 3.0
"""Times the stated expanded uncertainty from which an error is gross."""


R = TypeVar("R", bound="Row")


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """Areas in cm2, lengths in mm, angles in degrees, errors in % of the truth, outline softness in px.

    ``asked`` counts the questions about the part; what is ``answered`` is measured after their true answers.
    """

    seed: int
    layout: str = ""
    width_px: int = 0
    height_px: int = 0
    shape_holes: int = 0
    metal: str = ""
    finish: str = ""
    brightness: float = nan
    card: int = 0
    field: str = ""
    good: int = 0
    gradient: float = nan
    contact: float = nan
    cast: float = nan
    veil: float = nan
    exposure: float = nan
    thickness_mm: float = nan
    tilt_deg: float = nan
    area_cm2: float = nan
    perimeter_mm: float = nan
    k1: float = nan
    blur_px: float = nan
    full_well: float = nan
    s_curve: float = nan
    sharpening: float = nan
    jpeg: int = 0
    scale_x: float = nan
    scale_y: float = nan
    bow_mm: float = nan
    code: str = ""
    entered_mm: float = nan
    refused: str = ""
    area_found_cm2: float = nan
    error: float = nan
    expanded: float = nan
    e_n: float = nan
    perimeter_error: float = nan
    perimeter_expanded: float = nan
    holes_found: int = -1
    parts_found: int = 0
    flags: str = ""
    budget: str = ""
    asked: int = 0
    answered_error: float = nan
    answered_expanded: float = nan
    answered_budget: str = ""
    answered_refused: str = ""
    seconds: float = nan
    box: float = nan
    squares: float = nan
    paper_10mg: float = nan
    paper_1mg: float = nan

    @property
    def measured(self) -> bool:
        return isfinite(self.error)

    @property
    def covered(self) -> bool:
        return abs(self.e_n) <= 1.0

    @property
    def shares(self) -> dict[str, float]:
        """Standard shares of the area's uncertainty by input. [%]"""
        pairs = (item.split("=") for item in self.budget.split(";") if item)
        return {name: float(share) for name, share in pairs}

    @property
    def covered_as_drawn(self) -> bool:
        """Whether the truth is covered without the share for burr, which drawn parts do not have."""
        drawn = sum(share**2 for name, share in self.shares.items() if name != BURR)
        return abs(self.error) <= COVERAGE_FACTOR * sqrt(drawn)

    @property
    def silent_gross(self) -> bool:
        """Wrong by far more than stated, and nothing told the user to look at the outline."""
        return self.measured and abs(self.e_n) > GROSS and not OUTLINE_FLAGS & set(self.flags.split(";"))

    @property
    def answered(self: R) -> R:
        """The row of somebody who answers what is asked."""
        if not self.asked:
            return self
        error, expanded = self.answered_error, self.answered_expanded
        return replace(
            self, error=error, expanded=expanded, e_n=error / expanded, budget=self.answered_budget,
            refused=self.answered_refused,
        )  # fmt: skip

    @property
    def crashed(self) -> bool:
        return self.refused.startswith("CRASH")


_KINDS = {"int": int, "float": float, "str": str}


def names_of(kind: type[Row]) -> list[str]:
    return [field.name for field in fields(kind)]


def read_rows(path: Path, kind: type[R] = Row) -> list[R]:  # type: ignore[assignment]
    """Return the rows of a CSV, in the order of their seeds; a line cut short by a stop is left out."""
    if not path.exists():
        return []
    with path.open(encoding="utf-8", newline="") as file:
        lines = [line for line in csv.DictReader(file) if None not in line.values()]
    rows = {row.seed: row for row in (_row(line, kind) for line in lines)}
    return [rows[seed] for seed in sorted(rows)]


def _row(line: dict[str, str], kind: type[R]) -> R:
    # A study made before a column came keeps the column's default.
    values: dict[str, Any] = {f.name: _KINDS[str(f.type)](line[f.name]) for f in fields(kind) if f.name in line}
    return kind(**values)


def write_rows(path: Path, rows: Iterable[Row], kind: type[Row] = Row) -> None:
    """Write all rows to a CSV, replacing it."""
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.DictWriter(file, names_of(kind), lineterminator="\n").writeheader()
    for row in rows:
        append_row(path, row)


def append_row(path: Path, row: Row) -> None:
    """Add one row to a CSV that has its header."""
    with path.open("a", encoding="utf-8", newline="") as file:
        csv.DictWriter(file, names_of(type(row)), lineterminator="\n").writerow(
            {name: _text(value) for name, value in asdict(row).items()}
        )


def _text(value: object) -> str:
    return f"{value:.6g}" if isinstance(value, float) else str(value)
