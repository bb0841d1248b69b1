"""A drawing or typed shapes in place of a photo: their surfaces, as what ``areakit surface --json`` prints."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from areakit.cli.entries import refuse_typed
from areakit.cli.options import said
from areakit.cli.photo import NO_PHOTO, PHOTO_OPTIONS
from areakit.errors import InputError

OF_A_PHOTO = ("mark", "check_lengths", "edge_make", "parts", "holes", "metal_at")
"""Entries that say nothing of a drawing or of typed shapes."""


def surfaces_text(entries: dict[str, Any], *, shapes: tuple[str, ...], drawing: Path | None) -> str:
    """Take the entries of the part out, and return its surfaces as JSON text.

    Raises
    ------
    InputError
        If there is also a photo or a file, or an entry that speaks of a photo.
    AreakitError
        If the drawing or a shape cannot be read.
    """
    from areakit.service.surface import find_surfaces, surface_json
    from areakit.service.surface_request import SurfaceRequest

    photo, source = entries.pop("photo", None), entries.pop("measured", None)
    entries.pop("print_name", None)
    refuse_typed("print_name", why=NO_PHOTO)
    strange = [name for name in OF_A_PHOTO if entries.pop(name, None)]
    if strange:
        raise InputError(
            f"{PHOTO_OPTIONS[strange[0]].option} {NO_PHOTO}.",
            remedy="Leave it out; areakit surface says what else there is to say of a drawing or a shape.",
        )
    if source is not None or (shapes and photo is not None):
        raise InputError("There are two parts, typed and in a file.", remedy="Give one of them.")
    names = ("thickness", "faces", "form", "edge_form", "regions", "stop_off")
    told = said({name: entries.pop(name, None) for name in names})
    result = find_surfaces(SurfaceRequest(drawing=drawing, shapes=shapes, **told))
    return json.dumps(surface_json(result), ensure_ascii=False)
