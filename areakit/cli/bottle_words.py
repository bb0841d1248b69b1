"""A bottle in one line of the terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from areakit.records.bottles import Bottle


def left_words(bottle: Bottle) -> tuple[str, str]:
    """Return the charge and the metal that are left."""
    from areakit.records.bottle_json import metal_words
    from areakit.units import show

    charge = show(bottle.charge_left, "A.h") if bottle.charge_left else "not limited"
    return charge, metal_words(bottle, "g")


def kind_words(bottle: Bottle) -> str:
    """Return the solution, its lot, and what became of it."""
    lot = f", lot {bottle.lot}" if bottle.lot else ""
    state = ", recovered" if bottle.recovered else ""
    return f"{bottle.solution}{lot}{state}{', discarded' if bottle.discarded else ''}"


def say(bottle: Bottle) -> None:
    """Print in one line what is left in a bottle."""
    from areakit.records.bottle_json import usable_words

    charge, metal = left_words(bottle)
    usable = f" Of it can still be plated out: {usable_words(bottle, 'g')}." if bottle.usable is not None else ""
    click.echo(f"Bottle {bottle.label}: {kind_words(bottle)}. Charge left: {charge}. Metal left: {metal}.{usable}")
