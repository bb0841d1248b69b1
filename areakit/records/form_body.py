"""What an outline is of, and where the camera stood over it, from JSON; a plan reads it without drawing libraries."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from areakit.errors import InputError
from areakit.geometry.forms.words import FORMS, FormText, read_form

if TYPE_CHECKING:
    from areakit.geometry.forms.seen import View

_AGAIN = "Measure the part again, and use what that prints."


def form_of(body: Mapping[str, Any]) -> FormText | None:
    """Return the form of a part that was printed, None for a flat one.

    Raises
    ------
    InputError
        If it cannot be read.
    """
    found = body.get("form")
    if found is None:
        return None
    text = found.get("text") if isinstance(found, Mapping) else None
    if not isinstance(text, str):
        raise InputError("The form of the part cannot be read.", remedy=_AGAIN)
    return read_form(text)


def form_words(body: Mapping[str, Any]) -> str | None:
    """Return in a word or two what a part is made of: its form, or its forms; None for a flat one."""
    form, regions = form_of(body), body.get("form_regions")
    names = [form.name if form is not None else "flat"]
    if isinstance(regions, list):
        for one in regions:
            name = one.get("form") if isinstance(one, Mapping) else None
            if name not in FORMS:
                raise InputError("The form of a region cannot be read.", remedy=_AGAIN)
            names.append(name)
    if len(names) == 1:
        return form.name if form is not None else None
    return " and ".join(dict.fromkeys(names))


def form_as_said(body: Mapping[str, Any]) -> str:
    """Return what a part is of as it was written, its regions after it; empty for a flat part without any."""
    form, regions = form_of(body), body.get("form_regions") or ()
    words = [str(one["words"]) for one in regions if isinstance(one, Mapping) and one.get("words")]
    if form is None and not words:
        return ""
    return "; ".join([form.text if form is not None else "flat", *words])


def view_of_body(body: Mapping[str, Any]) -> View | None:
    """Return where the camera stood over a part that was printed, None where that is not said."""
    found = body.get("view")
    if found is None:
        return None
    from areakit.geometry.forms.seen import View

    try:
        known = {"pixel_mm": 0.0, **found}  # a part that was printed before it was told
        view = View(**{name: float(known[name]) for name in View.__dataclass_fields__})
    except (KeyError, TypeError, ValueError, OverflowError):
        view = View(x_mm=0.0, y_mm=0.0, height_mm=math.nan)
    figures = (view.x_mm, view.y_mm, view.height_mm, view.level_mm, view.level_open_mm, view.pixel_mm)
    if not all(math.isfinite(value) for value in figures) or not 0.0 <= view.level_mm < view.height_mm:
        raise InputError("Where the camera stood cannot be read from the part.", remedy=_AGAIN)
    return view
