"""What a bottle deposits per charge, from Python."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from os import PathLike
from pathlib import Path
from typing import Any

from areakit.api.values import UncertainValue
from areakit.plating.own_factor import Observation, efficiency_of
from areakit.records.recorded_factor import PER_CHARGE, RecordedFactor
from areakit.service.bottle import show_bottle
from areakit.service.desk import Desk
from areakit.service.own_factor import bath_of, bottle_factor, factor_as_json, factor_drawing
from areakit.service.plan_factors import usual_journal
from areakit.units import in_unit


@dataclass(frozen=True, slots=True)
class BottleFactor:
    """The own factor of a bottle; a figure is None where its runs are too few. In a notebook it shows the plot."""

    found: RecordedFactor
    desk: Desk

    @property
    def deposit(self) -> UncertainValue | None:
        """Mass that a charge deposits in the next run. [g/A.h]"""
        made = self.found.factor
        return None if made is None else UncertainValue(in_unit(made.deposit, PER_CHARGE))

    @property
    def efficiency(self) -> UncertainValue | None:
        """Cathode efficiency of the next run. [%]"""
        made = self.found.factor
        if made is None:
            return None
        bath = bath_of(show_bottle(self.desk, str(self.found.bottle)))
        return UncertainValue(in_unit(efficiency_of(made.deposit, bath), "%"))

    @property
    def observations(self) -> tuple[Observation, ...]:
        """Every weighing, coupon and reading that counts."""
        return self.found.seen.observations

    @property
    def left_out(self) -> tuple[str, ...]:
        """What could not count, in words."""
        return self.found.seen.left_out

    def to_json(self) -> dict[str, Any]:
        """Return what ``areakit bottle factor --json`` prints."""
        return factor_as_json(self.desk, str(self.found.bottle), brush=self.found.brush)

    def _repr_svg_(self) -> str | None:
        if self.found.factor is None:
            return None
        return factor_drawing(self.desk, str(self.found.bottle), brush=self.found.brush)


def own_factor(bottle: str, *, brush: str = "", journal: str | PathLike[str] | None = None) -> BottleFactor:
    """Return what a bottle deposits per charge, from its weighings, coupons and thickness readings.

    Parameters
    ----------
    bottle : str
        Its label.
    brush : str
        With this brush, where it has runs enough.
    journal : path, optional
        Where the record is kept; the usual journal unless said.

    Raises
    ------
    InputError
        If there is no such bottle.

    Examples
    --------
    >>> import areakit
    >>> areakit.own_factor("G7", journal="no-such.sqlite")
    Traceback (most recent call last):
    ...
    areakit.errors.FileError: There is no journal no-such.sqlite. Check its name; the first entry makes a new one.
    """
    path = usual_journal() if journal is None else Path(journal)
    desk = Desk(path=path, who="", now=datetime.now().astimezone())
    return BottleFactor(bottle_factor(desk, bottle, brush=brush), desk)
