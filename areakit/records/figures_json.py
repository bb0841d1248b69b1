"""Figures of a plan, what they rest on and what is found in them, as JSON in the units that people see."""

from __future__ import annotations

from typing import Any

from areakit.plating.findings import Finding
from areakit.plating.premise import Origin, Premise
from areakit.plating.process import Caution
from areakit.records.codec import quantity_json
from areakit.sources import source
from areakit.uncertainty import Measured
from areakit.units import in_unit

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
    """Return a quantity of a plan in the unit that JSON and people see."""
    return in_unit(quantity, JSON_UNITS.get(quantity.unit, quantity.unit))


def plain_json(quantity: Measured | None) -> dict[str, Any] | None:
    """Return a quantity in its JSON unit, or None."""
    return None if quantity is None else quantity_json(shown(quantity))


def charge_json(charge: Measured) -> dict[str, Any]:
    """Return a charge in A.min, with the same value in C."""
    return {**quantity_json(in_unit(charge, "A.min")), "value_coulomb": charge.value}


def origin_json(origin: Origin) -> dict[str, Any]:
    """Return an origin: its kind, its words, and the source where there is one."""
    body: dict[str, Any] = {"kind": origin.kind, "text": origin.text}
    if origin.source is not None:
        body["source"] = origin.source
        body["citation"] = source(origin.source).citation
    return body


def premise_json(premise: Premise) -> dict[str, Any]:
    """Return a premise: name, quantity and origin."""
    return {
        "name": premise.name,
        "quantity": plain_json(premise.quantity),
        "origin": origin_json(premise.origin),
    }


def finding_json(finding: Finding) -> dict[str, Any]:
    """Return a finding with its reason, source and remedy."""
    return {
        "code": finding.code,
        "severity": finding.severity,
        "message": finding.message,
        "why": finding.why,
        "source": finding.source,
        "citation": finding.citation,
        "remedy": finding.remedy,
    }


def caution_json(caution: Caution) -> dict[str, Any]:
    """Return a caution in words."""
    return {"key": caution.key, "text": caution.text, "source": caution.source, "citation": caution.citation}
