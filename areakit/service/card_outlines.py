"""What a card draws of each kind of part: its outline, and the lanes of one pass where a brush is led over it."""

from __future__ import annotations

from collections.abc import Sequence

from areakit.plating.plan import Plan
from areakit.records.part_outlines import read_part_outlines
from areakit.reports.card import Drawn


def outlines_drawn(plans: Sequence[Plan], measured: str) -> tuple[Drawn, ...]:
    """Return the outline of each kind of part that has one, with its lanes."""
    outlines = read_part_outlines(measured)
    found = []
    for plan in plans:
        number = plan.order.parts[0] if plan.order.parts else 1
        outline = outlines[number - 1]
        if outline is not None:
            lanes = _lanes(plan)
            flat = outline.unrolled if lanes else None
            rings = outline.rings if flat is None else flat
            found.append(Drawn(title=f"part {number}", rings=rings, lanes=lanes, laid_flat=flat is not None))
    return tuple(found)


def _lanes(plan: Plan) -> tuple[tuple[tuple[float, float], tuple[float, float]], ...]:
    """Return the lanes of one pass, with y upwards as outlines have it."""
    pictured = plan.order.spread.pictured if plan.order.spread is not None else None
    moves = getattr(pictured, "moves", ())
    return tuple(
        ((move.start[0], -move.start[1]), (move.end[0], -move.end[1])) for move in moves if move.kind == "lane"
    )
