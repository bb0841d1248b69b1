"""The rise of a dome from a second photo, in which the part stands on its edge."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

from areakit.errors import InputError, MeasurementError
from areakit.geometry.forms.seen import View
from areakit.geometry.forms.size import long_way, sides_of
from areakit.geometry.forms.words import read_form
from areakit.geometry.outline import Outline
from areakit.imaging.photo import LARGEST_PIXELS
from areakit.service.described import read_thickness
from areakit.service.measure import MeasuredPart, MeasureRequest, measure, measure_bytes
from areakit.uncertainty import Measured, propagate

SAME_WIDTH = 0.03
"""Share by which the part may be wider or narrower from the side than from above."""
LEVEL_SHARE = 0.05
"""Half-width of the height of the top of the dome over the sheet, as a share of the width of the part."""
MOST_ASLANT = 0.25
"""Share of the rise by which a rim that is seen aslant may widen the outline."""
_AGAIN = "Stand the part on its edge straight below the camera, and take the second photo again."


def with_rise(
    photo: Path | bytes, side: Path | bytes, request: MeasureRequest, *, largest_pixels: int = LARGEST_PIXELS
) -> MeasureRequest:
    """Return the request with the rise of the dome, as the second photo shows it.

    From the side the outline is as long as the part is wide, and as deep as it rises, with its thickness. It is read at
    half the width of the part above the sheet, where the top of the dome is. A rim that is not straight below the
    camera is seen aslant, and half of what that may add is taken off. InputError if the form is not ``domed``, has its
    rise already, or the thickness is not given; MeasurementError if a photo is refused, shows several parts, or the two
    do not show one part.
    """
    form = read_form(request.form) if request.form else None
    if form is None or form.name != "domed" or form.figure("rise") is not None:
        raise InputError(
            "A photo from the side gives the rise of a dome.",
            remedy="Say domed without a rise.",
            fields={"form": "domed"},
        )
    thickness = read_thickness(request.thickness)
    if thickness is None:
        raise InputError(
            "From the side a dome shows its rise and its thickness together.",
            remedy="Give the thickness too.",
            fields={"thickness": "1.2 mm"},
        )
    above = _one(
        photo, replace(request, form=None, faces="one", parts=(), regions=()), seen="from above", most=largest_pixels
    )
    width, _ = sides_of(above.part.outline)
    half = width.value / 2.0
    level = f"{half:.4f} ± {LEVEL_SHARE * width.value:.4f} mm"
    plain = MeasureRequest(
        thickness=level, mark=request.mark, check_lengths=request.check_lengths, reading=request.reading,
        lenses=request.lenses,
    )  # fmt: skip
    beside = _one(side, plain, seen="from the side", most=largest_pixels)
    rise = _rise(beside, width, thickness)
    half = math.sqrt(3.0) * rise.standard_uncertainty
    places = max(2 - math.floor(math.log10(half)), 0)  # three digits of the half-width lose nothing of it
    return replace(request, form=f"{request.form}, rise {rise.value:.{places}f} ± {half:.{places}f} mm")


def _one(photo: Path | bytes, request: MeasureRequest, *, seen: str, most: int) -> MeasuredPart:
    """Return the one part of a photo; what is wrong is said of the photo that it is wrong with."""
    if isinstance(photo, Path):
        result = next(measure([photo], request))
    else:
        result = measure_bytes(photo, request, name=f"photo {seen}", largest_pixels=most)
    if (error := result.error) is not None:
        raise type(error)(f"{seen.capitalize()}: {error.message}", remedy=error.remedy, code=error.code)
    if len(result.parts) != 1:
        raise MeasurementError(
            f"The photo {seen} shows {len(result.parts)} parts; a dome and its side are one part each.",
            remedy="Take photos with one part in each.",
        )
    return result.parts[0]


def _rise(beside: MeasuredPart, width: Measured, thickness: Measured) -> Measured:
    outline, view = beside.part.outline, beside.part.view
    long, short = sides_of(outline)
    if abs(long.value / width.value - 1.0) > SAME_WIDTH:
        raise MeasurementError(
            f"The part is {width.value:.4g} mm wide from above and {long.value:.4g} mm from the side.",
            remedy=f"{_AGAIN} It stands on the side across its widest place.",
        )
    rise = propagate(lambda depth, t: depth - t, short, thickness, unit="mm")
    added = _seen_aslant(outline, view, width.value) if view is not None else 0.0
    value = rise.value - added / 2.0
    if value <= 0.0 or added > MOST_ASLANT * value:
        raise MeasurementError(
            f"From the side the part is {short.value:.3g} mm deep, of which {thickness.value:.3g} mm are its thickness "
            f"and up to {added:.2g} mm its rim seen aslant.",
            remedy=_AGAIN,
        )
    return Measured(value=value, unit="mm", budget={**rise.budget, "rim seen aslant": added / 2.0 / math.sqrt(3.0)})


def _seen_aslant(outline: Outline, view: View, width: float) -> float:
    """Return by how much the upper half of an upright rim may stand out beside its middle, as the camera sees it. [mm]

    A point higher by w / 2 is seen further from the camera's foot by its distance d times (w / 2) / (H - w) (similar
    triangles); d counts square to the rim.
    """
    (along_x, along_y), middle = long_way(outline), outline.polygon.centroid
    across = abs((middle.x - view.x_mm) * -along_y + (middle.y - view.y_mm) * along_x)
    return float(across * (width / 2.0) / (view.height_mm - width))
