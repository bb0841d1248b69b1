"""The bench card: a plan as what to do, step by step, with the numbers to set and the hazard of each step.

A frozen value that the command line prints, a page of paper shows and JSON holds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from areakit.plating.coupon import CouponRun
from areakit.plating.findings import Finding
from areakit.plating.hands import TOO_FAST, short_words
from areakit.plating.plan import DEADLY, Plan, PlannedLayer, PlannedStep
from areakit.plating.run import BrushRun, LoadShare, TankRun
from areakit.plural import counted
from areakit.records.area_lines import numbers_words
from areakit.reports.bench_words import exact_setting, setting, span, with_spread
from areakit.uncertainty import Measured, total
from areakit.units import show

QUIET = ("general", "waste", "electricity")
"""Cautions that hold for the whole bench: said once below, not with every step."""
_MOST_HAZARDS = 3
_FIRST = (
    "LAYER_VERY_THICK", "SUPPLY_LIMIT", "CURRENT_DENSITY_OUTSIDE", "FOOTPRINT_TOO_LARGE", "PHOTO_LEFT_OUT",
    "PART_LEFT_OUT", "PART_NOT_MEASURED", "OWN_FACTOR", "OWN_FACTOR_OUTLIERS",
)  # fmt: skip
"""Flags that may mean that the plan is not what was meant, or what it rests on: said before all others."""
_ORIGIN = ("UNVERIFIED_FIGURE", "STATED_DEFAULT", "CURRENT_NOT_PLANNED", "OWN_FACTOR_WIDER")
"""Flags of where a figure is from, and of what the card says in its own words."""
_NOTHING = "no current"


@dataclass(frozen=True, slots=True, kw_only=True)
class CardRun:
    """What to set for one kind of part in one plating step, as text; empty where it is not known.

    ``mean`` and ``peak`` are amperes, ``passes`` brush-overs of the whole part, ``each`` the time of one of them;
    ``by_volts`` are the volts that stand in place of amperes, and the coupon that they rest on; ``apiece`` tells that
    time, passes and charge are those of each of several pieces.
    """

    mean: str = ""
    peak: str = ""
    time: str = ""
    passes: str = ""
    each: str = ""
    charge: str = ""
    loads: str = ""
    by_volts: str = ""
    apiece: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CardStep:
    """One step: its numbers in the plan (a rinse right after it counts to it), and what to set, see and fear.

    ``brief`` and ``see`` are ``title`` and ``look_for`` in few words.
    """

    numbers: tuple[int, ...]
    title: str
    brief: str
    rinse: bool
    metal: str
    volts: str
    solution: str
    look_for: str
    see: str
    hazards: tuple[str, ...]
    conditional: bool
    runs: tuple[CardRun, ...]

    @property
    def number(self) -> str:
        """The number of the step, or of its first and last."""
        return str(self.numbers[0]) if len(self.numbers) == 1 else f"{self.numbers[0]}-{self.numbers[-1]}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """What stands at the bench for one job.

    ``parts`` names each kind of part with its pieces and area; ``stops`` speak against the work, ``hands`` says what is
    too much for a hand, ``remarks`` are what else there is to say, the weightiest first, and ``others`` counts what
    only tells where a figure is from. ``open_entries`` are what nobody said and amperes or minutes lack. ``shares``
    tells what each kind gets of a load in which all hang.
    """

    name: str
    process: str
    method: str
    base: str
    parts: tuple[str, ...]
    steps: tuple[CardStep, ...]
    time: str
    bench_time: str
    metals: tuple[str, ...]
    price: str
    stops: tuple[str, ...]
    hands: str
    remarks: tuple[str, ...]
    others: int
    open_entries: tuple[str, ...]
    confidence: str
    shares: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """The outline of one kind of part, and the lanes of one pass over it as pairs of points. [mm]

    ``laid_flat`` tells that the outline is that of the outside of a part with a form, laid flat.
    """

    title: str
    rings: tuple[tuple[tuple[float, float], ...], ...]
    lanes: tuple[tuple[tuple[float, float], tuple[float, float]], ...] = ()
    laid_flat: bool = False


def make_card(
    plans: Sequence[Plan],
    *,
    name: str,
    price: str = "",
    bench_time: str = "",
    notes: Sequence[str] = (),
    volts_first: bool = False,
    open_entries: Sequence[str] = (),
) -> Card:
    """Return the card of one or several kinds of parts that go through the same process.

    - ``plans``: one for each kind of part, of one process; at least one.
    - ``name``: picture, drawing or shape that the parts come from.
    - ``price``, ``bench_time``: price, and time at the bench with preparation, in words; empty where no rates are
      known.
    - ``notes``: what else there is to say, besides what the plans say.
    - ``volts_first``: the shop steers by volts and watch: passes and seconds of its own coupon stand in place of
      amperes and charge, where there is a coupon. They do so too where no amperes are planned.
    - ``open_entries``: entries that are missing for amperes and minutes.
    """
    first = plans[0]
    steps = _folded([_step(plans, index, volts_first) for index in range(len(first.steps))])
    findings = tuple(dict.fromkeys(one for plan in plans for one in plan.findings))
    flags = tuple(dict.fromkeys((one.code, one.message) for plan in plans for one in plan.flags))
    return Card(
        name=name,
        process=first.order.process.title,
        method=first.order.process.method,
        base=first.order.base or "base metal not said",
        parts=tuple(_part_words(plan, len(plans)) for plan in plans),
        steps=steps,
        time=_time(plans, volts_first),
        bench_time=bench_time,
        metals=_metals(plans, volts_first),
        price=price,
        stops=tuple(f"{one.message} {one.remedy}" for one in findings if one.severity == "stop"),
        hands=_hands(plans),
        remarks=(*notes, *_remarks(findings, flags)),
        others=sum(code in _ORIGIN for code, _ in flags),
        open_entries=tuple(open_entries),
        shares=_shares(first),
        confidence="even chance" if first.order.even_chance else "about 97 %",
    )


def _hands(plans: Sequence[Plan]) -> str:
    """Return what is too much for a hand, of the kind of part that asks most."""
    told = [short_words({one.layer.metal: one.hands for one in plan.layers if one.hands}) for plan in plans]
    return next((words for words in told if words), "")


def _remarks(findings: Sequence[Finding], flags: Sequence[tuple[str, str]]) -> tuple[str, ...]:
    """Return what is said besides, one sentence each: findings by weight, then flags that are not of an origin."""
    said = [
        one.message
        for weight in ("check", "note")
        for one in findings
        if one.severity == weight and one.code != TOO_FAST
    ]
    told = sorted((one for one in flags if one[0] not in _ORIGIN), key=lambda one: one[0] not in _FIRST)
    return tuple(
        dict.fromkeys([*(words for code, words in told if code in _FIRST), *said, *(words for _, words in told)])
    )


def _part_words(plan: Plan, kinds: int) -> str:
    count, numbers, area = plan.order.bench.pieces, plan.order.parts, _area(plan.order.area)
    words = f"{count} piece{'s' if count > 1 else ''} of {area}"
    if kinds == 1:
        return words
    one = len(numbers) == 1 and count == 1
    return f"part {numbers[0]}, {area}" if one else f"part {numbers_words(numbers)}, {words}"


def _area(area: Measured) -> str:
    return show(area, "cm2") if area.expanded_uncertainty > 0.0 else setting(area, digits=4)


def _step(plans: Sequence[Plan], index: int, volts_first: bool) -> CardStep:
    planned = plans[0].steps[index]
    step, layer = planned.step, planned.layer
    own = [(plan.steps[index].layer, plan.order.bench.pieces > 1) for plan in plans]
    return CardStep(
        numbers=(planned.number,),
        title=step.title,
        brief=step.brief,
        rinse=step.kind == "rinse",
        metal=step.metal or "",
        volts=_volts(planned),
        solution=(layer.layer.solution or layer.layer.chemistry.bath.title) if layer is not None else "",
        look_for=step.look_for,
        see=step.see,
        hazards=_hazards(planned),
        conditional=step.conditional,
        runs=_shared_run(plans[0], step.metal)
        or tuple(_run(one, volts_first, apiece=many) for one, many in own if one is not None),
    )


def _shared_run(plan: Plan, metal: str | None) -> tuple[CardRun, ...]:
    """Return current, time and charge of the load in which all kinds hang; nothing where each hangs alone."""
    load = next((one for one in plan.shared if one.metal == metal), None)
    if load is None:
        return ()
    return (
        CardRun(
            mean=setting(load.current),
            time=setting(load.time),
            charge=f"{exact_setting(load.charge, 'C')} for all",
            loads=f"{load.pieces} on the rack together",
        ),
    )


def _shares(plan: Plan) -> tuple[str, ...]:
    """Return for each kind its share of the current, and the minimum of each layer beside what is asked for."""
    kinds = zip(*(load.shares for load in plan.shared), strict=True) if plan.shared else ()
    return tuple(
        f"part {numbers_words(own[0].parts)}, {counted(own[0].pieces, 'piece')}: {100.0 * own[0].share:.0f} % of the "
        f"current; minimum {', '.join(_minimum(load.metal, one) for load, one in zip(plan.shared, own, strict=True))}"
        for own in kinds
    )


def _minimum(metal: str, one: LoadShare) -> str:
    asked = f" ({exact_setting(one.needed, 'm')} asked)" if one.needed is not None else ""
    return f"{metal} {show(one.minimum, 'um')}{asked}"


def _volts(planned: PlannedStep) -> str:
    if planned.voltage is not None:
        low, high = planned.voltage
        reverse = " reversed" if planned.step.polarity.startswith("reverse") else ""
        return span(low.quantity, high.quantity) + reverse
    return "" if planned.step.polarity == _NOTHING or planned.layer is not None else "volts by the label"


def _hazards(planned: PlannedStep) -> tuple[str, ...]:
    """Return the hazards of a step by name, the deadly first, without those that hold for the whole bench."""
    keys = [one.key for one in planned.cautions if one.key not in QUIET]
    ranks = {key: rank for rank, key in enumerate(DEADLY)}
    ordered = sorted(keys, key=lambda key: ranks.get(key, len(ranks)))
    return tuple(key.replace("-", " ") for key in ordered[:_MOST_HAZARDS])


def _leading(planned: PlannedLayer, volts_first: bool) -> CouponRun | None:
    """Return the way by volts and watch where it stands in place of amperes."""
    return planned.by_volts if volts_first or planned.brush is None else None


def _run(planned: PlannedLayer, volts_first: bool, *, apiece: bool) -> CardRun:
    coupon = _leading(planned, volts_first)
    if coupon is not None:
        return _by_volts(coupon, apiece=apiece)
    charge = exact_setting(planned.charge_set, "C")
    if planned.brush is not None:
        return _brush(planned.brush, charge=charge, apiece=apiece)
    if planned.tank is not None:
        run = planned.tank
        return CardRun(mean=setting(run.current), time=setting(run.time), charge=charge, loads=_loads(run))
    return CardRun(charge=charge)


def _loads(run: TankRun) -> str:
    """Return what hangs on the rack, and the current of a load that holds fewer."""
    first, *rest = run.groups
    words = [f"{first.pieces} on the rack" + (f", {first.loads} loads" if first.loads > 1 else "")]
    for one in rest:
        often = f", {one.loads} loads" if one.loads > 1 else ""
        words.append(f"then {one.pieces} at {setting(one.current)}{often}")
    return ", ".join(words)


def _by_volts(run: CouponRun, *, apiece: bool) -> CardRun:
    return CardRun(
        time=setting(run.time),
        apiece=apiece,
        passes=str(run.passes_set),
        each=setting(run.seconds_per_pass),
        by_volts=f"{exact_setting(run.coupon.volts, 'V')} by coupon {run.coupon.name}",
    )


def _brush(run: BrushRun, *, charge: str, apiece: bool) -> CardRun:
    return CardRun(
        mean=setting(run.mean_current, like=run.peak_current),
        peak=setting(run.peak_current, digits=2),
        time=setting(run.time),
        apiece=apiece,
        passes=setting(run.passes),
        each=setting(run.seconds_per_pass),
        charge=charge,
    )


def _folded(steps: Sequence[CardStep]) -> tuple[CardStep, ...]:
    """Return the steps with each plain rinse counted to the step before it."""
    found: list[CardStep] = []
    for step in steps:
        plain = step.rinse and step.title.lower() == "rinse" and not step.conditional
        before = found[-1] if found else None
        if plain and before is not None and not before.rinse:
            found[-1] = replace(before, numbers=(*before.numbers, *step.numbers))
        else:
            found.append(step)
    return tuple(found)


def _time(plans: Sequence[Plan], volts_first: bool) -> str:
    """Return the time with current of all layers and pieces, empty where one of them is not known."""
    times: list[Measured] = [load.time for load in plans[0].shared]
    for plan in plans if not times else ():
        for planned in plan.layers:
            run, count = _leading(planned, volts_first) or planned.brush, plan.order.bench.pieces
            if run is not None:
                times.append(run.time.times(count))
            elif planned.tank is not None:
                times.append(planned.tank.time.times(planned.tank.loads))
            else:
                return ""
    return setting(total(times, "s")) if times else ""


def _metals(plans: Sequence[Plan], volts_first: bool) -> tuple[str, ...]:
    found: dict[str, list[Measured]] = {}
    for plan in plans:
        for planned in plan.layers:
            coupon, count = _leading(planned, volts_first), plan.order.bench.pieces
            mass = planned.mass_total
            if coupon is not None:
                mass = coupon.mass.times(count)
            found.setdefault(planned.layer.metal, []).append(mass)
    return tuple(f"{metal} {with_spread(total(masses, 'kg'))}" for metal, masses in found.items())
