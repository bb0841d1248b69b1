"""Plated area of small irregular parts, with an uncertainty that can be trusted, and what follows from it.

Examples
--------
>>> import areakit
>>> plate = areakit.plated_surface(shape="rectangle 40 x 30 mm ± 0.1 mm", thickness="1.0 ± 0.05 mm", faces="all")
>>> print(plate.plated)
25.40 ± 0.12 cm²

Every error is an :class:`areakit.errors.AreakitError`: ``message`` says what is wrong, ``remedy`` what to do.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from areakit.api.deposits import Deposit, deposit
    from areakit.api.drawings import Surfaces, plated_surface, read_drawing, shape
    from areakit.api.factors import BottleFactor, own_factor
    from areakit.api.parts import PlatedPart
    from areakit.api.photos import Measurement, demo_photo, measure
    from areakit.api.plans import Plan, PlannedLayer, plan
    from areakit.api.quotes import CheckedClaims, Quote, check_quote, quote
    from areakit.api.values import UncertainValue
    from areakit.errors import AreakitError
    from areakit.units import registry

    ureg = registry()

__version__ = "0.1.0"

NAMES = {
    "measure": "areakit.api.photos",
    "demo_photo": "areakit.api.photos",
    "Measurement": "areakit.api.photos",
    "read_drawing": "areakit.api.drawings",
    "shape": "areakit.api.drawings",
    "plated_surface": "areakit.api.drawings",
    "Surfaces": "areakit.api.drawings",
    "PlatedPart": "areakit.api.parts",
    "plan": "areakit.api.plans",
    "Plan": "areakit.api.plans",
    "PlannedLayer": "areakit.api.plans",
    "deposit": "areakit.api.deposits",
    "Deposit": "areakit.api.deposits",
    "own_factor": "areakit.api.factors",
    "BottleFactor": "areakit.api.factors",
    "quote": "areakit.api.quotes",
    "Quote": "areakit.api.quotes",
    "check_quote": "areakit.api.quotes",
    "CheckedClaims": "areakit.api.quotes",
    "UncertainValue": "areakit.api.values",
    "AreakitError": "areakit.errors",
}
"""Public name to the module that holds it; each is loaded on first use, so that importing areakit costs nothing."""

__all__ = [
    "NAMES", "AreakitError", "BottleFactor", "CheckedClaims", "Deposit", "Measurement", "Plan", "PlannedLayer",
    "PlatedPart", "Quote", "Surfaces", "UncertainValue", "check_quote", "demo_photo", "deposit", "measure",
    "own_factor", "plan", "plated_surface", "quote", "read_drawing", "shape", "ureg",
]  # fmt: skip


def __getattr__(name: str) -> Any:
    """Load a public name; ``ureg`` is the one registry of pint that quantities of areakit belong to."""
    import importlib

    if name == "ureg":
        return importlib.import_module("areakit.units").registry()
    if name not in NAMES:
        raise AttributeError(f"module 'areakit' has no attribute {name!r}")
    found = getattr(importlib.import_module(NAMES[name]), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted([*__all__, "__version__"])
