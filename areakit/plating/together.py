"""Several kinds of parts in one tank load with one current: their areas add, and each gets its share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from areakit.errors import InputError
from areakit.flags import Flag, flag
from areakit.plating import deposit
from areakit.plating.plan import Order, Plan, PlannedLayer, make_plan
from areakit.plating.run import Bench, LoadShare, SharedLoad, TankLoad, TankRun, tank_run
from areakit.uncertainty import Measured, total


def hung_together(orders: Sequence[Order]) -> tuple[Plan, ...]:
    r"""Return the plans of several kinds of parts that hang in one load, each with the whole load in ``shared``.

    .. math:: I = J \sum_i n_i A_i, \qquad Q_i = Q \frac{n_i A_i}{\sum_j n_j A_j}

    The charge for a unit of area is that of the kind that needs most, so the minimum of every kind is met; what an
    area is uncertain by, it shares with all others. That the current divides by area is the assumption behind it: parts
    at the rim of a rack get more (common practice, no source).

    - ``orders``: one for each kind, of one tank process with the same layers.

    Raises InputError for a brush, or more pieces than the rack takes. Source: currents of parallel paths add; Faraday's
    law on the sum.
    """

    _check(orders)
    area = total([deposit.square_metres(one.area).times(one.bench.pieces) for one in orders], "m2")
    alone = [replace(one, bench=_free(one), shared_area=_part_of(area, one)) for one in orders]
    plans = [make_plan(one) for one in alone]
    needed = {
        layer.layer.metal: max(
            plan.layers[index].charge_set / deposit.square_metres(plan.order.area).value for plan in plans
        )
        for index, layer in enumerate(plans[0].layers)
    }
    plans = [make_plan(replace(one, charge_per_area=needed)) for one in alone]
    loads, told = _loads(orders, plans, area)
    return tuple(_with_load(plan, loads, told, bench=one.bench) for plan, one in zip(plans, orders, strict=True))


def _check(orders: Sequence[Order]) -> None:
    first = orders[0]
    if first.process.method != "tank":
        raise InputError(
            f"The process {first.process.key} is brush work, and parts hang together only in a tank.",
            remedy="Plan each on its own, or choose a tank process.",
            fields={"together": ""},
        )
    pieces, rack = sum(one.bench.pieces for one in orders), first.bench.pieces_per_load
    if rack is not None and pieces > rack:
        raise InputError(
            f"{pieces} pieces are to hang together, and the rack takes {rack}.",
            remedy="Plan fewer kinds or pieces at a time, or say that more go into one load.",
            fields={"pieces_per_load": ""},
        )


def _free(order: Order) -> Bench:
    """Return the bench without the limits that hold for the whole load."""
    return replace(order.bench, supply=None, pieces_per_load=order.bench.pieces)


def _part_of(area: Measured, order: Order) -> Measured:
    """Return the area of one piece as the load knows it: its value with the relative uncertainty of the sum. [m2]"""
    share = deposit.square_metres(order.area).value / area.value
    return area.times(share)


def _loads(
    orders: Sequence[Order], plans: Sequence[Plan], area: Measured
) -> tuple[tuple[SharedLoad | None, ...], tuple[Flag, ...]]:
    found: list[SharedLoad | None] = []
    flags: list[Flag] = []
    for index, first in enumerate(plans[0].layers):
        if first.layer.current_density is None:
            found.append(None)
            continue
        charge = total([plan.layers[index].charge_total for plan in plans], "C")
        bench = replace(orders[0].bench, pieces=1, pieces_per_load=1)
        run, told = tank_run(
            bench,
            metal=first.layer.metal,
            charge=charge,
            area=area,
            density=first.layer.current_density,
            allowed=first.layer.allowed,
        )
        flags += told
        shares = tuple(_share(plan, plan.layers[index], run, area) for plan in plans)
        found.append(
            SharedLoad(
                metal=first.layer.metal,
                current=run.current,
                current_density=run.current_density,
                time=run.time,
                charge=sum(plan.layers[index].charge_set * plan.order.bench.pieces for plan in plans),
                area=area,
                pieces=sum(plan.order.bench.pieces for plan in plans),
                shares=shares,
            )
        )
    return tuple(found), (*flags, flag("LOAD_SHARED"))


def _share(plan: Plan, planned: PlannedLayer, run: TankRun, area: Measured) -> LoadShare:
    pieces = plan.order.bench.pieces
    share = deposit.square_metres(plan.order.area).value * pieces / area.value
    return LoadShare(
        parts=plan.order.parts,
        pieces=pieces,
        share=share,
        current=run.current.times(share),
        minimum=planned.minimum,
        needed=planned.minimum_needed,
    )


def _with_load(plan: Plan, loads: Sequence[SharedLoad | None], told: Sequence[Flag], *, bench: Bench) -> Plan:
    """Return a plan whose tank runs are its shares of the loads, with the bench as it was asked for."""
    layers = []
    for planned, load in zip(plan.layers, loads, strict=True):
        if load is None:
            layers.append(planned)
            continue
        own = next(one for one in load.shares if one.parts == plan.order.parts)
        group = TankLoad(pieces=own.pieces, loads=1, current=own.current)
        run = TankRun(
            rack=load.pieces, groups=(group,), current_density=load.current_density, time=load.time, share=own.share
        )
        layers.append(replace(planned, tank=run))
    by_metal = {planned.layer.metal: planned for planned in layers}
    return replace(
        plan,
        order=replace(plan.order, bench=bench),
        layers=tuple(layers),
        steps=tuple(
            replace(step, layer=by_metal[step.layer.layer.metal]) if step.layer is not None else step
            for step in plan.steps
        ),
        flags=tuple(dict.fromkeys((*plan.flags, *told))),
        shared=tuple(load for load in loads if load is not None),
    )
