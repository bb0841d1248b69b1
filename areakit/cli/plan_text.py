"""A plan as text: every number with its unit, its expanded uncertainty and its origin."""

from __future__ import annotations

from collections.abc import Iterable

from areakit.cli.page import Page
from areakit.cli.rows import HEADER, Rows, coupon_rows, number, origin_words, premise_row
from areakit.errors import in_shell
from areakit.flags import Flag
from areakit.plating.consumption import Consumption
from areakit.plating.deposit import variance_shares
from areakit.plating.findings import Finding
from areakit.plating.hands import schedule_words
from areakit.plating.plan import Order, Plan, PlannedLayer, PlannedStep
from areakit.plating.premise import Premise
from areakit.plating.process import Caution
from areakit.plating.run import MINUTE, PER_CM2, PER_DM2, BrushRun, TankRun
from areakit.plural import counted
from areakit.records.area_lines import numbers_words
from areakit.records.codec import shown
from areakit.reports.notes import notes
from areakit.uncertainty import Measured, exact
from areakit.units import show_found, three_digits

SHORT = ("layer", "minimum", "charge a piece", "mean current", "peak", "time", "metal, all pieces", "solution")


def setting(charge: float) -> str:
    """Return a charge to set at the meter, in A·min to four digits."""
    minutes = float(f"{charge / MINUTE:.4g}")
    return f"{minutes:.0f} A·min" if minutes >= 1000.0 else f"{minutes:.4g} A·min"


def shares_words(quantity: Measured) -> str:
    """Return what moves a quantity, in percent of its variance."""
    shares = variance_shares(quantity)
    words = [f"{name} {share * 100:.0f} %" for name, share in shares.items() if share >= 0.005]
    if small := len(shares) - len(words):
        words.append(f"{small} other{'s' if small > 1 else ''} below 1 %{' each' if small > 1 else ''}")
    return ", ".join(words) or "nothing: all figures exact"


def plan_page(plan: Plan) -> Page:
    """Return the whole plan as a page."""
    page = Page()
    order = plan.order
    page.heading(f"Plan: {order.process.title} ({order.process.key})")
    rows: Rows = [
        ("area of one piece", number(order.area, "cm2"), origin_words(order.area_origin)),
        ("of its ±, from", "", shares_words(order.area)),
        ("pieces", str(order.bench.pieces), "as entered"),
        ("charge, all layers and pieces", number(plan.charge_total, "A.min"), "sum of the layers"),
    ]
    if order.bench.footprint is not None:
        footprint = order.bench.footprint
        exact_words = f"{footprint.value * PER_CM2:.4g} cm²"
        shown_footprint = number(footprint.quantity, "cm2") if footprint.quantity.budget else exact_words
        rows.append(("brush footprint", shown_footprint, footprint.origin.text))
    rows += [(name, value, "as entered") for name, value in _words(plan)]
    page.table(rows, header=HEADER)
    page.lines(["± is the expanded uncertainty, coverage factor 2 (about 95 %)."], mark="")
    findings_block(page, plan.findings)
    page.heading("In short")
    page.table(_short_rows(plan), header=SHORT)
    _shared_block(page, plan)
    if order.spread is not None:
        from areakit.cli.spread_text import spread_block  # brings shapely

        spread_block(page, plan, order.spread)
    for planned in plan.layers:
        _layer_block(page, planned, order)
    _steps_block(page, plan)
    flags_block(page, plan.flags)
    cautions_block(page, plan.cautions)
    return page


def _four_digits(current: Measured) -> str:
    """Return a current; an exact one, which is a setting, to four digits."""
    return number(current) if current.budget else f"{current.value:.4g} A"


def _short_rows(plan: Plan) -> list[tuple[str, ...]]:
    """Return one row a layer with what to set, how long it takes, and what to have ready."""
    rows: list[tuple[str, ...]] = []
    for planned in plan.layers:
        run, ready = planned.brush or planned.tank, planned.consumption.volume_ready
        rows.append(
            (
                planned.layer.metal,
                f"{planned.minimum_needed * 1e6:.4g} µm" if planned.minimum_needed is not None else "-",
                setting(planned.charge_set),
                *_short_currents(run),
                number(run.time) + (f" × {run.loads}" if isinstance(run, TankRun) else "") if run else "not known",
                number(planned.mass_total),
                number(ready) if ready is not None else "-",
            )
        )
    return rows


def _short_currents(run: BrushRun | TankRun | None) -> tuple[str, str]:
    """Return mean and peak current; they are one in a tank."""
    if isinstance(run, BrushRun):
        return _four_digits(run.mean_current), _four_digits(run.peak_current)
    return (_four_digits(run.current), "-") if run else ("not known", "not known")


def _shared_block(page: Page, plan: Plan) -> None:
    """Add the loads in which other kinds of parts hang as well, with the share of each."""
    for load in plan.shared:
        page.heading(f"One load of {load.metal}, {counted(load.pieces, 'piece')}")
        page.table(
            [
                ("CURRENT OF THE LOAD", number(load.current), "current density times the area of all"),
                ("time", number(load.time), "charge of all over current"),
                ("CHARGE OF THE LOAD", setting(load.charge), "what the kind that needs most takes for its area"),
                ("area of all", number(load.area, "cm2"), "sum over kinds and pieces"),
            ],
            header=HEADER,
        )
        page.table(
            [
                (
                    numbers_words(one.parts),
                    str(one.pieces),
                    f"{100.0 * one.share:.1f} %",
                    number(one.current),
                    number(one.minimum),
                    f"{one.needed * 1e6:.4g} µm" if one.needed is not None else "-",
                )
                for one in load.shares
            ],
            header=("part", "pieces", "share", "current", "minimum", "asked"),
        )


def _words(plan: Plan) -> list[tuple[str, str]]:
    order = plan.order
    said = (("base metal", order.base), ("market", order.market), ("use", order.use))
    return [(name, value) for name, value in said if value]


def _layer_block(page: Page, planned: PlannedLayer, order: Order) -> None:
    layer, pieces = planned.layer, order.bench.pieces
    bath = layer.chemistry.bath
    page.heading(f"{layer.metal.capitalize()}: {layer.solution or bath.title}")
    ordered = layer.minimum or layer.mean
    assert ordered is not None
    rows: Rows = [premise_row(ordered, "minimum thickness needed" if layer.minimum else "mean thickness ordered")]
    if layer.standard is not None:
        rows.append(("checked against", layer.standard.title, origin_words(layer.standard.origin)))
    rows.append(_allowance_row(planned, order))
    rows.append(("target mean", f"{planned.mean_target * 1e6:.4g} µm", _aim_words(planned)))
    rows += [premise_row(premise) for premise in layer.chemistry.premises]
    rows += _charge_rows(planned, pieces)
    if planned.brush is not None:
        rows += _brush_rows(planned.brush, layer.current_density)
        rows += _hand_rows(planned)
    if planned.tank is not None:
        rows += _tank_rows(planned.tank, layer.current_density)
    rows += [*coupon_rows(planned), *_consumption_rows(planned)]
    page.table(rows, header=HEADER)


def _allowance_row(planned: PlannedLayer, order: Order) -> tuple[str, str, str]:
    name, value, words = premise_row(planned.layer.allowance, "distribution allowance")
    if order.spread is not None and planned.layer.predicted:
        words = f"predicted over the outline of part {order.spread.part}, as above"
        if planned.brush is not None:
            words += f", after {show_found(planned.brush.passes)} passes"
    return name, value, words


def _aim_words(planned: PlannedLayer) -> str:
    if planned.minimum_needed is None:
        return "as ordered"
    even = planned.charge_even_chance
    raised = planned.charge_set / even if even else 1.0
    return "minimum times allowance" + (f", times {raised:.3g} for about 97 % confidence" if raised > 1.0 else "")


def _charge_rows(planned: PlannedLayer, pieces: int) -> Rows:
    rows: Rows = [
        ("charge needed, one piece", number(planned.charge, "A.min"), "Faraday's law for the target mean"),
        ("  main sources of ±", "", shares_words(planned.charge)),
        ("CHARGE TO RUN, one piece", setting(planned.charge_set), _setting_words(planned)),
    ]
    if pieces > 1:
        rows.append((f"charge, {pieces} pieces", number(planned.charge_total, "A.min"), "pieces times one"))
    rows += [
        ("mean thickness reached", number(planned.mean), "Faraday's law for the charge to run"),
        ("minimum thickness reached", number(planned.minimum), "mean over allowance"),
        ("  main sources of ±", "", shares_words(planned.minimum)),
        *_efficiency_effect(planned),
        (f"{planned.layer.metal} on one piece", number(planned.mass), "charge times efficiency"),
    ]
    if pieces > 1:
        rows.append((f"{planned.layer.metal} on {pieces} pieces", number(planned.mass_total), "pieces times one"))
    return rows


def _efficiency_effect(planned: PlannedLayer) -> Rows:
    ends = planned.mean_by_efficiency
    if ends is None:
        return []
    low, high = (shown(end).value for end in ends)
    words = f"{three_digits(low)} to {three_digits(high)} µm"
    return [("  over the efficiency's ±", words, "mean at the lower and upper end of the efficiency")]


def _setting_words(planned: PlannedLayer) -> str:
    even = planned.charge_even_chance
    if even is None:
        return "for the mean as ordered"
    if planned.charge_set == even:
        return "an even chance: half of such jobs stay below the minimum"
    return f"the minimum is met with about 97 % confidence; at an even chance: {setting(even)}"


def _brush_rows(run: BrushRun, density: Premise | None) -> Rows:
    asked = origin_words(density.origin) if density else ""
    return [
        ("current density under the brush", number(exact(run.current_density, "A/m2")), asked),
        premise_row(run.contact_fraction),
        ("PEAK CURRENT", _four_digits(run.peak_current), "density times metal under the brush; set the volts to this"),
        ("MEAN CURRENT", number(run.mean_current), _watch_words(run)),
        ("working time, one piece", number(run.time), "charge over mean current; past the edge and lifts included"),
        ("passes", number(run.passes), "brush-overs of the whole plated area"),
        ("time of a pass", number(run.seconds_per_pass, "s"), "over the whole plated area; times passes: the time"),
        premise_row(run.hand_speed),
    ]


def _hand_rows(planned: PlannedLayer) -> Rows:
    work = planned.hands
    if work is None:
        return []
    return [
        ("way from turn to turn", f"{work.stroke.value * 1e3:.3g} mm", origin_words(work.stroke.origin)),
        ("strokes a minute", number(work.strokes_per_minute), "hand speed over that way; to and fro count as two"),
        ("spells and breaks", "", f"{schedule_words(planned.layer.metal, work)} Common practice, no source"),
    ]


def _watch_words(run: BrushRun) -> str:
    local = run.current_density / run.contact_fraction.value / PER_DM2
    return (
        "peak times contact fraction; what the ammeter averages. Do not raise the volts until the mean reads the peak: "
        f"that would be {local:.3g} A/dm² under the brush"
    )


def _tank_rows(run: TankRun, density: Premise | None) -> Rows:
    asked = origin_words(density.origin) if density else ""
    of = ", ".join(f"{group.loads} of {group.pieces}" for group in run.groups)
    return [
        ("current density", f"{run.current_density / 100.0:.4g} A/dm²", asked),
        ("parts on the rack, at most", str(run.rack), "as entered, within the supply"),
        ("loads", f"{run.loads} ({of})", "as even as the pieces allow"),
        *(
            (
                f"CURRENT, {counted(group.pieces, 'part')} on the rack",
                number(group.current),
                "current density times area times parts",
            )
            for group in run.groups
        ),
        ("time of each load", number(run.time), "charge over current; it runs without a hand on it"),
        (
            "bath",
            "",
            "agitate steadily and keep the label's temperature: both move the efficiency (common practice)",
        ),
    ]


def _consumption_rows(planned: PlannedLayer) -> Rows:
    used, use = planned.consumption, planned.layer.use
    rows: Rows = [premise_row(premise) for premise in use.premises]
    if used.volume_by_charge is not None:
        rows.append(("solution, by allowed charge", number(used.volume_by_charge), "charge over allowed charge"))
    if used.volume_by_metal is not None:
        rows.append(("solution, by metal", number(used.volume_by_metal), "mass over content times usable fraction"))
    if used.from_anode is not None:
        rows.append(
            ("anodes of the metal", number(used.from_anode), "give back what the parts take; the bath keeps it")
        )
    if used.volume is not None:
        rows.append(("solution used up", number(used.volume), "the larger of these; it is spent afterwards"))
    if used.volume_ready is not None:
        rows.append(
            ("SOLUTION TO HAVE READY", number(used.volume_ready), "used up, plus what sleeve and part carry away")
        )
    rows += _loss_rows(used, planned.layer.metal)
    return rows


def _loss_rows(used: Consumption, metal: str) -> Rows:
    rows: Rows = []
    for loss in used.losses:
        words = _recovery_words(loss.recovered, loss.lost)
        if loss.held.value < loss.held.expanded_uncertainty:
            rows.append((f"{metal} in the {loss.place}", _at_most(loss.held), f"not told from none; {words}"))
        else:
            rows.append((f"{metal} in the {loss.place}", number(loss.held), words))
    if used.sleeve_over_deposit is not None:
        rows.append(
            ("  sleeve against deposit", f"{used.sleeve_over_deposit:.2g} times", "sleeve over metal on the parts")
        )
    rows.append(
        (
            f"{metal} to replace",
            number(used.top_up_metal),
            "what is not recovered" if used.from_anode else "deposit and what is not recovered",
        )
    )
    if used.top_up_volume is not None:
        rows.append(("top-up with solution", number(used.top_up_volume), "metal to replace over content"))
    return rows


def _at_most(held: Measured) -> str:
    """Return a mass whose uncertainty reaches below zero by its upper end."""
    return f"at most {number(exact(float(f'{held.value + held.expanded_uncertainty:.2g}'), held.unit))}"


def _recovery_words(recovered: Measured, lost: Measured) -> str:
    if recovered.value == 0.0:
        return "none counted as recovered (say so with --recover)"
    if recovered.value < recovered.expanded_uncertainty and lost.value == 0.0:
        return "all of it counted as recovered"
    return f"{number(recovered)} recovered, {number(lost)} lost"


def _steps_block(page: Page, plan: Plan) -> None:
    page.heading("Steps")
    numbers = {caution.key: index for index, caution in enumerate(plan.cautions, start=1)}
    for planned in plan.steps:
        page.lines([step_words(planned, numbers)], mark=f"{planned.number:2d}. ")


def step_words(planned: PlannedStep, numbers: dict[str, int]) -> str:
    """Return one step in words, with its cautions by name and number."""
    step = planned.step
    lines = [step.title + ("  (only if needed)" if step.conditional else "")]
    lines.append(f"Current: {step.polarity}. Voltage: {_voltage_words(planned)}")
    if planned.layer is not None:
        lines.append(f"Run: {_run_words(planned.layer)}")
    lines.append(f"See: {step.look_for}.")
    lines.append(f"Next: {step.next_within}. Use: {step.tool}.")
    cautions = ", ".join(f"{caution.key} [{numbers[caution.key]}]" for caution in planned.cautions)
    lines.append(f"CAUTION: {cautions}")
    return "\n".join(lines)


def _voltage_words(planned: PlannedStep) -> str:
    if planned.voltage is None:
        return "none." if planned.step.polarity == "no current" else "as the label says."
    low, high = planned.voltage
    return f"{low.value:g} to {high.value:g} V ({origin_words(low.origin)})."


def _run_words(planned: PlannedLayer) -> str:
    charge, brush, tank = setting(planned.charge_set), planned.brush, planned.tank
    if tank is not None:
        loads = "; ".join(
            f"{counted(one.loads, 'load')} of {one.pieces} at {number(one.current)}" for one in tank.groups
        )
        return f"{loads}; each for {number(tank.time)}."
    if brush is None:
        return f"{charge} a piece by the meter; current as the label says."
    mean, peak = number(brush.mean_current), _four_digits(brush.peak_current)
    return (
        f"{charge} a piece by the meter; at {mean} on average, {peak} at the peak, that takes {number(brush.time)}, "
        f"about {brush.passes.value:.0f} passes."
    )


def findings_block(page: Page, findings: Iterable[Finding]) -> None:
    """Add the findings, the most serious first."""
    order = {"stop": 0, "check": 1, "note": 2}
    found = sorted(findings, key=lambda finding: order[finding.severity])
    if found:
        page.heading("Findings")
    for finding in found:
        page.lines(
            [
                f"{finding.message}\nWhy: {finding.why} ({finding.citation})\nDo: "
                f"{in_shell(finding.remedy, finding.fields)}"
            ],
            mark=f"{finding.severity.upper()}: ",
        )


def flags_block(page: Page, flags: Iterable[Flag]) -> None:
    """Add the flags; the figures that were not verified stand together."""
    told = list(flags)
    others = [flag for flag in told if flag.code != "UNVERIFIED_FIGURE"]
    unverified = [flag for flag in told if flag.code == "UNVERIFIED_FIGURE"]
    if told:
        page.heading("Notes")
    page.lines([f"{note.where.capitalize()}: {note.text}" if note.where else note.text for note in notes(others)])
    if unverified:
        page.lines([f"Working figures, to be replaced by a label's or a measured value:\n{_names(unverified)}"])


def _names(flags: list[Flag]) -> str:
    shortened = (flag.message.replace(" is no published figure", "") for flag in flags)
    return "\n".join(message.replace("; working figure", "").replace(": working figure.", ".") for message in shortened)


def cautions_block(page: Page, cautions: Iterable[Caution]) -> None:
    """Add every caution in full; nothing switches this off."""
    page.heading("Cautions")
    for index, caution in enumerate(cautions, start=1):
        page.lines([f"{caution.key}: {caution.text} ({caution.citation})"], mark=f"[{index}] ")
