"""The one place where areakit's types become JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date
from decimal import Decimal
from functools import singledispatch
from typing import Any

from areakit.errors import AreakitError, InputError
from areakit.flags import Flag, with_figures
from areakit.plating.findings import Finding
from areakit.plating.premise import Origin
from areakit.plating.process import Caution
from areakit.sources import source
from areakit.uncertainty import COVERAGE_FACTOR, Measured
from areakit.units import dimension, in_unit

JSON_UNITS = {
    "m": "um",
    "m2": "mm2",
    "m3": "mL",
    "m3/m2": "mL/m2",
    "kg": "mg",
    "s": "min",
    "kg/m3": "g/cm3",
    "kg/mol": "g/mol",
    "A/m2": "A/dm2",
    "C/m3": "A.h/L",
    "m/s": "m/min",
}
"""SI unit to the unit that JSON and people see; a unit not listed stays."""


def shown(quantity: Measured) -> Measured:
    """Return a quantity in the unit that JSON and people see."""
    return in_unit(quantity, JSON_UNITS.get(quantity.unit, quantity.unit))


@singledispatch
def as_json(value: Any) -> Any:
    """Return a value as JSON: a dataclass by its fields, a quantity in its JSON unit, an amount and a day as text."""
    if is_dataclass(value) and not isinstance(value, type):
        return picked(value, *(one.name for one in fields(value)))
    if isinstance(value, Mapping):
        return {str(name): as_json(one) for name, one in value.items()}
    if isinstance(value, tuple | list):
        return [as_json(one) for one in value]
    if isinstance(value, Decimal):
        return str(value)
    return value.isoformat() if isinstance(value, date) else value


def picked(value: Any, *names: str) -> dict[str, Any]:
    """Return some attributes of a value as a JSON object."""
    return {name: as_json(getattr(value, name)) for name in names}


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


@as_json.register
def _measured_json(quantity: Measured) -> dict[str, Any]:
    return quantity_json(shown(quantity))


def in_json(quantity: Measured | None, unit: str) -> dict[str, Any] | None:
    """Return a quantity in a unit, None for None."""
    return None if quantity is None else quantity_json(in_unit(quantity, unit))


def error_json(told: AreakitError | Flag) -> dict[str, Any]:
    """Return code, message and remedy; ``fields``, key to example, stands only where the remedy is about some."""
    body: dict[str, Any] = {"code": told.code, "message": told.message, "remedy": told.remedy}
    return {**body, "fields": dict(told.fields)} if told.fields else body


def fields_of(body: Mapping[str, Any]) -> dict[str, str]:
    """Return the fields of a flag or a finding that is JSON; none where it names none."""
    found = body.get("fields")
    return {str(key): str(example) for key, example in found.items()} if isinstance(found, dict) else {}


@as_json.register
def flag_json(flag: Flag) -> dict[str, Any]:
    """Return one flag; ``part`` stands only where it belongs to one part, ``place`` where it asks about a place."""
    body = error_json(flag)
    if flag.figures:
        body["figures"] = dict(flag.figures)
    if flag.part is not None:
        body["part"] = flag.part
    if flag.place is not None:
        body["place"] = flag.place
    return body


def flag_from_json(body: Mapping[str, Any]) -> Flag:
    """Return the flag that :func:`flag_json` wrote."""
    code, message, remedy = (str(body.get(name, "")) for name in ("code", "message", "remedy"))
    part, place = (one if isinstance(one := body.get(name), int) else None for name in ("part", "place"))
    told = Flag(code=code, message=message, remedy=remedy, part=part, place=place, fields=fields_of(body))
    return with_figures(told, body.get("figures"))


def charge_json(charge: Measured) -> dict[str, Any]:
    """Return a charge in A.min, with the same value in C."""
    return {**quantity_json(in_unit(charge, "A.min")), "value_coulomb": charge.value}


@as_json.register
def _origin_json(origin: Origin) -> dict[str, Any]:
    """Return an origin: its kind, its words, and the source where there is one."""
    body = picked(origin, "kind", "text")
    return (
        body
        if origin.source is None
        else {
            **body,
            "source": origin.source,
            "citation": source(origin.source).citation,
        }
    )


@as_json.register
def _finding_json(finding: Finding) -> dict[str, Any]:
    body = picked(finding, "code", "severity", "message", "why", "source", "citation", "remedy")
    return {**body, "fields": dict(finding.fields)} if finding.fields else body


@as_json.register
def _caution_json(caution: Caution) -> dict[str, Any]:
    return picked(caution, "key", "text", "source", "citation")


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
            remedy="Measure again, and give the whole answer.",
            fields={"areakit measure --json": ""},
        ) from None


def quantity_in(body: Any, unit: str, *, remedy: str) -> Measured:
    """Return the quantity that was written in a unit; InputError, with what to do, for one in another."""
    quantity = quantity_from_json(body)
    if quantity.unit != unit:
        raise InputError(f"The JSON holds {quantity.unit[:20]!r} where {unit} is due.", remedy=remedy)
    return quantity
