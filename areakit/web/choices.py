"""What can be chosen, as lists for the page and for other programs."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, get_args

from areakit.costing.claims import FIELDS
from areakit.costing.measured_part import WORDS
from areakit.costing.rates import rates_text
from areakit.errors import InputError
from areakit.geometry.edge_makes import edge_makes
from areakit.geometry.forms.table import is_at_axis
from areakit.geometry.forms.words import FORMS, read_form
from areakit.geometry.part import Faces
from areakit.imaging.marks.frame_layout import layouts
from areakit.imaging.marks.reference_objects import reference_objects
from areakit.imaging.marks.wanted import KNOWN
from areakit.plating.metals import all_baths
from areakit.plating.process import BASE_GROUPS, all_processes
from areakit.plating.requirements import all_requirements
from areakit.records.codec import in_json, picked
from areakit.records.methods import METHODS
from areakit.service.plan_request import MARKETS, USES
from areakit.units import spellings

_SHEETS = {
    "a4": "A4, for parts of 20 to 150 cm²",
    "letter": "Letter, for parts of 20 to 150 cm²",
    "a5": "A5, for parts of 5 to 60 cm²",
    "small": "four small ones on A4, for parts of 1 to 15 cm²",
}


_FIGURES = {"length": "1 mm", "angle": "90 deg", "count": "2", "ratio": "0.4"}


def processes() -> list[dict[str, Any]]:
    """Return every process with the metals that it plates, in order."""
    return [
        {**picked(one, "key", "title", "method"), "metals": list(dict.fromkeys(one.metals))}
        for one in all_processes().values()
    ]


def requirements() -> list[dict[str, Any]]:
    """Return every class and term; ``minimum`` is null where the edition has to be looked up."""
    return [
        {
            **picked(one, "key", "title", "metal"),
            "minimum": in_json(one.minimum, "um"),
            "origin": one.origin.text,
        }
        for one in all_requirements().values()
    ]


def baths() -> list[dict[str, Any]]:
    """Return every kind of bath."""
    return [picked(one, "key", "metal", "title") for one in all_baths().values()]


def words() -> dict[str, Any]:
    """Return the short lists: faces, edges, marks, coins, bases, markets, uses, tests, the fields of a claim."""
    return {
        "faces": [{"key": key, "title": WORDS.get(key, key)} for key in get_args(Faces)],
        "edge_makes": [{"key": one.key, "title": one.title} for one in edge_makes().values()],
        "marks": list(KNOWN),
        "coins": [
            {"key": code, "title": f"{one.name}, {one.diameter_mm:g} mm"}
            for code, one in reference_objects().items()
            if one.kind == "coin"
        ],
        "sheets": [
            {"key": f"{code}-{ground}", "paper": one.paper, "ground": ground, "title": _SHEETS[one.paper]}
            for code, one in layouts().items()
            for ground in ("blue", "white")
        ],
        "forms": [
            {"key": name, "figures": _figures(name), "at_axis": is_at_axis(read_form(name))}
            for name in FORMS
            if name != "flat"
        ],
        "tests": [picked(one, "key", "title", "purpose") for one in METHODS.values()],
        "bases": list(BASE_GROUPS),
        "markets": list(MARKETS),
        "uses": list(USES),
        "claims": list(FIELDS),
    }


def _figures(form: str) -> str:
    """Return how the figures of a form are written: ``wall 1 mm, open wide``."""
    return ", ".join(
        " ".join((name, _FIGURES.get(kind, kind.split("|")[0]))).strip() for name, kind in FORMS[form].items()
    )


def units() -> dict[str, dict[str, float]]:
    """Return the spellings of a typed current, in amperes: the page reads one while the server is away."""
    return {"current": spellings("current")}


def sheet(name: str) -> bytes:
    """Return a scale sheet as the bytes of a PDF; its name is that of the list of words.

    InputError if there is no such sheet.
    """
    code, _, ground = name.rpartition("-")
    found = layouts().get(code)
    if found is None or ground not in ("blue", "white"):
        names = ", ".join(one["key"] for one in words()["sheets"])
        raise InputError(f"There is no scale sheet {name[:30]!r}.", remedy=f"Choose one of {names}.")
    from areakit.reports.sheet import sheet_pdf  # brings reportlab

    return sheet_pdf(found, field="blue" if ground == "blue" else "white")


CHOICES: dict[str, Callable[[], Any]] = {
    "processes": processes,
    "requirements": requirements,
    "baths": baths,
    "words": words,
    "units": units,
}


def rates(currency: str, *, example: bool) -> str:
    """Return a settings file for a shop's rates, empty or with invented amounts."""
    return rates_text(currency=currency, example=example)
