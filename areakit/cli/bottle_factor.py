"""``areakit bottle factor`` and ``coupon``: what the runs of a bottle say of its deposit per charge."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from areakit.cli.command import JOURNAL, OUTPUT, Command
from areakit.cli.desk import desk_options, keeping_options
from areakit.cli.entries import echo_json, write_new
from areakit.cli.options import options_of, said
from areakit.service.record_requests import NewCoupon

if TYPE_CHECKING:
    from areakit.cli.page import Page
    from areakit.plating.metals import Bath
    from areakit.plating.own_factor import Observation, OwnFactor
    from areakit.records.recorded_factor import RecordedFactor
    from areakit.service.desk import Desk
    from areakit.uncertainty import Measured

LABEL = click.argument("label")


def add_to(group: click.Group) -> None:
    """Add these commands to the group of bottles."""
    for one in (coupon, factor):
        group.add_command(one)


@click.command("coupon", cls=Command, exits=JOURNAL)
@LABEL
@options_of(NewCoupon)
@keeping_options
def coupon(label: str, desk: Desk, **fields: Any) -> None:
    """Record a coupon plated from the bottle LABEL outside a job, and weighed: it draws, and tells of the factor.

    \b
    Example:
      areakit bottle coupon G7 --charge "3.2 ± 0.1 A.min" --gain "4.1 ± 0.2 mg" --brush small
    """
    from areakit.cli.bottle_words import say
    from areakit.service.own_factor import add_coupon, bottle_factor

    request = NewCoupon(**said(fields))
    say(add_coupon(desk, label, request))
    click.echo(headline(bottle_factor(desk, label, brush=request.brush)))


@click.command("factor", cls=Command, exits=JOURNAL)
@LABEL
@click.option("--brush", default="", metavar="NAME", help="With this brush, where it has runs enough.")
@click.option("--plot", type=OUTPUT, metavar="PATH", help="Draw it over the bottle's age. Example: --plot g7.svg")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object: g/A.h, age in A.h/L.")
@desk_options
def factor(label: str, brush: str, plot: Path | None, as_json: bool, desk: Desk) -> None:
    """Show what the bottle LABEL deposits per charge, from its weighings, coupons and thickness readings.

    Its runs are averaged by their weight, and so is how they differ. From three runs on a bottle, or a brush, stands
    alone; else all of its solution count, of the newest 20 bottles the newest 60 runs. areakit plan takes the factor
    where it is more certain than label and tables.

    \b
    Example:
      areakit bottle factor G7 --plot g7.svg
    """
    from areakit.plating.deposit import table_density
    from areakit.service.bottle import show_bottle
    from areakit.service.own_factor import bath_of, bottle_factor, factor_as_json, factor_drawing

    if plot is not None:
        write_new(plot, factor_drawing(desk, label, brush=brush).encode())
    if as_json:
        echo_json(factor_as_json(desk, label, brush=brush))
        return
    bath = bath_of(show_bottle(desk, label))
    _page(bottle_factor(desk, label, brush=brush), bath, table_density(bath).quantity).show()
    if plot is not None:
        click.echo(f"Written: {plot}")


def headline(found: RecordedFactor) -> str:
    """Return in one line what the factor is, or how many runs it lacks."""
    from areakit.plating.own_factor import FEWEST
    from areakit.plural import counted
    from areakit.records.recorded_factor import PER_CHARGE
    from areakit.units import show

    if found.factor is None:
        runs = counted(len({one.run for one in found.seen.observations}), "run")
        return f"Own factor of {found.solution}: {runs} so far; from {FEWEST} on they tell how runs differ."
    made = found.factor
    return (
        f"Own factor of {found.basis}: {show(made.deposit, PER_CHARGE)} for the next run, from {len(made.runs)} runs."
    )


def _page(found: RecordedFactor, bath: Bath, density: Measured) -> Page:
    from areakit.cli.page import Page

    page = Page()
    page.heading(f"{found.metal.capitalize()} from {found.solution}, {_about(found)}")
    rows = [_row(one, bath) for one in sorted(found.seen.observations, key=lambda one: one.at)]
    page.table(rows, header=("when", "bottle", "brush", "age", "deposit", "efficiency", "what"))
    if not rows:
        page.lines(["Nothing weighed or measured tells of its deposit per charge yet."])
    page.lines([f"Left out: {words}" for words in found.seen.left_out])
    page.heading("Own factor")
    if found.factor is None:
        page.lines([headline(found)])
        return page
    page.table(_factor_rows(found, found.factor, bath, density))
    page.lines(_notes(found.factor, bath))
    return page


def _about(found: RecordedFactor) -> str:
    words = f"bottle {found.bottle}" if found.bottle else f"bottles {', '.join(found.bottles)}"
    return f"{words}, brush {found.brush}" if found.brush else words


def _row(one: Observation, bath: Bath) -> tuple[str, ...]:
    from areakit.plating.own_factor import efficiency_of
    from areakit.records.recorded_factor import PER_CHARGE
    from areakit.units import show

    shown = (show(one.deposit, PER_CHARGE), show(efficiency_of(one.deposit, bath), "%"))
    return (one.at[:10], one.bottle, one.brush or "-", _age(one.age), *shown, one.name)


def _age(age: float | None) -> str:
    from areakit.records.recorded_factor import PER_VOLUME
    from areakit.units import pretty_unit, si_factor

    return "-" if age is None else f"{age / si_factor(PER_VOLUME):.3g} {pretty_unit(PER_VOLUME)}"


def _factor_rows(found: RecordedFactor, made: OwnFactor, bath: Bath, density: Measured) -> list[tuple[str, str]]:
    from areakit.plating.own_factor import efficiency_of
    from areakit.records.recorded_factor import PER_CHARGE, kinds_counted, per_age, plating_factor
    from areakit.units import show

    rows = [
        ("from", f"{found.basis}: {len(made.runs)} runs, {kinds_counted(made.observations)}"),
        ("next run", show(made.deposit, PER_CHARGE)),
        ("efficiency", show(efficiency_of(made.deposit, bath), "%")),
        ("plating factor", show(plating_factor(made.deposit, density))),
        ("mean of the runs", show(made.mean, PER_CHARGE)),
        ("runs differ by", f"{100.0 * made.between:.1f} % (standard deviation beyond their own ±)"),
    ]
    if made.age is not None:
        rows.append(("age now", _age(made.age)))
    if made.drift is not None:
        rows.append(("drift", f"{100.0 * per_age(made.drift.value):+.2g} % for each A·h/L; counted in for the age now"))
    return rows


def _notes(made: OwnFactor, bath: Bath) -> list[str]:
    from areakit.plating.own_factor import efficiency_of
    from areakit.records.recorded_factor import PER_CHARGE
    from areakit.units import show

    notes = [
        f"{one.run} lies {100.0 * abs(one.ratio - 1.0):.0f} % {'above' if one.ratio > 1 else 'below'} what the others "
        f"let expect (E_n {one.e_n:+.1f}). It is counted; without it the next run would be "
        f"{show(one.without, PER_CHARGE)}. If it was a slip, correct or withdraw its entry."
        for one in made.outliers
    ]
    if efficiency_of(made.deposit, bath).value > 1.0:
        notes.append(
            "That is more than Faraday's law allows, so no plan takes it: look at weighings (dry, no residue), meter "
            "and the kind of bath."
        )
    ages = made.ages
    if ages is not None and made.age is not None and made.age - ages[1] > ages[1] - ages[0]:
        notes.append(
            f"The solution has aged by more since its last observed run ({_age(ages[1])}) than over all of them: weigh "
            "or measure the next one."
        )
    return notes
