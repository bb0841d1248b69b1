"""Forms as people write them: ``round``, ``turned, wall 1 mm, open wide``, ``tube, bore 6 ± 0.1 mm``."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

from areakit.errors import InputError, RangeError
from areakit.uncertainty import Measured
from areakit.units import parse_with_tolerance

# form: figure and what it is: a length, an angle, a count, a ratio, a choice of words, or a bare word ("").
_FINISH = {"dull": "", "polished": ""}
"""Of what a photo shows with rounded flanks: whether they scatter light, or mirror the sheet."""
FORMS: dict[str, dict[str, str]] = {
    "flat": {},
    "round": {"ends": "flat|round|none", "crossings": "count", "diameter": "length", "length": "length", **_FINISH},
    "turned": {
        "wall": "length",
        "open": "wide|narrow|both",
        "bore": "length",
        "axis": "long|short",
        "level": "",
        **_FINISH,
    },
    "band": {
        "width": "length",
        "seen": "front|side",
        "profile": "flat|comfort|half-round",
        "wall": "length",
        "diameter": "length",
        "bore": "length",
        **_FINISH,
    },
    "tube": {
        "bore": "length",
        "reach": "length",
        "inside": "open|closed",
        "diameter": "length",
        "length": "length",
        **_FINISH,
    },
    "folded": {
        "leaf": "",
        "fold": "length",
        "folds": "count",
        "angle": "angle",
        "radius": "length",
        "neutral": "number",
    },
    "bent": {"width": "length", "length": "length"},
    "domed": {"rise": "length", "hollow": ""},
    "coil": {"wire": "length", "diameter": "length", "turns": "number", "length": "length"},
    "thread": {"pitch": "length", "diameter": "length", "length": "length", **_FINISH},
    "knurl": {
        "pitch": "length",
        "angle": "angle",
        "pattern": "straight|crossed",
        "diameter": "length",
        "length": "length",
        **_FINISH,
    },
    "reeding": {"pitch": "length", "depth": "length", "diameter": "length", "length": "length", **_FINISH},
    "mesh": {"pitch": "length", "wire": "length", "length": "length", "width": "length"},
    "chain": {"pitch": "length", "wire": "length", "width": "length", "length": "length"},
}
PLATED = {
    "one": "outside",
    "front": "outside",
    "back": "inside",
    "both": "outside and inside",
    "walls": "ends and edges",
    "all": "all over",
    "front-and-edges": "outside, ends and edges",
}
"""What a choice of faces means of a part with a form."""
_CLAUSE = re.compile(r"\s*,\s*(?=[a-z])")
_LARGEST_MM = 10_000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class FormText:
    """One written form: its name, the figures that were typed with their tolerances, and the words chosen.

    ``figures`` are in mm, degrees or 1; ``untold`` names those that came without a tolerance; ``text`` is what was
    typed.
    """

    name: str
    figures: Mapping[str, Measured]
    words: Mapping[str, str]
    untold: tuple[str, ...] = ()
    text: str = ""

    def figure(self, name: str) -> Measured | None:
        """Return a figure that was typed, None for one that was not."""
        return self.figures.get(name)

    def needed(self, name: str, why: str = "") -> Measured:
        """Return a figure that the form cannot do without; InputError where it was not typed."""
        found = self.figures.get(name)
        if found is None:
            raise InputError(
                f"The form {self.name} needs its {name}{f' {why}' if why else ''}.",
                remedy=f'Write it behind the form: "{self.name}, {name} {_example(FORMS[self.name][name])}".',
            )
        return found

    def word(self, name: str, otherwise: str = "") -> str:
        """Return a word that was chosen, ``otherwise`` where none was."""
        return self.words.get(name, otherwise)


def read_form(text: str) -> FormText:
    """Return a written form: its name, then figures and choices after commas, as in ``tube, bore 6 mm``.

    Raises InputError for a form, a figure or a word that is not known, or one that is said twice; UnitError if a figure
    is not one plain number and one unit; RangeError if a figure is not above zero, or its tolerance is not smaller than
    it.
    """
    if len(text) > 300:
        raise InputError("The description of a form is too long.", remedy="Write one form with its figures.")
    name, *clauses = _CLAUSE.split(text.strip())
    name = name.lower()
    if name not in FORMS:
        raise InputError(f"{name[:30]!r} is not a form.", remedy=f"Choose one of {', '.join(FORMS)}.")
    figures: dict[str, Measured] = {}
    words: dict[str, str] = {}
    untold: list[str] = []
    for clause in clauses:
        key, _, value = clause.strip().partition(" ")
        kind = FORMS[name].get(key)
        if kind is None:
            known = ", ".join(FORMS[name]) or "none"
            raise InputError(f"{clause[:30]!r} is not understood.", remedy=f"Figures of {name} are: {known}.")
        if key in figures or key in words:
            raise InputError(f"The {key} of the form {name} was given twice.", remedy="Give it once.")
        if kind == "" or "|" in kind:
            words[key] = _word(name, key, kind, value.strip())
            continue
        figures[key], told = _figure(f"{name} {key}", kind, value.strip())
        untold += [] if told else [f"the {key} of the {name} part"]
    return FormText(name=name, figures=figures, words=words, untold=tuple(untold), text=text.strip())


def _word(name: str, key: str, kind: str, value: str) -> str:
    choices = kind.split("|") if kind else ["", "yes"]
    if value not in choices:
        remedy = f"Choose one of {', '.join(choices)}." if kind else f"Write {key} alone."
        raise InputError(f"{value[:20]!r} is not a choice for {key} of the form {name}.", remedy=remedy)
    return value or "yes"


def _figure(label: str, kind: str, value: str) -> tuple[Measured, bool]:
    """Return one figure [mm, deg, 1] with its tolerance as a rectangular share, and whether a tolerance was told."""
    if kind == "count":
        if not value.isdecimal() or int(value[:6]) > 1000:
            raise InputError(f"{value[:20]!r} is not a count for {label}.", remedy="Write a whole number up to 1000.")
        return Measured(value=float(value), unit="1"), True
    number, tolerance = parse_with_tolerance(value, kind)
    factor, unit = {"length": (1e3, "mm"), "angle": (180.0 / math.pi, "deg"), "number": (1.0, "1")}[kind]
    size, half = number * factor, None if tolerance is None else tolerance * factor
    if not 0.0 < size <= _LARGEST_MM:
        raise RangeError(
            f"The {label} of {size:g} {unit} is outside 0 to {_LARGEST_MM:g}.", remedy="Check the figure and its unit."
        )
    if half is not None and half >= size:
        raise RangeError(f"The tolerance of the {label} is not smaller than the {label}.", remedy="Check both.")
    return Measured(value=size, unit=unit, budget={label: (half or 0.0) / math.sqrt(3.0)}), half is not None


def _example(kind: str) -> str:
    return {"length": "6 ± 0.1 mm", "angle": "90 deg", "number": "10", "count": "1"}.get(kind, kind.split("|")[0])
