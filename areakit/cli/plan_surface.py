"""A drawing or typed shapes in place of a photo: their surfaces, as what ``areakit surface --json`` prints."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from areakit.cli.photo import option_of
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
    from areakit.service.part_description import SurfaceRequest
    from areakit.service.surface import find_surfaces, surface_json

    photo, source = entries.pop("photo", None), entries.pop("source", None)
    entries.pop("print_name", None)
    strange = [name for name in OF_A_PHOTO if entries.pop(name, None)]
    if strange:
        raise InputError(
            f"{option_of(strange[0])} is about a photo, and there is none.",
            remedy="Leave it out; areakit surface says what else there is to say of a drawing or a shape.",
        )
    if source is not None or (shapes and photo is not None):
        raise InputError("There are two parts, typed and in a file.", remedy="Give one of them.")
    request = SurfaceRequest(
        drawing=drawing,
        shapes=shapes,
        thickness=entries.pop("thickness", None) or "",
        faces=entries.pop("faces", None) or "",
        form=entries.pop("form", None) or "",
        edge_form=entries.pop("edge_form", None) or "",
        regions=entries.pop("regions", None) or (),
        stop_off=entries.pop("stop_off", None) or (),
    )
    result = find_surfaces(request)
    return json.dumps(surface_json(result), ensure_ascii=False)
