"""Relief that no outline shows, as a factor on the area: from a table of common practice or a user's own coupon."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from areakit.errors import RangeError
from areakit.uncertainty import Measured


@dataclass(frozen=True, slots=True, kw_only=True)
class Relief:
    """A relief factor: true area over the area without relief, from ``low`` to ``high``, rectangular.

    ``source`` is the key of :mod:`areakit.sources`, or ``coupon`` for the user's own figure.
    """

    kind: str
    low: float
    high: float
    source: str

    def __post_init__(self) -> None:
        if not 1.0 <= self.low <= self.high <= 5.0:
            raise RangeError(
                f"A relief factor of {self.low:g} to {self.high:g} is outside 1 to 5.",
                remedy="Write it as 1.08 ± 0.02: the true area over the flat one.",
            )

    @property
    def factor(self) -> Measured:
        """Middle of the range with the share ``relief`` (rectangular, JCGM 100:2008, 4.3.7)."""
        spread = (self.high - self.low) / 2.0 / math.sqrt(3.0)
        return Measured(value=(self.low + self.high) / 2.0, unit="1", budget={"relief": spread})


@cache
def relief_table() -> dict[str, Relief]:
    """Return the table of kinds; every row is common practice without a source."""
    text = files("areakit").joinpath("data/relief.csv").read_text(encoding="utf-8")
    return {
        row["kind"]: Relief(kind=row["kind"], low=float(row["low"]), high=float(row["high"]), source=row["source"])
        for row in csv.DictReader(text.splitlines())
    }


def relief_of_kind(kind: str) -> Relief:
    """Return one row of the table.

    Raises RangeError if the table has no such kind.
    """
    found = relief_table().get(kind)
    if found is None:
        raise RangeError(
            f"{kind!r} is not in the table of relief.",
            remedy=f"Choose one of {', '.join(relief_table())}, or enter a factor of your own such as 1.08 ± 0.02.",
        )
    return found


def relief_from_coupon(factor: float, tolerance: float) -> Relief:
    """Return the user's own factor, from a plated and weighed coupon."""
    return Relief(kind="coupon", low=max(factor - tolerance, 1.0), high=factor + tolerance, source="coupon")
