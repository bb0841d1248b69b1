"""What brush work asks of a hand: strokes a minute, spells and breaks, and what to change where it is too much.

The limits are a table (``data/hands.csv``), common practice without a source.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from areakit.plating.findings import Finding
from areakit.plating.metals import figure, read_figures
from areakit.plating.premise import Origin, Premise, given
from areakit.plating.process import allowed_pause
from areakit.plating.run import MINUTE, PER_CM2, PER_DM2, AllowedDensity, Bench, BrushRun
from areakit.uncertainty import Measured, exact, propagate
from areakit.units import three_digits

if TYPE_CHECKING:
    from areakit.plating.spread import Spread


LARGER, LESS = "a larger brush", "less current"
TOO_FAST = "HANDS_TOO_FAST"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pace:
    """A pace that a hand keeps up: strokes a minute at most, for how long, and the break after it. [1/min, s, s]"""

    name: str
    strokes: float
    spell: float
    rest: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """A change that brings the work within what a hand can do; each touch of the brush deposits as much as before.

    - ``what``: ``a larger brush`` at the same current, or ``less current`` with the same brush.
    - ``footprint``: footprint of the tool. [m2]
    - ``current_density``: under the brush. [A/m2]
    - ``mean_current``: [A]
    - ``hand_speed``: [m/s]
    - ``time``: with the tool in hand, one piece. [s]
    """

    what: str
    footprint: float
    current_density: float
    mean_current: float
    hand_speed: float
    strokes_per_minute: float
    time: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HandWork:
    """The hand's share in one layer of all pieces.

    - ``stroke``: way from one turn to the next. [m]
    - ``strokes_per_minute``: ways to and fro count as two. [1/min]
    - ``spells``: number of spells, each of at most ``pace.spell``; a break of ``pace.rest`` lies between two.
    - ``time``, ``whole``: with the tool in hand, all pieces; and with the breaks. [s]
    - ``too_fast``: nobody keeps this up for one piece.
    - ``reactivate``: longest time without current that the metal bears, where a break within a piece is longer. [s]
    - ``offers``: what to change, where it is too fast.
    """

    stroke: Premise
    strokes_per_minute: Measured
    pace: Pace
    spells: int
    time: float
    whole: float
    too_fast: bool
    reactivate: float | None
    offers: tuple[Offer, ...]


@cache
def paces() -> tuple[Pace, Pace, Pace]:
    """Return the paces, slowest first: steady, quick, and a burst, which has no upper end."""
    rows = {(row.subject, row.property_name): row.value for row in read_figures("hands.csv")}
    steady, quick, burst = (
        Pace(
            name=name,
            strokes=rows.get((name, "strokes"), math.inf),
            spell=rows[name, "spell"],
            rest=rows[name, "rest"],
        )
        for name in ("steady", "quick", "burst")
    )
    return steady, quick, burst


def pace_of(strokes: float) -> Pace:
    """Return the slowest pace that holds so many strokes a minute."""
    return next(pace for pace in paces() if strokes <= pace.strokes * (1.0 + 1e-9))


def hand_work(
    run: BrushRun,
    bench: Bench,
    *,
    metal: str,
    area: Measured,
    allowed: AllowedDensity | None,
    spread: Spread | None = None,
) -> HandWork:
    """Return what a layer by brush asks of the hand.

    - ``area``: plated area of one piece. [m2]
    - ``spread``: the lanes of the brush; without them and a typed stroke, one is as long as a square of the plated area
      is wide.
    """
    stroke, strokes = _strokes(run, bench, area=area, spread=spread)
    pace = pace_of(strokes.value)
    each = run.time.value
    whole = each * bench.pieces
    spells = max(1, math.ceil(whole / pace.spell * (1.0 - 1e-9)))
    pause = allowed_pause(metal).value
    too_fast = math.isinf(pace.strokes) and each > pace.spell * (1.0 + 1e-9)
    return HandWork(
        stroke=stroke,
        strokes_per_minute=strokes,
        pace=pace,
        spells=spells,
        time=whole,
        whole=whole + (spells - 1) * pace.rest,
        too_fast=too_fast,
        reactivate=pause if each > pace.spell and pace.rest > pause else None,
        offers=_offers(run, bench, strokes=strokes.value, area=area.value, allowed=allowed) if too_fast else (),
    )


def _strokes(run: BrushRun, bench: Bench, *, area: Measured, spread: Spread | None) -> tuple[Premise, Measured]:
    """Return the length of a stroke [m] and strokes a minute: as typed, by the lanes, else by the area."""
    speed = run.hand_speed.quantity
    if bench.stroke is not None:
        stroke = Premise(name="stroke", quantity=exact(bench.stroke, "m"), origin=given())
    elif spread is not None and spread.lanes is not None:
        stroke = _lane(spread, speed.value)
    else:
        text = "as long as a square of the plated area is wide; an outline or a stated stroke says more"
        length = exact(math.sqrt(area.value), "m")
        stroke = Premise(name="stroke", quantity=length, origin=Origin(kind="practice", text=text, source="practice"))
    way = stroke.value
    return stroke, propagate(lambda v: MINUTE * v / way, speed, unit="1/min")


def _lane(spread: Spread, speed: float) -> Premise:
    """Return the way of the hand from turn to turn over the lanes, the steps to the next lane and lifts included."""
    plan = spread.predicted
    lanes, seconds = len(plan.lanes), plan.seconds_per_pass  # type: ignore[union-attr]
    text = f"{lanes} lanes in {seconds:.2g} s over part {spread.part}"
    length = exact(speed * seconds / lanes, "m")
    return Premise(name="stroke", quantity=length, origin=Origin(kind="measured", text=text))


def _offers(
    run: BrushRun, bench: Bench, *, strokes: float, area: float, allowed: AllowedDensity | None
) -> tuple[Offer, ...]:
    """Return a larger brush at the same current, and less current with the same brush, for a pace that can be kept up.

    Speed and current density fall by the same factor, so that each touch of the brush deposits as much as before
    (common practice, no source). The factor is the smaller one where the larger leaves the range or the usual speeds.
    """
    assert bench.footprint is not None, "a run by brush has a footprint"
    low, slowest = (allowed.low or 0.0) if allowed else 0.0, figure("brush", "hand_speed_low").measured().value
    factors = [strokes / pace.strokes for pace in paces()[:2]]
    within = [factor for factor in factors if run.current_density / factor >= low * (1.0 - 1e-9)]
    usual = [factor for factor in within if run.hand_speed.value / factor >= slowest * (1.0 - 1e-9)]
    if not within:
        return ()
    factor = usual[0] if usual else within[0]
    footprint = min(bench.footprint.value, area)
    shared = {
        "current_density": run.current_density / factor,
        "hand_speed": run.hand_speed.value / factor,
        "strokes_per_minute": strokes / factor,
    }
    mean, time = run.mean_current.value, run.time.value
    larger = Offer(what=LARGER, footprint=footprint * factor, mean_current=mean, time=time, **shared)
    less = Offer(what=LESS, footprint=footprint, mean_current=mean / factor, time=time * factor, **shared)
    return tuple(offer for offer in (larger, less) if offer.footprint <= area * (1.0 + 1e-9))


def hands_finding(works: Mapping[str, HandWork]) -> Finding | None:
    """Return a caution where layers, by metal, ask for more than a hand can do, with what to change in figures."""
    fast = {metal: work for metal, work in works.items() if work.too_fast}
    if not fast:
        return None
    asked = " and ".join(
        f"{work.strokes_per_minute.value:.0f} strokes a minute for {_minutes(work.time)} of {metal}"
        for metal, work in fast.items()
    )
    first = next(iter(fast.values()))
    return Finding(
        code=TOO_FAST,
        severity="check",
        message=f"The hand has to make {asked}: more than it can do.",
        why=f"Nobody keeps more than {paces()[1].strokes:.0f} strokes a minute up for longer than "
        f"{_minutes(first.pace.spell)} (common practice, no source); a tired hand slows, and the deposit burns.",
        source="practice",
        remedy=" ".join(_remedy(metal, work) for metal, work in fast.items()),
        fields={
            key: text
            for metal, work in fast.items()
            for key, text in (_fields(metal, work.offers[0]) if work.offers else {}).items()
        },
    )


def offer_words(offer: Offer) -> str:
    """Return one offer in words, with its figures."""
    what = (
        f"a brush of {three_digits(offer.footprint * PER_CM2)} cm² footprint at the same current"
        if offer.what == LARGER
        else f"{three_digits(offer.mean_current)} A mean with this brush"
    )
    return f"{what} ({offer.strokes_per_minute:.0f} strokes a minute, {_minutes(offer.time)} a piece)"


def _remedy(metal: str, work: HandWork) -> str:
    if not work.offers:
        return f"Plate the {metal} in a tank, or take a solution for a lower current density."
    offers = " or ".join(offer_words(offer) for offer in work.offers)
    return f"{metal.capitalize()}: take {offers}."


def _fields(metal: str, offer: Offer) -> dict[str, str]:
    return {
        **({"footprint": f"{three_digits(offer.footprint * PER_CM2)} cm2"} if offer.what == LARGER else {}),
        f"current_density.{metal}": f"{three_digits(offer.current_density / PER_DM2)} A/dm2",
        "hand_speed": f"{three_digits(offer.hand_speed * MINUTE)} m/min",
    }


def short_words(works: Mapping[str, HandWork]) -> str:
    """Return the same in one line for a card; empty where a hand can do it."""
    fast = {metal: work for metal, work in works.items() if work.too_fast}
    if not fast:
        return ""
    most = max(work.strokes_per_minute.value for work in fast.values())
    made = [(one, work) for work in fast.values() for one in work.offers]
    larger = [one.footprint for one, _ in made if one.what == LARGER]
    less = [one.strokes_per_minute / work.strokes_per_minute.value for one, work in made if one.what == LESS]
    offers = [f"{max(larger) * PER_CM2:.2g} cm² of brush at this current"] if larger else []
    offers += [f"{100.0 * min(less):.0f} % of the current"] if less else []
    told = f": {', or '.join(offers)}" if offers else " for a hand"
    return f"{most:.0f} strokes a minute are too many{told}"


def _minutes(seconds: float) -> str:
    return f"{three_digits(seconds / MINUTE)} min"


def schedule_words(metal: str, work: HandWork) -> str:
    """Return spells and breaks of a layer in one sentence."""
    pace = work.pace
    strokes = f"{work.strokes_per_minute.value:.0f} strokes a minute"
    if work.too_fast:
        offers = " or ".join(offer_words(offer) for offer in work.offers)
        told = f"; take {offers}" if offers else ""
        return f"{metal.capitalize()}: {strokes} for {_minutes(work.time)}, more than a hand can do{told}."
    spell = _minutes(work.time / work.spells)
    rhythm = (
        f"in one spell of {spell}"
        if work.spells == 1
        else f"in {work.spells} spells of {spell} with breaks of {_minutes(pace.rest)}, {_minutes(work.whole)} in all"
    )
    words = f"{metal.capitalize()}: {strokes}, {rhythm}."
    if work.reactivate is not None:
        words += (
            f" {metal.capitalize()} bears {work.reactivate:.0f} s without current: change hands, or activate again."
        )
    return words
