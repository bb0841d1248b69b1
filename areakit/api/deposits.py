"""What a charge or a weight gain put on a part, from Python."""

from __future__ import annotations

from dataclasses import dataclass
from os import PathLike
from typing import Any, Literal

from areakit.api.keywords import documented, texts_of
from areakit.api.plans import Source, area_text, holds_parts, measured_text, uncertainty_text
from areakit.api.values import Entry, UncertainValue, plain_json
from areakit.flags import Flag
from areakit.plating.findings import Finding
from areakit.plating.process import Caution
from areakit.records.codec import shown
from areakit.service.deposit import Deposit as FoundDeposit
from areakit.service.deposit import deposit as work_out
from areakit.service.deposit import deposit_as_json
from areakit.service.plan_request import DepositRequest, SpreadRequest
from areakit.uncertainty import Measured
from areakit.units import in_unit


@dataclass(frozen=True, slots=True)
class Deposit:
    """What was put on a part; a figure is None where nothing says it."""

    result: FoundDeposit

    @property
    def mass(self) -> UncertainValue | None:
        """Metal by the charge. [mg]"""
        return _shown(self.result.mass)

    @property
    def mean(self) -> UncertainValue | None:
        """Mean thickness by the charge, or by the weight gain where there is no charge. [um]"""
        return _shown(self.result.mean or self.result.weighed_mean)

    @property
    def minimum(self) -> UncertainValue | None:
        """Least thickness by the charge, or by the weight gain where there is no charge. [um]"""
        return _shown(self.result.minimum or self.result.weighed_minimum)

    @property
    def efficiency(self) -> UncertainValue | None:
        """Cathode efficiency by weight gain and charge together. [%]"""
        found = self.result.coupon_efficiency
        return None if found is None else UncertainValue(in_unit(found, "%"))

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What speaks against the figures: severity, message, reason, remedy."""
        return self.result.findings

    @property
    def flags(self) -> tuple[Flag, ...]:
        """Cautions on the figures: code, message, remedy."""
        return self.result.flags

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What can hurt: follow safety data sheets, local codes and licensed practice."""
        return self.result.cautions

    def to_json(self) -> dict[str, Any]:
        """Return what ``areakit deposit --json`` prints."""
        return plain_json(deposit_as_json(self.result))

    def __repr__(self) -> str:
        figures = {"metal": self.mass, "mean": self.mean, "minimum": self.minimum, "efficiency": self.efficiency}
        words = ", ".join(f"{name} {value}" for name, value in figures.items() if value is not None)
        return f"<{self.result.bath.metal}: {words}>"


@documented(DepositRequest, SpreadRequest)
def deposit(
    area: Source | None = None,
    *,
    metal: str,
    charge: Entry | None = None,
    current: Entry | None = None,
    time: Entry | None = None,
    weighed: Entry | None = None,
    area_uncertainty: Entry | None = None,
    part: int | None = None,
    efficiency: Entry | None = None,
    factor: Entry | None = None,
    bath: str | None = None,
    solution: str | None = None,
    solutions: str | PathLike[str] | None = None,
    density: Entry | None = None,
    allowance: Entry | None = None,
    method: Literal["brush", "tank"] = "brush",
    footprint: Entry | None = None,
    footprint_corners: Literal["round", "square"] | None = None,
    overlap: Entry | None = None,
    overrun: Entry | None = None,
    hand_speed: Entry | None = None,
    passes: float | None = None,
    wagner: Entry | None = None,
) -> Deposit:
    """Tell what a charge, or a weight gain, put on a part.

    Parameters
    ----------
    area : Measurement, Surfaces, mapping, str or pint area, optional
        What was plated, as for :func:`areakit.plan`; without it there is no thickness.
    Fields of DepositRequest, SpreadRequest

    Raises
    ------
    InputError
        If there is neither a charge nor a weight gain, or an entry cannot be read.

    Examples
    --------
    >>> import areakit
    >>> print(areakit.deposit(metal="gold", charge="3.2 A.min", weighed="282 ± 2 mg").efficiency)
    71.95 ± 0.51 %
    """
    parts = area is not None and holds_parts(area)
    told = {"area": None, "passes": None if passes is None else f"{passes:g}"}
    request = DepositRequest(
        **texts_of(DepositRequest, {**locals(), **told, "area_uncertainty": uncertainty_text(area_uncertainty)}),
        area=None if area is None or parts else area_text(area),
        measured=measured_text(area) if parts else None,
        spread=SpreadRequest(**texts_of(SpreadRequest, locals())),
    )
    return Deposit(work_out(request))


def _shown(quantity: Measured | None) -> UncertainValue | None:
    return None if quantity is None else UncertainValue(shown(quantity))
