"""What the rows of the accuracy study say: figures of groups, aims, hand methods."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from math import nan, sqrt

import numpy as np

from calibration.studies.accuracy_rows import Row

FEWEST_FOR_A_VERDICT = 20
"""A stratum with fewer measured scenes is shown, but not judged."""
Choice = Callable[[Row], bool]


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """Of one group of scenes: counts, and errors of the area in %."""

    scenes: int
    refused: int
    measured: int
    covered: float
    covered_as_drawn: float
    bias: float
    median: float
    spread: float
    p95: float
    usual_expanded: float
    silent: int

    @property
    def bias_spread(self) -> float:
        """Standard error of the bias."""
        return self.spread / sqrt(self.measured) if self.measured else nan

    @property
    def covered_spread(self) -> float:
        """Standard error of the coverage (binomial). [%]"""
        share = self.covered / 100.0
        return 100.0 * sqrt(share * (1.0 - share) / self.measured) if self.measured else nan


@dataclass(frozen=True, slots=True, kw_only=True)
class Aim:
    """One aim: what is asked, the limits, what came out; ``low`` is -inf where there is only an upper limit."""

    words: str
    low: float
    high: float
    value: float
    scenes: int

    @property
    def met(self) -> bool:
        return self.low <= self.value <= self.high

    @property
    def missed_by(self) -> float:
        """How far the value lies outside the limits; 0 where the aim is met."""
        return max(self.low - self.value, self.value - self.high, 0.0)


def figures(rows: Iterable[Row]) -> Figures:
    """Return the figures of a group of rows; those of no measured row are not numbers."""
    all_rows = list(rows)
    measured = [row for row in all_rows if row.measured]
    errors = np.array([row.error for row in measured])
    some = len(measured) > 0
    return Figures(
        scenes=len(all_rows),
        refused=len(all_rows) - len(measured),
        measured=len(measured),
        covered=100.0 * float(np.mean([row.covered for row in measured])) if some else nan,
        covered_as_drawn=100.0 * float(np.mean([row.covered_as_drawn for row in measured])) if some else nan,
        bias=float(errors.mean()) if some else nan,
        median=float(np.median(errors)) if some else nan,
        spread=float(errors.std(ddof=1)) if len(measured) > 1 else nan,
        p95=float(np.quantile(np.abs(errors), 0.95)) if some else nan,
        usual_expanded=float(np.median([row.expanded for row in measured])) if some else nan,
        silent=sum(row.silent_gross for row in measured),
    )


def _between(low: float, high: float, of: Callable[[Row], float]) -> Choice:
    return lambda row: low <= of(row) < high


def _area(row: Row) -> float:
    return row.area_cm2


def _thickness(row: Row) -> float:
    return row.thickness_mm


def _tilt(row: Row) -> float:
    return row.tilt_deg


STRATA: dict[str, dict[str, Choice]] = {
    "size": {
        "under 7 cm²": _between(0.0, 7.0, _area),
        "7 to 20 cm²": _between(7.0, 20.0, _area),
        "20 to 50 cm²": _between(20.0, 50.0, _area),
        "50 cm² and more": _between(50.0, 1e9, _area),
    },
    "thickness": {
        "to 0.1 mm": _between(0.0, 0.1, _thickness),
        "0.1 to 0.3 mm": _between(0.1, 0.3, _thickness),
        "0.3 to 1 mm": _between(0.3, 1.0, _thickness),
        "1 to 2 mm": _between(1.0, 2.0, _thickness),
        "2 to 4 mm": _between(2.0, 4.0, _thickness),
        "4 to 6 mm": _between(4.0, 6.01, _thickness),
    },
    "tilt": {
        "to 10°": _between(0.0, 10.0, _tilt),
        "10 to 20°": _between(10.0, 20.0, _tilt),
        "20 to 30°": _between(20.0, 30.0, _tilt),
        "30 to 35°": _between(30.0, 90.0, _tilt),
    },
}


def strata(rows: Sequence[Row], *, also: Sequence[str] = ()) -> dict[str, dict[str, list[Row]]]:
    """Return the rows by kind of stratum and stratum; ``also`` are further columns of the rows to group by."""
    found = {
        kind: {name: [row for row in rows if chosen(row)] for name, chosen in choices.items()}
        for kind, choices in STRATA.items()
    }
    for kind in (*also, "field", "finish", "metal", "layout"):
        names = sorted({getattr(row, kind) for row in rows})
        found[kind] = {name: [row for row in rows if getattr(row, kind) == name] for name in names}
    return found


def aims(rows: Sequence[Row]) -> list[Aim]:
    """Return every aim with what came out."""
    large = figures(row for row in rows if row.area_cm2 >= 50.0 and row.thickness_mm <= 0.3)
    middle = figures(row for row in rows if 7.0 <= row.area_cm2 < 50.0)
    thick = figures(row for row in rows if 4.0 <= row.thickness_mm <= 6.0)
    whole = figures(rows)
    good = [row for row in rows if row.good]
    worst, lowest = _worst_coverage(rows)
    silent = 100.0 * whole.silent / whole.scenes
    refused = 100.0 * sum(not row.measured for row in good) / len(good) if good else nan
    low = -float("inf")
    asked = (
        ("50 cm² and more, to 0.3 mm thick: bias, %", -0.1, 0.1, large.bias, large.measured),
        ("the same: 95 % of errors within, %", low, 0.3, large.p95, large.measured),
        ("7 to 50 cm²: 95 % of errors within, %", low, 0.7, middle.p95, middle.measured),
        ("4 to 6 mm thick: bias, %", -0.3, 0.3, thick.bias, thick.measured),
        ("truth within the stated uncertainty, % of all", 93.0, 97.0, whole.covered, whole.measured),
        (
            "the same, without the share for burr, which drawn parts do not have, %",
            93.0,
            97.0,
            whole.covered_as_drawn,
            whole.measured,
        ),
        (f"truth within the stated uncertainty, worst stratum ({worst}), %", 90.0, 100.0, lowest, whole.measured),
        ("gross errors without a word, % of scenes", low, 0.5, silent, whole.scenes),
        ("good scenes refused, %", low, 3.0, refused, len(good)),
    )
    return [Aim(words=words, low=least, high=most, value=value, scenes=n) for words, least, most, value, n in asked]


def _worst_coverage(rows: Sequence[Row]) -> tuple[str, float]:
    """Return the stratum with the lowest coverage among those large enough to judge."""
    named = {
        f"{kind}: {name}": figures(members) for kind, groups in strata(rows).items() for name, members in groups.items()
    }
    judged = {name: f.covered for name, f in named.items() if f.measured >= FEWEST_FOR_A_VERDICT}
    if not judged:
        return "too few scenes", nan
    worst = min(judged, key=lambda name: judged[name])
    return worst, judged[worst]


METHODS = {
    "box": "box times guessed fill",
    "squares": "1 mm squares counted",
    "paper_10mg": "paper cut-out, 0.01 g",
    "paper_1mg": "paper cut-out, 0.001 g",
    "error": "one photo and this sheet",
}
"""Column of a row, and the method behind it."""
SIZES = {"under 7 cm²": (0.0, 7.0), "7 to 20 cm²": (7.0, 20.0), "20 to 50 cm²": (20.0, 50.0), "50 cm² on": (50.0, 1e9)}


def quantiles(rows: Iterable[Row], column: str) -> tuple[float, float]:
    """Return the median and the 95 % quantile of the absolute errors in a column. [%]"""
    errors = np.array([getattr(row, column) for row in rows])
    errors = np.abs(errors[np.isfinite(errors)])
    return (float(np.median(errors)), float(np.quantile(errors, 0.95))) if len(errors) else (nan, nan)
