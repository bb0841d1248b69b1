"""The distribution over the outlines of a measurement, where there are outlines and a model that fits them."""

from __future__ import annotations

import logging
import math
import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from areakit.errors import Fields, InputError, OutlineInvalid, RangeError, UnitError
from areakit.flags import Flag, flag
from areakit.plating.allowance import Method
from areakit.plating.contact import Footprint, Hand
from areakit.plating.deposit import square_metres
from areakit.plating.footprint import usual_overlap, usual_scatter_mm
from areakit.plating.premise import Origin, Premise, given, premise_of_range
from areakit.plural import counted
from areakit.records.part_outlines import PartOutline, read_part_outlines
from areakit.service.entries import read_footprint_size, read_premise, read_quantity
from areakit.service.plan_request import CORNERS
from areakit.service.plan_request import SpreadRequest as SpreadRequest
from areakit.service.wagner import NAME as WAGNER
from areakit.service.wagner import check_wagner, unsaid, wagner_premise
from areakit.uncertainty import exact

if TYPE_CHECKING:
    from areakit.plating.spread import NumberedPart, Spread

logger = logging.getLogger(__name__)

_EVENEST = "stated default: the overlap at which one pass of this footprint leaves the smallest ripple"
_THICKEST_SLEEVE_MM = 50.0
_STATED = "stated default, common practice"


def sized_words(footprint: str) -> bool:
    """Tell whether a footprint was typed as two lengths, not as an area."""
    return re.search(r"[x×]|\bby\b", footprint) is not None


def sized(request: SpreadRequest, footprint: str | None) -> tuple[SpreadRequest, str | None]:
    """Return request and footprint, a footprint that was typed as ``20 x 15 mm`` moved to where sizes stand."""
    if footprint is None or not sized_words(footprint):
        return request, footprint
    if request.footprint_size is not None:
        raise _twice()
    return replace(request, footprint_size=footprint), None


def _twice() -> InputError:
    words = "The brush footprint was given twice."
    return InputError(words, remedy="Give it once, as an area or as a size.", fields={"footprint": ""})


def _footprint_area(text: str) -> Premise:
    try:
        return read_premise(text, "area", "footprint")
    except UnitError:
        raise UnitError(
            f"{text.strip()[:40]!r} is not a brush footprint: neither an area nor two lengths.",
            remedy="Write its area, as 4 cm2, or its size across by along the lanes, as 20 x 15 mm.",
        ) from None


def footprint_patch(text: str, *, rounded: bool) -> Footprint:
    """Return the patch of a footprint typed as a size, or as an area: then it is as wide as long.

    UnitError, RangeError if it is neither.
    """
    request, area = sized(SpreadRequest(footprint_corners="round" if rounded else "square"), text)
    patch = _footprint(request, None if area is None else _footprint_area(area))
    assert patch is not None
    return patch


def footprint_entry(request: SpreadRequest, footprint: str | None, method: Method) -> Premise | None:
    """Return the footprint as an area [m2], typed as such or as a size; None where nobody said.

    InputError if it cannot be read, is given twice, or the method is that of a tank.
    """
    if method == "tank":
        if footprint is not None:
            raise of_other_method("footprint", method)
        return None
    if footprint is not None and request.footprint_size is not None:
        raise _twice()
    if request.footprint_size is None:
        return None if footprint is None else _footprint_area(footprint)
    patch = _footprint(request, None)
    assert patch is not None
    return Premise(name="footprint", quantity=square_metres(exact(patch.area_mm2, "mm2")), origin=patch.origin)


def lane_pitch(request: SpreadRequest, footprint: Premise | None) -> float | None:
    """Return the distance from lane to lane of a footprint, with or without an outline; None without one. [m]"""
    patch = _footprint(request, footprint)
    if patch is None or not patch.area_mm2 > 0.0:
        return None
    return patch.width_mm * (1.0 - _overlap(request, patch).value) / 1e3


def predict_spread(
    request: SpreadRequest,
    method: Method,
    *,
    measured: str | None,
    part: int | None,
    footprint: Premise | None = None,
    hand_speed: str | None = None,
    current_density: float | None = None,
) -> tuple[Spread | None, tuple[Flag, ...]]:
    """Return the predicted distribution, or None with a flag that says why the usual allowance stands.

    Without outlines there is nothing to predict and nothing to say. InputError for an option of the other method, an
    entry that cannot be read, or a picture of what was not predicted.
    """
    _check_method(request, method)
    outlines = read_part_outlines(measured) if measured is not None else ()
    chosen = [one for number, one in enumerate(outlines, start=1) if part in (None, number)]
    if not any(chosen) or (method == "brush" and footprint is None):
        _refuse_if_asked(request, outline=any(chosen))
        return None, ()
    hand = _hand(request, footprint, hand_speed) if method == "brush" else None
    if method == "tank":
        check_wagner(request, current_density)
    try:
        spread = _predict(request, chosen, hand=hand, pictured=part or 1, current_density=current_density)
    except (OutlineInvalid, RangeError, _NoPrediction) as error:
        if request.pictures or request.target_minimum is not None:
            raise
        return None, (flag("DISTRIBUTION_NOT_PREDICTED", reason=error.message),)
    logger.info("predicted the %s distribution over %s", method, counted(spread.parts, "part"))
    flags = (flag("WORST_PART", number=spread.part, count=spread.parts),) if spread.parts > 1 else ()
    unrolled = tuple(one.number for one in chosen if one is not None and one.form is not None)
    if unrolled:
        spread = replace(spread, laid_flat=unrolled)
        flags = (*flags, flag("LAID_FLAT", listed=", ".join(map(str, unrolled))))
    return spread, (*flags, *(unsaid(request) if method == "tank" else ()))


class _NoPrediction(InputError):
    """Outlines, but not of parts that the models are for."""

    def __init__(self, message: str, *, remedy: str, fields: Fields | None = None) -> None:
        super().__init__(message, remedy=remedy, fields=fields, code="INPUT_ERROR")


def _refuse_if_asked(request: SpreadRequest, *, outline: bool) -> None:
    """Raise where something was said of a distribution that cannot be predicted without an outline or a footprint."""
    if not request.asks:
        return
    if outline:
        raise InputError("The strokes need the brush footprint.", remedy="Give it.", fields={"footprint": "4 cm2"})
    raise InputError(
        "There is no outline to predict a distribution over.",
        remedy="Measure a photo or a drawing first.",
        fields={"from": ""},
    )


def _predict(
    request: SpreadRequest,
    chosen: list[PartOutline | None],
    *,
    hand: Hand | None,
    pictured: int,
    current_density: float | None,
) -> Spread:
    from areakit.plating.spread import brush_spread, tank_spread

    parts = [_flat_part(one, brush=hand is not None) for one in chosen]
    if hand is None:
        return tank_spread(parts, wagner=wagner_premise(request, parts, current_density), pictured=pictured)
    return brush_spread(parts, hand, target=_target(request), pictured=pictured)


def _flat_part(outline: PartOutline | None, *, brush: bool) -> NumberedPart:
    from areakit.plating.spread import not_flat, numbered_part

    if outline is None:
        raise _NoPrediction("One part has no outline.", remedy="Choose another part.", fields={"part": ""})
    if outline.joined is not None:
        raise _NoPrediction(
            f"The models are for parts of one form, and part {outline.number} is {outline.joined}.",
            remedy="Leave the picture out, and give the allowance from a trial part.",
            fields={"allowance": ""},
        )
    if outline.form is not None:
        outline = _laid_flat(outline, brush=brush)
    # Outlines have y upwards, pictures of them downwards; a distribution is the same in a mirror.
    part = numbered_part(outline.number, [[(x, -y) for x, y in ring] for ring in outline.rings])
    why = f"has a surface named {outline.shaped!r}" if outline.shaped else None
    if outline.faces == "walls":
        why = "is plated on its walls only"
    elif not_flat(part.polygon, outline.thickness_mm):
        why = f"is {outline.thickness_mm:.3g} mm thick, which is no flat plate"
    if why is not None:
        raise _NoPrediction(
            f"The models are for flat parts plated all over a face, and part {outline.number} {why}.",
            remedy="Leave the picture out.",
        )
    return part


def _laid_flat(outline: PartOutline, *, brush: bool) -> PartOutline:
    """Return the outside of a part with a form laid flat, over which a brush goes as over a flat part."""
    if not brush or outline.unrolled is None:
        why = "a tank" if not brush else "what cannot be laid flat"
        raise _NoPrediction(
            f"Part {outline.number} is of the form {outline.form}, and no model here is for {why}.",
            remedy="Leave the picture out, and give the allowance from a trial part.",
            fields={"allowance": ""},
        )
    return replace(outline, rings=outline.unrolled, thickness_mm=None)


_OPTION = {"footprint_size": "footprint"}
_CALLED = {"wagner": "Wagner number", "tafel_slope": "Tafel slope"}


def of_other_method(name: str, method: Method) -> InputError:
    """Return the error for an option that speaks of the other method."""
    other = "a brush" if method == "tank" else "a tank"
    return InputError(
        f"The {_CALLED.get(name, name.replace('_', ' '))} speaks of {other}, and the process plates by {method}.",
        remedy="Leave it out, or choose another process.",
        fields={name: ""},
    )


def _check_method(request: SpreadRequest, method: Method) -> None:
    """Refuse an option that speaks of the other method: it is a slip of the pen."""
    brush = (
        "footprint_size", "footprint_corners", "overlap", "overrun", "target_minimum", "lane_scatter",
        "sleeve_thickness",
    )  # fmt: skip
    tank = ("conductivity", "tafel_slope", *(("wagner",) if request.sleeve_thickness is None else ()))
    strange = brush if method == "tank" else tank
    for name in strange:
        if getattr(request, name) is not None:
            raise of_other_method(_OPTION.get(name, name), method)
    if request.footprint_corners not in (None, *CORNERS):
        raise InputError(
            f"Corners {request.footprint_corners!r} are not known.", remedy=f"Choose one of {', '.join(CORNERS)}."
        )


def _hand(request: SpreadRequest, footprint: Premise | None, hand_speed: str | None) -> Hand:
    from areakit.plating.spread import check_hand

    patch = _footprint(request, footprint)
    assert patch is not None
    speed = _hand_speed(hand_speed)
    sleeve = _sleeve_thickness(request)
    hand = Hand(
        footprint=patch,
        overlap=_overlap(request, patch),
        overrun=_overrun(request, patch),
        speed=speed,
        scatter=_scatter(request, patch),
        sleeve=sleeve,
        wagner=None if sleeve is None else _sleeve_wagner(request),
    )
    check_hand(hand, _target(request))
    return hand


def _sleeve_wagner(request: SpreadRequest) -> Premise:
    """Return the Wagner number that has the sleeve's thickness as its length."""
    if request.wagner is None:
        words = f"{_STATED}: the primary limit, the worst case"
        return Premise(name=WAGNER, quantity=exact(0.0, "1"), origin=_practice(words))
    quantity = read_quantity(request.wagner, "number", WAGNER)
    return Premise(name=WAGNER, quantity=quantity, origin=given())


def _target(request: SpreadRequest) -> float | None:
    return None if request.target_minimum is None else _ratio(request.target_minimum, "target minimum")


def _footprint(request: SpreadRequest, footprint: Premise | None) -> Footprint | None:
    """Return the patch of a size as typed, or the one as long as it is wide that has the area of the footprint."""
    rounded = request.footprint_corners != "square"
    corners = "with round corners" if rounded else "with square corners"
    stated = "" if request.footprint_corners else f" ({_STATED}: a soft sleeve)"
    if request.footprint_size is not None:
        width, length = read_footprint_size(request.footprint_size)
        words = f"{width:g} mm across by {length:g} mm along the lanes, {corners}{stated}"
        return Footprint(width_mm=width, length_mm=length, rounded=rounded, origin=given(words))
    if footprint is None:
        return None
    share = math.pi / 4.0 if rounded else 1.0
    side = math.sqrt(footprint.value * 1e6 / share)
    words = f"as wide as long from its area: {side:.3g} mm, {corners}{stated}"
    return Footprint(width_mm=side, length_mm=side, rounded=rounded, origin=given(words))


def _overlap(request: SpreadRequest, patch: Footprint) -> Premise:
    if request.overlap is None:
        value = usual_overlap(patch.width_mm, patch.length_mm, rounded=patch.rounded)
        return Premise(name="overlap", quantity=exact(value, "1"), origin=_practice(_EVENEST))
    return Premise(name="overlap", quantity=exact(_ratio(request.overlap, "overlap"), "1"), origin=given())


def _scatter(request: SpreadRequest, patch: Footprint) -> Premise:
    if request.lane_scatter is None:
        words = f"{_STATED}, no source: a tenth of the footprint's width, 2 mm at most"
        quantity = exact(usual_scatter_mm(patch.width_mm), "mm")
        return Premise(name="lane scatter", quantity=quantity, origin=_practice(words))
    value = read_quantity(request.lane_scatter, "length", "lane scatter").value * 1e3
    if not 0.0 <= value <= patch.width_mm:
        raise RangeError(
            f"A lane scatter of {value:.3g} mm is outside 0 to the footprint's width of {patch.width_mm:.3g} mm.",
            remedy="Give how far single lanes stray, as a standard deviation, such as 2 mm.",
        )
    return Premise(name="lane scatter", quantity=exact(value, "mm"), origin=given())


def _sleeve_thickness(request: SpreadRequest) -> Premise | None:
    if request.sleeve_thickness is None:
        return None
    value = read_quantity(request.sleeve_thickness, "length", "sleeve thickness").value * 1e3
    if not 0.0 < value <= _THICKEST_SLEEVE_MM:
        raise RangeError(
            f"A sleeve thickness of {value:.3g} mm is outside 0 to {_THICKEST_SLEEVE_MM:g} mm.",
            remedy="Give the thickness of the wet sleeve under the anode, such as 3 mm.",
        )
    return Premise(name="sleeve thickness", quantity=exact(value, "mm"), origin=given())


def _overrun(request: SpreadRequest, patch: Footprint) -> Premise:
    if request.overrun is None:
        words = f"{_STATED}: half the footprint, so that it runs clear of the edge"
        return Premise(name="overrun", quantity=exact(patch.length_mm / 2.0, "mm"), origin=_practice(words))
    value = read_quantity(request.overrun, "length", "overrun").value * 1e3
    return Premise(name="overrun", quantity=exact(value, "mm"), origin=given())


def _hand_speed(text: str | None) -> Premise:
    if text is not None:
        return read_premise(text, "speed", "hand speed")
    usual = premise_of_range("brush", "hand_speed", "hand speed")
    assert usual is not None, "the table holds the usual band"
    return usual


def _practice(words: str) -> Origin:
    return Origin(kind="practice", text=words, source="practice")


def _ratio(text: str, name: str) -> float:
    return read_quantity(text, "ratio", name).value


def spread_strokes(spread: Spread) -> dict[str, Any]:
    """Return the strokes of the pictured part as JSON; InputError for a tank, which has none."""
    from areakit.plating.strokes import StrokePlan
    from areakit.records.spread_json import strokes_json

    if not isinstance(spread.pictured, StrokePlan):
        raise InputError("A tank has no strokes.", remedy="Choose a brush process.")
    return strokes_json(spread.pictured)


def spread_svg(spread: Spread, what: str) -> str:
    """Return the picture of the pictured part: its ``map`` of thickness or dose, or its ``lanes``.

    InputError for the lanes of a tank.
    """
    from areakit.plating.distribution import ThicknessMap
    from areakit.reports.maps import dose_svg, lanes_svg, thickness_svg

    part = f", part {spread.pictured_part}" if spread.parts > 1 or spread.pictured_part > 1 else ""
    part += ", laid flat" if spread.pictured_part in spread.laid_flat else ""
    if isinstance(spread.pictured, ThicknessMap):
        if what == "lanes":
            raise InputError(
                "A tank has no lanes to draw.",
                remedy="Look at the map of the thickness, or choose a brush process.",
                fields={"map": "", "process": ""},
            )
        return thickness_svg(spread.pictured, title=f"Predicted thickness over its mean{part}")
    if what == "lanes":
        return lanes_svg(spread.pictured, title=f"Lanes of one pass{part}")
    return dose_svg(spread.pictured, title=f"Predicted dose of one pass over its mean{part}")
