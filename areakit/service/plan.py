"""Make a plan from what was asked for: one request in, one plan out."""

from __future__ import annotations

import logging
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from areakit.errors import InputError, RangeError
from areakit.flags import Flag, flag
from areakit.foreign_text import toml_from
from areakit.plating.allowance import Method
from areakit.plating.plan import Order, Plan, make_plan
from areakit.plating.premise import Premise
from areakit.plating.preparation import prepared
from areakit.plating.process import BASE_GROUPS, Process, process, process_from
from areakit.plating.requirements import requirement
from areakit.plating.run import Bench
from areakit.service.entries import (
    per_metal,
    read_area,
    read_premise,
    read_quantity,
    refuse_second_uncertainty,
)
from areakit.service.pieces import Pieces, choose_pieces, read_pieces
from areakit.service.plan_factors import names_of, own_factors
from areakit.service.plan_layer import layer_of, tank_density
from areakit.service.plan_request import MARKETS, USES, PlanRequest
from areakit.service.shop_request import entries_of, from_shop, request_of
from areakit.service.spread import footprint_entry, lane_pitch, of_other_method, predict_spread, sized
from areakit.uncertainty import COVERAGE_FACTOR

if TYPE_CHECKING:
    from areakit.plating.spread import Spread

logger = logging.getLogger(__name__)

RECOVERED_FROM = ("sleeve", "drag-out", "run-off")


def plan(request: PlanRequest) -> Plan:
    """Return the plan that a request asks for.

    InputError for an entry that cannot be read, or that the plan cannot do without; RangeError for a figure outside
    what a plan can mean.
    """
    request = from_shop(request).request
    return _plan(request, _piece(request))


def plan_all(request: PlanRequest) -> tuple[Plan, ...]:
    """Return a plan for each kind of part in a measurement, side by side: equal parts are pieces of one plan.

    InputError as for :func:`plan`; if a number of pieces was typed, and the parts are of several kinds.
    """
    request = from_shop(request).request
    if request.measured is None or request.area is not None or request.part is not None:
        if request.together:
            raise InputError(
                "There is one kind of part, and nothing to hang together with it.",
                remedy="Leave it out.",
                fields={"together": ""},
            )
        return (plan(request),)
    refuse_second_uncertainty(request.area_uncertainty)
    kinds = read_pieces(request.measured)
    if len(kinds) > 1 and request.pieces is not None:
        raise InputError(
            f"There are {len(kinds)} kinds of parts, and {request.pieces} pieces could be of any.",
            remedy="Name the part, or leave the number of pieces out.",
            fields={"part": "", "pieces": ""},
        )
    if request.together and len(kinds) > 1:
        from areakit.plating.together import hung_together

        return hung_together([_order(request, one) for one in kinds])
    return tuple(_plan(request, one) for one in kinds)


def _piece(request: PlanRequest) -> Pieces:
    if request.measured is not None and request.area is None:
        refuse_second_uncertainty(request.area_uncertainty)
        return choose_pieces(request.measured, request.part)
    area = read_area(
        area=request.area, area_uncertainty=request.area_uncertainty, measured=request.measured, part=request.part
    )
    return Pieces(numbers=(), count=1, area=area.area, origin=area.origin, flags=area.flags)


def _plan(request: PlanRequest, piece: Pieces) -> Plan:
    result = make_plan(_order(request, piece))
    logger.info("planned %s: %d layers, %d findings", request.process, len(result.layers), len(result.findings))
    return result


def _order(request: PlanRequest, piece: Pieces) -> Order:
    _check_words(request)
    count = piece.count if request.pieces is None else request.pieces
    request = replace(request, pieces=count, part=piece.numbers[0] if piece.numbers else None)
    asked = _asked(request)
    spread, footprint = sized(request.spread, request.footprint)
    request = replace(request, spread=spread, footprint=footprint)
    sequence = _process(request)
    standards = {needed.metal: needed for needed in (requirement(key) for key in request.requirements)}
    metals = list(dict.fromkeys([*request.layers, *standards]))
    _check_metals(request, [*metals, *sequence.metals])
    bench = _bench(request, sequence.method)
    predicted, told = _spread(request, sequence.method, metals=metals, bench=bench)
    if sequence.method == "brush" and (predicted is None or predicted.hand is None or predicted.hand.sleeve is None):
        told = (*told, flag("EDGES_LEFT_OUT"))
    return Order(
        area=piece.area,
        area_origin=piece.origin,
        parts=piece.numbers,
        process=sequence,
        layers=tuple(
            layer_of(
                request,
                sequence.method,
                metal,
                standard=standards.get(metal),
                spread=predicted,
                footprint=bench.footprint,
            )
            for metal in metals
        ),
        bench=bench,
        base=request.base,
        market=request.market,
        use=request.use,
        meter_uncertainty=_meter(request),
        even_chance=request.even_chance,
        flags=(*piece.flags, *request.record_flags, *told),
        spread=predicted,
        asked=asked,
        brush=request.brush_taken,
    )


_NOT_ASKED = ("measured", "journal", "own", "record_flags", "together")
"""What a plan does not keep of its request: it stands elsewhere in the record, or is looked up there anew."""


def _asked(request: PlanRequest) -> dict[str, Any]:
    """Return what was asked for, as JSON holds it; ``own`` is the brush by metal where the factor is the shop's own."""
    said = {name: value for name, value in entries_of(request).items() if name not in _NOT_ASKED and value is not None}
    return {**said, **({"own": {metal: one.brush for metal, one in request.own.items()}} if request.own else {})}


def plan_again(
    asked: Mapping[str, Any], *, measured: str | None, parts: Sequence[int], pieces: int, journal: Path
) -> Plan:
    """Return a plan of before for another number of pieces, with the shop's own factors as they are now.

    InputError if the measurement does not hold these parts as one kind.

    Parameters
    ----------
    asked : mapping
        What the plan of before keeps as ``asked``.
    measured : str or None
        The measurement that it was made from; None for a typed area.
    parts : sequence of int
        Numbers of the equal parts in it.
    journal : Path
        Where own factors are looked up.
    """
    entries = {**asked, "requirements": tuple(asked.get("requirements") or ()), "measured": measured, "own": None}
    metals: Mapping[str, str] = asked.get("own") or {}
    named: Mapping[str, str] = asked.get("solution") or {}
    own = own_factors(
        journal,
        solutions={m: names_of(name, asked.get("solutions")) for m, name in named.items() if m in metals},
        bottles={metal: label for metal, label in (asked.get("bottle") or {}).items() if metal in metals},
        brush=next(iter(metals.values()), ""),
    )
    request = replace(request_of(entries), pieces=pieces, own=own)
    if measured is None:
        return _plan(request, _piece(request))
    kind = next((one for one in read_pieces(measured) if one.numbers == tuple(parts)), None)
    return _plan(request, kind or choose_pieces(measured, request.part))


def pictured(request: PlanRequest, what: str) -> Any:
    """Return what a plan predicts over an outline: its ``map`` or ``lanes`` as SVG text, its ``strokes`` as JSON.

    InputError as for :func:`plan`, and where there is nothing to predict.
    """
    from areakit.service.spread import spread_strokes, spread_svg

    spread = plan(replace(request, spread=replace(request.spread, pictures=True))).order.spread
    if spread is None:
        raise InputError("Nothing was predicted that could be drawn.", remedy="Give the brush footprint.")
    return spread_strokes(spread) if what == "strokes" else spread_svg(spread, what)


def _check_words(request: PlanRequest) -> None:
    if request.base is not None and request.base not in BASE_GROUPS:
        raise InputError(
            f"The base {request.base!r} has no preparation here.",
            remedy=f"Known bases: {', '.join(BASE_GROUPS)}; clad is thin copper on a plastic laminate.",
        )
    if request.use is not None and request.use not in USES:
        raise InputError(f"The use {request.use!r} is not known.", remedy=f"Choose one of {', '.join(USES)}.")
    if request.market is not None and request.market.lower() not in MARKETS:
        raise InputError(f"The market {request.market!r} is not known.", remedy=f"Choose one of {', '.join(MARKETS)}.")
    strange = [place for place in request.recover if place not in RECOVERED_FROM]
    if strange:
        raise InputError(
            f"Nothing is recovered from {strange[0]!r}.", remedy=f"Choose among {', '.join(RECOVERED_FROM)}."
        )


def _check_metals(request: PlanRequest, metals: list[str]) -> None:
    """Refuse an option for a metal that the plan does not plate: it is a slip of the pen."""
    by_metal = (
        ("efficiency", request.efficiency),
        ("factor", request.factor),
        ("density", request.density),
        ("current density", request.current_density),
        ("allowance", request.allowance),
        ("metal content", request.metal_content),
        ("bath", request.bath),
        ("solution", request.solution),
        ("bottle", request.bottle),
    )
    for what, entries in by_metal:
        strange = [metal for metal in entries if metal and metal not in metals]
        if strange:
            raise InputError(
                f"The {what} is given for {strange[0]}, which this plan does not plate.",
                remedy=f"The plan plates {', '.join(dict.fromkeys(metals)) or 'nothing'}.",
            )


def _process(request: PlanRequest) -> Process:
    if request.processes is None:
        return prepared(process(request.process), request.base)
    try:
        own = toml_from(request.processes).get("processes", {})
    except ValueError as error:
        raise InputError(f"The process file is not valid TOML: {error}.", remedy='Write key = "value" lines.') from None
    if isinstance(own, dict) and isinstance(own.get(request.process), dict):
        return process_from(request.process, own[request.process])
    return prepared(process(request.process), request.base)


def _bench(request: PlanRequest, method: Method) -> Bench:
    footprint = footprint_entry(request.spread, request.footprint, method)
    return Bench(
        footprint=footprint,
        contact_fraction=_contact_fraction(request, method),
        pitch=lane_pitch(request.spread, footprint) if method == "brush" else None,
        supply=_plain(request.supply, "current", "supply"),
        pieces=1 if request.pieces is None else request.pieces,
        pieces_per_load=request.pieces_per_load,
        stroke=_plain(request.stroke, "length", "stroke"),
        hand_speed=read_premise(request.hand_speed, "speed", "hand speed") if request.hand_speed else None,
    )


def _contact_fraction(request: PlanRequest, method: Method) -> Premise | None:
    if request.contact_fraction is None:
        return None
    if method == "tank":
        raise of_other_method("contact_fraction", method)
    return read_premise(request.contact_fraction, "ratio", "contact fraction")


def _plain(text: str | None, kind: str, name: str) -> float | None:
    return None if text is None else read_quantity(text, kind, name).value


def _meter(request: PlanRequest) -> float:
    if request.meter_uncertainty is None:
        return 0.0
    expanded = read_quantity(request.meter_uncertainty, "ratio", "meter").value
    if not 0.0 <= expanded < 1.0:
        raise RangeError("The uncertainty of the meter is outside 0 to 100 %.", remedy="Give it as a percentage.")
    return expanded / COVERAGE_FACTOR


def _spread(
    request: PlanRequest, method: Method, *, metals: list[str], bench: Bench
) -> tuple[Spread | None, tuple[Flag, ...]]:
    """Return the predicted distribution unless every allowance was typed and no picture is wanted."""
    wanted = request.spread.asks or any(per_metal(request.allowance, metal) is None for metal in metals)
    if not wanted:
        return None, ()
    return predict_spread(
        request.spread,
        method,
        measured=request.measured,
        part=request.part,
        footprint=bench.footprint,
        hand_speed=request.hand_speed,
        current_density=_highest_density(request, metals) if method == "tank" and request.spread.conductivity else None,
    )


def _highest_density(request: PlanRequest, metals: list[str]) -> float | None:
    """Return the highest mean current density of the layers, where the current spreads worst. [A/m2]"""
    found = [tank_density(request, metal) for metal in metals]
    known = [density for density in found if density is not None]
    return max(known) if len(known) == len(found) else None
