"""The distribution predicted over the outlines of parts, as the allowance of a plan and with its uncertainty.

Two shares make up that uncertainty. The discretisation is the change of the answer from half as many panels (tank) or
a hundredth (brush). The model's own share is an estimate, marked as practice: anodes, neighbours and walls of a tank,
what a hand does beyond its scatter. How far the minimum itself may lie from its expectation after so many passes is the
share of the hand.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from shapely.geometry import Polygon

from areakit.errors import RangeError
from areakit.plating.allowance import Method, default_allowance
from areakit.plating.contact import Hand, LaneContact
from areakit.plating.deposit import square_metres
from areakit.plating.distribution import ThicknessMap, predict_tank
from areakit.plating.edges import edge_gain
from areakit.plating.lanes import Brush
from areakit.plating.premise import Origin, Premise
from areakit.plating.scatter import USUAL_PASSES, Scatter, ScatteredDose, scattered_dose
from areakit.plating.strokes import StrokePlan, check_brush, overlap_for, plan_strokes
from areakit.uncertainty import Measured, exact, propagate, total
from areakit.units import show_found

PASSES_WORDS = "; minimum after "
PANELS = 1800
FEW_PARTS = 12
"""Up to so many parts, the worst is chosen with half as many panels; of more, with a quarter."""
DISCRETISATION = 0.01
"""Least half-width of the discretisation share, of the allowance (a disk is right to 1 % at its centre)."""
MODEL_SHARE = 0.2
"""Standard share of the model, of what the allowance is above one: an estimate, no source."""
THICKEST = 1.0 / 3.0
"""A part thicker than this share of the diameter of the disk of equal area is not taken as a flat plate."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberedPart:
    """A part by its number in the measurement, with its outline. [mm]"""

    number: int
    polygon: Polygon


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """The overlap that reaches a wanted minimum over mean dose; None, with the reason, where none does."""

    target: float
    overlap: float | None
    reason: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """The distribution that a plan rests on: that of the worst part.

    - ``part``, ``parts``: number of that part, and how many were looked at.
    - ``predicted``: what was predicted for it.
    - ``pictured_part``, ``pictured``: the part to draw, and what was predicted for that one.
    - ``allowance``: mean over minimum. [1]
    - ``origin``: where the allowance comes from, in words.
    - ``premises``: Wagner number, or the figures of the hand.
    - ``laid_flat``: numbers of the parts whose outside was laid flat, as it is drawn.
    - ``scattered``: what the hand's scatter makes of the strokes; None in a tank, and where the lanes are repeated
      exactly.
    """

    method: Method
    part: int
    parts: int
    predicted: ThicknessMap | StrokePlan
    pictured_part: int
    pictured: ThicknessMap | StrokePlan
    allowance: Measured
    origin: Origin
    premises: tuple[Premise, ...]
    hand: Hand | None = None
    reach: Reach | None = None
    lanes: LaneContact | None = None
    laid_flat: tuple[int, ...] = ()
    scattered: ScatteredDose | None = None

    def at_passes(self, passes: Measured) -> Spread:
        """Return the distribution after so many passes [1]: the more there are, the more evenly a hand's lanes lie."""
        if self.scattered is None or self.lanes is None:
            return self
        minimum, deviation = self.scattered.minimum_over_mean(passes.value)
        if minimum <= 0.0:
            raise _untouched(self.part)
        value = self.lanes.gain / minimum
        allowance = _allowance("brush", value, grid=DISCRETISATION * value / math.sqrt(3.0))
        words = f"{self.origin.text.split(PASSES_WORDS)[0]}{PASSES_WORDS}{show_found(passes)} passes"
        return replace(
            self,
            allowance=allowance.plus_shares(**{"distribution: hand": value * deviation / minimum}),
            origin=replace(self.origin, text=words),
        )

    def premise(self, metal: str) -> Premise:
        """Return the allowance as the premise of a layer."""
        return Premise(name=f"{metal} distribution allowance", quantity=self.allowance, origin=self.origin)

    @property
    def minimum_over_mean(self) -> Measured:
        """Least over mean thickness, with the uncertainty of the allowance. [1]"""
        return propagate(lambda k: 1.0 / k, self.allowance, unit="1")


def tank_spread(parts: Sequence[NumberedPart], *, wagner: Premise, pictured: int | None = None) -> Spread:
    """Return the distribution in a tank over the worst of several parts.

    Raises OutlineInvalid, RangeError if an outline or the Wagner number cannot be used.
    """
    number = wagner.value
    worst = parts[0] if len(parts) == 1 else _worst_in_tank(parts, number)
    fine = predict_tank(worst.polygon, wagner=number, panels=PANELS)
    coarse = predict_tank(worst.polygon, wagner=number, panels=PANELS // 2)
    grid = max(abs(fine.allowance - coarse.allowance), DISCRETISATION * fine.allowance / math.sqrt(3.0))
    wagner_share = _wagner_share(worst.polygon, wagner)
    drawn = _part(parts, pictured, worst)
    return Spread(
        method="tank",
        part=worst.number,
        parts=len(parts),
        predicted=fine,
        pictured_part=drawn.number,
        pictured=fine if drawn is worst else predict_tank(drawn.polygon, wagner=number, panels=PANELS),
        allowance=_allowance("tank", fine.allowance, grid=grid).plus_shares(**{wagner.name: wagner_share}),
        origin=_origin(worst, parts, f"current distribution in a tank, {_wagner_words(wagner)}"),
        premises=(wagner,),
    )


def brush_spread(
    parts: Sequence[NumberedPart], hand: Hand, *, target: float | None = None, pictured: int | None = None
) -> Spread:
    """Return the dose of a stroke plan over the worst of several parts.

    Raises OutlineInvalid, RangeError if an outline or a figure of the hand cannot be used, or some of a part is never
    touched.
    """
    plans = {one.number: plan_strokes(one.polygon, **_figures(hand)) for one in parts}
    worst = max(parts, key=lambda one: _evenness(plans[one.number], hand) if len(parts) > 1 else 0.0)
    plan = plans[worst.number]
    if not math.isfinite(plan.allowance):
        raise _untouched(worst.number)
    drawn = _part(parts, pictured, worst)
    lanes = _lane_contact(list(plans.values()), hand)
    value = lanes.gain * plan.allowance
    words = (
        f"stroke plan, overlap {100.0 * hand.overlap.value:.0f} %, overrun {hand.overrun.value:.3g} mm, "
        f"lanes scattered by {hand.scatter.value:.2g} mm"
    )
    found = Spread(
        method="brush",
        part=worst.number,
        parts=len(parts),
        predicted=plan,
        pictured_part=drawn.number,
        pictured=plans[drawn.number],
        allowance=_allowance("brush", value, grid=DISCRETISATION * value / math.sqrt(3.0)),
        origin=_origin(worst, parts, words),
        premises=hand.premises,
        hand=hand,
        reach=None if target is None else _reach(plan, hand, target),
        lanes=lanes,
        scattered=_scattered(plan, hand) if hand.scatter.value > 0.0 else None,
    )
    return found.at_passes(exact(USUAL_PASSES, "1"))


def _untouched(number: int) -> RangeError:
    return RangeError(
        f"The strokes leave some of part {number} untouched.",
        remedy="Give more overrun or overlap, or a larger footprint.",
        fields={"overrun": "", "overlap": "", "footprint": ""},
    )


def _scattered(plan: StrokePlan, hand: Hand) -> ScatteredDose:
    scatter = Scatter(lanes_mm=hand.scatter.value, whole_mm=hand.scatter.value)
    return scattered_dose(
        plan.polygon, plan.brush, scatter, direction_deg=plan.direction_deg, significant=plan.significant
    )


def _evenness(plan: StrokePlan, hand: Hand) -> float:
    """Return the allowance by which parts are ranked."""
    if hand.scatter.value == 0.0 or not math.isfinite(plan.allowance):
        return plan.allowance
    return 1.0 / max(_scattered(plan, hand).minimum_over_mean(USUAL_PASSES)[0], 1e-9)


def numbered_part(number: int, rings: Sequence[Sequence[tuple[float, float]]]) -> NumberedPart:
    """Return a part from its rings, the outer one first. [mm]"""
    return NumberedPart(number=number, polygon=Polygon(rings[0], rings[1:]))


def check_hand(hand: Hand, target: float | None) -> None:
    """Raise RangeError for figures of the hand that mean nothing, whatever the part."""
    check_brush(Polygon([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]), Brush(**_figures(hand)))
    if target is not None and not 0.0 < target < 1.0:
        raise RangeError(f"A target minimum of {target:g} is not between 0 and 1.", remedy="Give a ratio such as 0.85.")


def not_flat(polygon: Polygon, thickness_mm: float | None) -> bool:
    """Whether a part is too thick to be taken as a flat plate."""
    return thickness_mm is not None and thickness_mm > THICKEST * 2.0 * math.sqrt(polygon.area / math.pi)


def pass_time(strokes: StrokePlan, hand: Hand) -> Measured:
    """Return the time of one pass over one face, with the share of the hand speed; lifts do not wait for it. [s]"""
    speed = hand.speed.quantity
    touching = sum(move.length_mm for move in strokes.moves if move.kind != "lift") / (speed.value * 1e3)
    lifted = strokes.seconds_per_pass - touching
    return propagate(lambda v: lifted + touching * speed.value / v, speed, unit="s")


def _lane_contact(plans: Sequence[StrokePlan], hand: Hand) -> LaneContact:
    """Return what one pass over the faces of all parts does; the dose goes as one over the hand speed."""
    area_mm2 = math.fsum(plan.polygon.area for plan in plans)
    dose = math.fsum(plan.dose.mean_s * plan.polygon.area for plan in plans) / area_mm2
    speed = hand.speed.quantity
    return LaneContact(
        area=square_metres(exact(area_mm2, "mm2")).value,
        seconds=total([pass_time(plan, hand) for plan in plans], "s"),
        dose=propagate(lambda v: dose * speed.value / v, speed, unit="s"),
        largest=square_metres(exact(max(plan.dose.largest_contact_mm2 for plan in plans), "mm2")).value,
        gain=_edge_gain(plans, hand, area_mm2),
    )


def _edge_gain(plans: Sequence[StrokePlan], hand: Hand, area_mm2: float) -> float:
    if hand.sleeve is None:
        return 1.0
    perimeter = math.fsum(plan.polygon.length for plan in plans)
    wagner = hand.wagner.value if hand.wagner is not None else 0.0
    return edge_gain(area=area_mm2, perimeter=perimeter, thickness=hand.sleeve.value, wagner=wagner)


def _allowance(method: Method, value: float, *, grid: float) -> Measured:
    """Return a predicted allowance; the model's share is never below the spread of the usual allowance."""
    value = max(1.0, value)  # cells that the rim cuts count for the mean only, so an even dose can come out below one
    usual = default_allowance(method, "any").quantity.standard_uncertainty
    model = max(MODEL_SHARE * (value - 1.0), usual)
    return Measured(value=value, unit="1", budget={"distribution: model": model, "distribution: discretisation": grid})


def _worst_in_tank(parts: Sequence[NumberedPart], wagner: float) -> NumberedPart:
    panels = PANELS // 2 if len(parts) <= FEW_PARTS else PANELS // 4
    return max(parts, key=lambda one: predict_tank(one.polygon, wagner=wagner, panels=panels).allowance)


def _wagner_share(polygon: Polygon, wagner: Premise) -> float:
    """Return half the change of the allowance over plus and minus one standard uncertainty of the Wagner number."""
    spread = wagner.quantity.standard_uncertainty
    if spread == 0.0:
        return 0.0
    ends = (max(0.0, wagner.value - spread), wagner.value + spread)
    low, high = (predict_tank(polygon, wagner=end, panels=PANELS // 2).allowance for end in ends)
    return (high - low) / 2.0


def _wagner_words(wagner: Premise) -> str:
    if wagner.value == 0.0:
        return f"Wagner number 0 ({wagner.origin.text})"
    return f"Wagner number {wagner.value:.3g} {wagner.origin.text}"


def _origin(worst: NumberedPart, parts: Sequence[NumberedPart], model: str) -> Origin:
    holes = len(worst.polygon.interiors)
    where = f"part {worst.number}" + (f", the worst of {len(parts)} parts" if len(parts) > 1 else "")
    text = (
        f"predicted over the outline of {where} ({holes} hole{'s' * (holes != 1)}): {model}; of its ± the model's "
        f"share ({100 * MODEL_SHARE:.0f} % of what is above 1, never below the usual spread) is an estimate, no source"
    )
    return Origin(kind="practice", text=text, source="practice")


def _part(parts: Sequence[NumberedPart], number: int | None, default: NumberedPart) -> NumberedPart:
    return next((one for one in parts if one.number == number), default)


def _figures(hand: Hand) -> dict[str, Any]:
    return {
        "footprint_width_mm": hand.footprint.width_mm,
        "footprint_length_mm": hand.footprint.length_mm,
        "overlap": hand.overlap.value,
        "hand_speed_mm_s": hand.speed.value * 1e3,
        "overrun_mm": hand.overrun.value,
        "rounded": hand.footprint.rounded,
    }


def _reach(plan: StrokePlan, hand: Hand, target: float) -> Reach:
    def judged(tried: StrokePlan) -> float:
        if hand.scatter.value == 0.0:
            return tried.minimum_over_mean
        return _scattered(tried, hand).minimum_over_mean(USUAL_PASSES)[0]

    try:
        return Reach(target=target, overlap=overlap_for(plan, target=target, judge=judged))
    except RangeError as error:
        return Reach(target=target, overlap=None, reason=str(error))
