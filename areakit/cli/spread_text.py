"""The predicted distribution of a plan as text."""

from __future__ import annotations

from areakit.cli.page import Page
from areakit.cli.rows import HEADER, Rows, number, origin_words, premise_row
from areakit.plating.contact import Hand
from areakit.plating.distribution import ThicknessMap
from areakit.plating.plan import Plan
from areakit.plating.spread import Reach, Spread, pass_time
from areakit.plating.strokes import StrokePlan
from areakit.records.spread_json import least_place


def spread_block(page: Page, plan: Plan, spread: Spread) -> None:
    """Add the distribution that a plan rests on, and the passes for its charges."""
    brushed = [(one.layer.metal, one.brush.passes) for one in plan.layers if one.brush is not None]
    words = "for the charge to run; as in the plan"
    spread_table(page, spread, [(f"passes with {metal}", number(passes), words) for metal, passes in brushed])


def spread_table(page: Page, spread: Spread, more: Rows | None = None) -> None:
    """Add a predicted distribution, with further rows."""
    page.heading(_title(spread))
    page.table([*spread_rows(spread), *(more or [])], header=HEADER)


def _title(spread: Spread) -> str:
    where = f"part {spread.part}" + (f", the worst of {spread.parts}" if spread.parts > 1 else "")
    return f"{'Strokes over' if spread.method == 'brush' else 'Distribution over'} {where}"


def spread_rows(spread: Spread) -> Rows:
    """Return the rows of a distribution that hold whatever the charge."""
    predicted = spread.predicted
    if isinstance(predicted, ThicknessMap):
        rows: Rows = [premise_row(spread.premises[0])]
        rows.append(("panels", str(predicted.panel_count), "squares of a tree, finest along edges and holes"))
    else:
        assert spread.hand is not None
        rows = _hand_rows(spread, spread.hand, predicted)
    x, y = least_place(spread)
    rows.append(("minimum over mean", number(spread.minimum_over_mean), f"at ({x:.1f}, {y:.1f}) mm of the outline"))
    rows.append(
        ("distribution allowance", number(spread.allowance), f"mean over minimum; {origin_words(spread.origin)}")
    )
    if spread.reach is not None:
        rows.append(_reach_row(spread.reach))
    return rows


def _hand_rows(spread: Spread, hand: Hand, strokes: StrokePlan) -> Rows:
    brush = strokes.brush
    lanes, lifts = len(strokes.lanes), strokes.lifts
    return [
        (
            "brush footprint",
            f"{brush.footprint_width_mm:.3g} × {brush.footprint_length_mm:.3g} mm",
            hand.footprint.origin.text,
        ),
        ("overlap of the lanes", number(hand.overlap.quantity, "%"), origin_words(hand.overlap.origin)),
        ("overrun past the edge", f"{hand.overrun.value:.3g} mm", origin_words(hand.overrun.origin)),
        premise_row(hand.speed),
        ("scatter of the lanes", f"{hand.scatter.value:.2g} mm", origin_words(hand.scatter.origin)),
        _edge_row(spread, hand),
        ("lanes", f"{lanes} at {strokes.direction_deg:.0f}°, {lifts} lift{'s' * (lifts != 1)}", "the shortest path"),
        ("path of the hand", f"{strokes.path_length_mm:.0f} mm", "one pass over one face"),
        (
            "time of a pass",
            number(pass_time(strokes, hand), "s"),
            "over one face: path over hand speed, and lifts",
        ),
    ]


def _edge_row(spread: Spread, hand: Hand) -> tuple[str, str, str]:
    """Return what the edges take more; that it is left out where the sleeve's thickness is not known."""
    if hand.sleeve is None or spread.lanes is None:
        return "edge build-up", "not included", "its model needs --sleeve-thickness"
    softened = f", Wagner number {hand.wagner.value:.3g}" if hand.wagner is not None and hand.wagner.value else ""
    words = (
        f"mean over the density inside: a wet sleeve {hand.sleeve.value:.3g} mm thick{softened or ', primary limit'}"
    )
    return "edge build-up", f"{spread.lanes.gain:.3g}", words


def _reach_row(reach: Reach) -> tuple[str, str, str]:
    name = f"overlap for a minimum of {reach.target:g}"
    if reach.overlap is None:
        return name, "none", reach.reason or ""
    overlap = f"{100.0 * reach.overlap:.0f}"
    return name, f"{overlap} %", f"smallest that reaches it, in steps of 5 %; plan again with --overlap {overlap}%"
