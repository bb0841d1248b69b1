"""The one place where areakit's types become JSON."""

from __future__ import annotations

from typing import Any

from areakit.errors import InputError
from areakit.flags import Flag
from areakit.uncertainty import COVERAGE_FACTOR, Measured
from areakit.units import dimension


def quantity_json(quantity: Measured) -> dict[str, Any]:
    """Return value, unit, uncertainties and budget of one quantity; ``budget`` maps input to signed standard share."""
    return {
        "value": quantity.value,
        "unit": quantity.unit,
        "standard_uncertainty": quantity.standard_uncertainty,
        "expanded_uncertainty": quantity.expanded_uncertainty,
        "coverage_factor": quantity.coverage_factor,
        "budget": dict(quantity.budget),
    }


def flag_json(flag: Flag) -> dict[str, Any]:
    """Return one flag; ``part`` stands only where it belongs to one part, ``place`` where it asks about a place."""
    body: dict[str, Any] = {"code": flag.code, "message": flag.message, "remedy": flag.remedy}
    if flag.part is not None:
        body["part"] = flag.part
    if flag.place is not None:
        body["place"] = flag.place
    return body


def quantity_from_json(body: Any) -> Measured:
    """Return the quantity that :func:`quantity_json` wrote, budget names and all; InputError for anything else."""
    try:
        dimension(str(body["unit"]))
        return Measured(
            value=float(body["value"]),
            unit=str(body["unit"]),
            budget={str(name): float(share) for name, share in body.get("budget", {}).items()},
            coverage_factor=float(body.get("coverage_factor", COVERAGE_FACTOR)),
        )
    except (KeyError, TypeError, ValueError, AttributeError, OverflowError):
        raise InputError(
            "A quantity in the JSON lacks its value, budget or a known unit.",
            remedy="Use a line that areakit measure --json printed.",
        ) from None
