"""Rows of the tables that tell a plan: what, value, origin."""

from __future__ import annotations

from areakit.plating.plan import PlannedLayer
from areakit.plating.premise import Origin, Premise
from areakit.records.codec import shown
from areakit.uncertainty import Measured, exact
from areakit.units import show

Rows = list[tuple[str, str, str]]
HEADER = ("what", "value", "origin")
_PERCENT = ("efficiency", "fraction")


def number(quantity: Measured, unit: str | None = None) -> str:
    """Return a quantity in the unit people see."""
    return show(quantity, unit) if unit else show(shown(quantity))


def origin_words(origin: Origin) -> str:
    """Return an origin in words; a given number says just that."""
    return origin.text if origin.kind in ("given", "measured") else f"{origin.kind}: {origin.text}"


def premise_row(premise: Premise, label: str | None = None) -> tuple[str, str, str]:
    """Return a row for a premise."""
    unit = "%" if premise.name.endswith(_PERCENT) else None
    return label or premise.name, number(premise.quantity, unit), origin_words(premise.origin)


def coupon_rows(planned: PlannedLayer) -> Rows:
    """Return the way by volts and watch, as a weighed coupon says it of one piece; nothing where there is none."""
    run = planned.by_volts
    if run is None:
        return []
    coupon, raised = run.coupon, run.passes_set > run.passes.value + 1.0
    confidence = "the minimum is met with about 97 % confidence" if raised else "whole passes"
    each = coupon.thickness_per_pass(planned.layer.chemistry.density.quantity)
    words = f"coupon {coupon.name}: {number(coupon.gain)} on {number(coupon.area, 'cm2')} in {coupon.passes} passes"
    return [
        ("BY VOLTS", number(exact(coupon.volts, "V")), f"coupon {coupon.name}, brush {coupon.brush or 'not said'}"),
        ("mean thickness of a pass", number(each), words),
        ("passes needed", number(run.passes), "target mean over the thickness of a pass; coupon and job repeat"),
        ("PASSES TO DO", str(run.passes_set), confidence),
        (
            "time of a pass, by volts",
            number(run.seconds_per_pass, "s"),
            "time of the coupon's pass times area over area",
        ),
        ("working time, by volts", number(run.time), "passes to do times that"),
        ("minimum thickness, by volts", number(run.minimum), "mean over allowance"),
    ]
