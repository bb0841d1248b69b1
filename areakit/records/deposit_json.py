"""The answer about one deposit as one JSON object, in the units of :mod:`areakit.records.plan_json`."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from areakit.flags import Flag
from areakit.plating.deposit import variance_shares
from areakit.plating.findings import Finding
from areakit.plating.metals import Bath
from areakit.plating.premise import Premise
from areakit.plating.process import Caution
from areakit.records.codec import as_json, charge_json
from areakit.uncertainty import Measured

SCHEMA = "areakit.deposit/1"


def deposit_json(
    bath: Bath,
    *,
    charge: Measured | None,
    quantities: dict[str, Measured | None],
    premises: Iterable[Premise],
    findings: Iterable[Finding],
    flags: Iterable[Flag],
    cautions: Iterable[Caution],
) -> dict[str, Any]:
    """Return the answer; ``shares`` tells for each quantity which input moves it how much."""
    return {
        "schema": SCHEMA,
        "metal": bath.metal,
        "bath": bath.key,
        "charge": charge_json(charge) if charge else None,
        **as_json(quantities),
        "shares": {name: variance_shares(quantity) for name, quantity in quantities.items() if quantity is not None},
        "premises": as_json(tuple(premises)),
        "findings": as_json(tuple(findings)),
        "flags": as_json(tuple(flags)),
        "cautions": as_json(tuple(cautions)),
    }
