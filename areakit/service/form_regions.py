"""Regions of a part that have forms of their own, from what was written of them."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from areakit.errors import InputError
from areakit.geometry.drawing import EDGE_MM
from areakit.geometry.drawn_regions import read_region_words, region_of, split_region
from areakit.geometry.features import MASK_EDGE_MM, Region
from areakit.geometry.part import Part
from areakit.geometry.regions import FormRegion

PLACE_EDGE_MM = 0.5
"""Half-width within which a seam lies whose place was read off a picture. Common practice, no source. [mm]"""
LAYER = "layer "
MOST_REGIONS = 20
RegionEntry = str | tuple[Region, str]
"""``PLACE: words``, or a region in part coordinates [mm] and the words."""


def layers_of(entries: Sequence[RegionEntry]) -> tuple[str, ...]:
    """Return the layers of the drawing that regions name."""
    places = [split_region(one)[0] for one in entries if isinstance(one, str)]
    return tuple(place.removeprefix(LAYER).strip() for place in places if place.startswith(LAYER))


def has_forms(entries: Sequence[RegionEntry]) -> bool:
    """Return whether a region is other than flat: what is plated is then all, unless somebody says."""
    words = [split_region(one)[1] if isinstance(one, str) else one[1] for one in entries]
    return any(read_region_words(one)[0] is not None for one in words)


def read_regions(
    entries: Sequence[RegionEntry], region_at: Callable[[str], Region], *, photo: bool
) -> tuple[FormRegion, ...]:
    """Return the regions that were written.

    InputError for text that describes no region, or too many.

    Parameters
    ----------
    entries : sequence
        Text, or a region and its words.
    region_at : callable
        What a place is: a written shape, a file, a layer. [mm]
    photo : bool
        Whether places were read off a photo.
    """
    if len(entries) > MOST_REGIONS:
        raise InputError(f"{len(entries)} regions were given; {MOST_REGIONS} are read.", remedy="Give fewer.")
    found = []
    for one in entries:
        place, words = split_region(one) if isinstance(one, str) else one
        form, thickness = read_region_words(words)
        region = region_at(place) if isinstance(place, str) else place
        edge = PLACE_EDGE_MM / math.sqrt(3.0) if photo else MASK_EDGE_MM / math.sqrt(3.0)
        if isinstance(place, str) and place.startswith(LAYER):
            edge = EDGE_MM
        found.append(FormRegion(region=region, form=form, thickness=thickness, edge_mm=edge, text=words))
    return tuple(found)


def drawn_form(ring_mm: Any, words: str, *, hand_mm: float) -> FormRegion:
    """Return a region that was drawn by hand on a photo, its points of shape (n, 2), with its words. [mm]

    InputError for words that say nothing of a region; OutlineInvalid if its line crosses itself, or encloses nothing.
    """
    form, thickness = read_region_words(words)
    return FormRegion(region=region_of(ring_mm), form=form, thickness=thickness, edge_mm=hand_mm, text=words)


def shared_out(parts: Sequence[Part], regions: Sequence[FormRegion]) -> list[Part]:
    """Return the parts of one photo or drawing, each with the regions that lie on it.

    InputError if a region lies on no part.
    """
    for number, one in enumerate(regions, start=1):
        if not any(one.region.intersection(part.outline.polygon).area > 0.0 for part in parts):
            raise InputError(
                f"Region {number} lies on no part.",
                remedy="Give its place in the millimetres that stand along the edges of the picture.",
            )
    return [
        replace(part, regions=(*part.regions, *mine))
        if (mine := tuple(one for one in regions if one.region.intersection(part.outline.polygon).area > 0.0))
        else part
        for part in parts
    ]
