"""Measure the same parts in two photos together: each by itself, held against the other, then the best of both."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from areakit.errors import AreakitError, InputError
from areakit.imaging.budget import UNKNOWN_HEIGHT_MM
from areakit.imaging.same_part import Combined, combine
from areakit.imaging.second_view import Settled, settle
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
        Each photo by itself, with what the other settled.
    combined : Combined or None
        None where the two are refused.
    settled : tuple of tuple of Settled
        For each photo, the questions of it that the other answered.
    """

    result: MeasureResult
    singles: tuple[MeasureResult, ...]
    combined: Combined | None
    settled: tuple[tuple[Settled, ...], ...] = ((), ())


def measure_same_parts(paths: Sequence[Path], request: MeasureRequest) -> SameParts:
    """Measure two photos of the same parts together.

    InputError if there are not two photos, or the request makes no sense.
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
    settled = _settled(singles)
    requests = [_with_answers(request, answers) for answers in settled]
    singles = tuple(
        next(measure([path], told)) if answers else single
        for path, told, answers, single in zip(paths, requests, settled, singles, strict=True)
    )
    name = " + ".join(single.name for single in singles)
    photo = singles[0].photo
    combined = None
    try:
        combined = _combined(singles)
        result = MeasureResult(
            name=name, photo=photo, found=combined.found, parts=measured_parts(combined.found, requests[0])
        )
    except AreakitError as error:
        result = MeasureResult(name=name, photo=photo, found=None, parts=(), error=error)
    return SameParts(result=result, singles=singles, combined=combined, settled=settled)


def _settled(singles: Sequence[MeasureResult]) -> tuple[tuple[Settled, ...], ...]:
    """Return for each photo what the other answers; nothing where either is refused, or they are one photo twice."""
    first, second = singles
    if first.found is None or second.found is None or _digest(first) == _digest(second):
        return (), ()
    heights = [part.part.thickness.value for part in first.parts if part.part.thickness is not None]
    height_mm = max(heights, default=UNKNOWN_HEIGHT_MM)
    return settle(first.found, second.found, height_mm), settle(second.found, first.found, height_mm)


def _digest(single: MeasureResult) -> str:
    return single.photo.sha256 if single.photo else ""


def _with_answers(request: MeasureRequest, settled: Sequence[Settled]) -> MeasureRequest:
    """Return the request of one photo with what the other answered."""
    return replace(
        request,
        holes=(*request.holes, *(one.at for one in settled if one.kind == "hole")),
        metal=(*request.metal, *(one.at for one in settled if one.kind == "metal")),
    )


def _combined(singles: Sequence[MeasureResult]) -> Combined:
    for single in singles:
        if single.error is not None:
            error = single.error
            raise type(error)(
                f"{single.name}: {error.message}", remedy=error.remedy, fields=error.fields, code=error.code
            )
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
            "settled": [
                {"photo": single.name, "code": one.code, "at": one.at, "is": one.kind, "how": one.how}
                for single, answers in zip(same.singles, same.settled, strict=True)
                for one in answers
            ],
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
