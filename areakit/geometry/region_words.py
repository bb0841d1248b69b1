"""What a region of an outline has of its own, as people write it: ``form round, ends flat; thickness 0.3 mm``."""

from __future__ import annotations

import re

from areakit.errors import InputError
from areakit.geometry.forms.table import is_at_axis
from areakit.geometry.forms.words import FormText, read_form
from areakit.geometry.part import thickness_mm
from areakit.uncertainty import Measured
from areakit.units import parse_with_tolerance

_HOW = 'Write it as: PLACE: form round, as in "rectangle 3 x 20 mm, at 0 -15 mm: form round, ends flat".'
_WORDS = re.compile(r"(?P<place>.+?)\s*:\s*(?P<words>(?:form|thickness)\s.+)", re.DOTALL)
_LONGEST = 600


def split_region(text: str) -> tuple[str, str]:
    """Return place and words of ``rectangle 3 x 20 mm, at 0 -15 mm: form round``.

    Raises InputError if it has no place, or no words.
    """
    found = _WORDS.fullmatch(text.strip()) if len(text) <= _LONGEST else None
    if found is None:
        raise InputError(f"{text[:60]!r} does not describe a region.", remedy=_HOW)
    return found["place"], found["words"]


def read_region_words(words: str) -> tuple[FormText | None, Measured | None]:
    """Return form (None for flat) and thickness [mm] of a region.

    Raises InputError for other words, none, or a thickness of a form that has none.
    """
    said: dict[str, str] = {}
    for clause in words.split(";"):
        key, _, value = clause.strip().partition(" ")
        if key not in ("form", "thickness") or not value.strip() or key in said:
            raise InputError(f"{clause.strip()[:40]!r} is not understood of a region.", remedy=_HOW)
        said[key] = value.strip()
    form = read_form(said["form"]) if "form" in said else None
    if form is not None and form.name == "flat":
        form = None
    if "thickness" not in said:
        return form, None
    if form is not None and is_at_axis(form):
        raise InputError(
            f"A region of the form {form.name} has no thickness.",
            remedy="Leave it out: how high it lies follows from its outline. A wall stands with the form.",
        )
    metres, tolerance = parse_with_tolerance(said["thickness"], "length")
    return form, thickness_mm(metres * 1e3, None if tolerance is None else tolerance * 1e3)
