"""Measure the same parts in two photos together: each by itself, held against the other, then the best of both."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from areakit.errors import AreakitError, InputError
from areakit.imaging.same_part import Combined, combine
from areakit.records.codec import quantity_json
from areakit.service.measure import MeasureRequest, MeasureResult, measure, measured_parts, result_json
from areakit.service.part_description import sheet_region
from areakit.service.photo_list import refuse_copies
from areakit.service.places import read_answers


@dataclass(frozen=True, slots=True, kw_only=True)
class SameParts:
    """What two photos gave together.

    Parameters
    ----------
    result : MeasureResult
        As of one photo: outline, place and picture of the first, areas and perimeters of both.
    singles : tuple of MeasureResult
        Each photo by itself.
    combined : Combined or None
        None where the two are refused.
    """

    result: MeasureResult
    singles: tuple[MeasureResult, ...]
    combined: Combined | None


def measure_same_parts(paths: Sequence[Path], request: MeasureRequest) -> SameParts:
    """Measure two photos of the same parts together.

    Raises
    ------
    InputError
        If there are not two photos, or the request makes no sense.
    """
    if len(paths) != 2:
        raise InputError(
            f"The same parts are measured in two photos, and there are {len(paths)}.",
            remedy="Take one photo, turn the sheet by a quarter, take another, and name both.",
        )
    if read_answers(request.holes, request.metal, request.stop_off, sheet_region).by_number:
        raise InputError(
            "Two photos number their places each for itself.", remedy="Name a place by its point: 104.2,66.8."
        )
    refuse_copies(paths)
    singles = tuple(measure(paths, request))
    name = " + ".join(single.name for single in singles)
    photo = singles[0].photo
    combined = None
    try:
        combined = _combined(singles)
        result = MeasureResult(
            name=name, photo=photo, found=combined.found, parts=measured_parts(combined.found, request)
        )
    except AreakitError as error:
        result = MeasureResult(name=name, photo=photo, found=None, parts=(), error=error)
    return SameParts(result=result, singles=singles, combined=combined)


def _combined(singles: Sequence[MeasureResult]) -> Combined:
    for single in singles:
        if single.error is not None:
            error = single.error
            raise type(error)(f"{single.name}: {error.message}", remedy=error.remedy, code=error.code)
    first, second = singles
    assert first.photo is not None
    assert second.photo is not None
    if first.photo.sha256 == second.photo.sha256:
        raise InputError(
            f"{first.name} and {second.name} are one photo twice.",
            remedy="Take a second photo, with the sheet turned by a quarter.",
        )
    assert first.found is not None
    assert second.found is not None
    return combine(first.found, second.found)


def same_parts_json(same: SameParts) -> dict[str, Any]:
    """Return the JSON line of both photos: that of one photo, with how the two compare."""
    line = result_json(same.result)
    if same.combined is None:
        return line
    return {
        **line,
        "same_parts": {
            "photos": [single.name for single in same.singles],
            "turned_deg": same.combined.turned_deg,
            "parts": [
                {
                    "id": number,
                    "id_in_second": other + 1,
                    "first": quantity_json(one.first),
                    "second": quantity_json(one.second),
                    "difference": quantity_json(one.difference),
                    "weight_of_first": one.weight,
                }
                for number, (one, other) in enumerate(
                    zip(same.combined.comparisons, same.combined.pairs, strict=True), start=1
                )
            ],
        },
    }
