"""The way by volts and watch as rows of a plan's details."""

from __future__ import annotations

from areakit.cli.rows import Rows, number
from areakit.plating.coupon import CouponRun
from areakit.plating.plan import PlannedLayer
from areakit.uncertainty import exact


def coupon_rows(planned: PlannedLayer) -> Rows:
    """Return what a weighed coupon says of one piece; nothing where there is none."""
    run = planned.by_volts
    if run is None:
        return []
    coupon = run.coupon
    each = coupon.thickness_per_pass(planned.layer.chemistry.density.quantity)
    words = f"coupon {coupon.name}: {number(coupon.gain)} on {number(coupon.area, 'cm2')} in {coupon.passes} passes"
    return [
        ("BY VOLTS", number(exact(coupon.volts, "V")), f"coupon {coupon.name}, brush {coupon.brush or 'not said'}"),
        ("mean thickness of a pass", number(each), words),
        ("passes needed", number(run.passes), "target mean over the thickness of a pass; coupon and job repeat"),
        ("PASSES TO DO", str(run.passes_set), _sure(run)),
        (
            "time of a pass, by volts",
            number(run.seconds_per_pass, "s"),
            "time of the coupon's pass times area over area",
        ),
        ("working time, by volts", number(run.time), "passes to do times that"),
        ("minimum thickness, by volts", number(run.minimum), "mean over allowance"),
    ]


def _sure(run: CouponRun) -> str:
    raised = run.passes_set > run.passes.value + 1.0
    return "the minimum is met with about 97 % confidence" if raised else "whole passes"
