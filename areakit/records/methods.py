"""Test methods by the names that the standards give them; place and result go with each in the record."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from areakit.errors import InputError

Purpose = Literal["adhesion", "appearance", "thickness", "porosity"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Method:
    """One test: name, what it tells, how in a few words, and the source that names it."""

    key: str
    title: str
    purpose: Purpose
    how: str
    source: str


_B571 = (
    ("bend", "Bend test", "bend over a mandrel of four times the thickness; look for peeling or flaking"),
    ("burnishing", "Burnishing test", "rub a small area with a smooth tool for about 15 s; look for blisters"),
    ("chisel-knife", "Chisel-knife test", "cut through to the base with a sharp edge; look for lifting"),
    ("draw", "Draw test", "draw a coated blank; look for peeling"),
    ("file", "File test", "file a cut edge from base to coating; look for lifting"),
    ("grind-saw", "Grind-saw test", "grind or saw from base to coating; look for peeling"),
    ("heat-quench", "Heat-quench test", "heat, then quench; look for blisters"),
    ("impact", "Impact test", "strike the surface; look for flaking"),
    ("peel", "Peel test", "pull a strip bonded to the coating"),
    ("push", "Push test", "push through from behind; look for lifting"),
    ("scribe-grid", "Scribe-grid test", "scribe a grid through to the base; look for squares that lift"),
)

METHODS: dict[str, Method] = {
    **{
        key: Method(key=key, title=title, purpose="adhesion", how=how, source="b571")
        for key, title, how in _B571
    },
    "tape": Method(
        key="tape", title="Tape test", purpose="adhesion", source="mil2197",
        how="press tape over the edge of the plating, pull once, quickly, at a right angle; metal on it is a fail",
    ),
    "visual": Method(
        key="visual", title="Visual examination", purpose="appearance", source="mil2197",
        how="no burning, blister, pit, nodule or excess build-up at edges",
    ),
    "xrf": Method(
        key="xrf", title="X-ray fluorescence", purpose="thickness", source="b488text",
        how="ISO 3497 or ASTM B568; state the density that the instrument assumes",
    ),
    "coulometric": Method(
        key="coulometric", title="Coulometric method", purpose="thickness", source="b488text",
        how="ISO 2177 or ASTM B504; takes the coating off where it measures",
    ),
    "beta": Method(
        key="beta", title="Beta backscatter", purpose="thickness", source="b488text", how="ASTM B567",
    ),
    "microsection": Method(
        key="microsection", title="Microscopic section", purpose="thickness", source="b488text", how="ASTM B487",
    ),
    "weight-gain": Method(
        key="weight-gain", title="Weight gain", purpose="thickness", source="practice",
        how="mass after less mass before, over area and density: the mean",
    ),
    "charge-and-area": Method(
        key="charge-and-area", title="Estimate from ampere-hours and area", purpose="thickness", source="mil2197",
        how="where the thickness cannot be measured",
    ),
}  # fmt: skip


def method(key: str) -> Method:
    """Return a method by its key; InputError for another."""
    if key not in METHODS:
        raise InputError(f"There is no test method {key[:40]!r}.", remedy=f"Known: {', '.join(METHODS)}.")
    return METHODS[key]
