"""Propagation through a shape: the budget by shifting each input and drawing the shape again."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from areakit.uncertainty import Measured


def differenced(
    function: Callable[..., Sequence[float]], inputs: Sequence[Measured], units: Sequence[str]
) -> tuple[Measured, ...]:
    """Return every result of ``function(*values)`` with its budget, to first order.

    Each input name of the budgets is shifted by one standard uncertainty up and down, everywhere at once, so inputs
    that share a name stay correlated.

    Source: [gum] JCGM 100:2008, 5.1.3, note 2: sensitivities by numerical shifts.
    """
    names = dict.fromkeys(name for quantity in inputs for name in quantity.budget)
    middle = function(*(quantity.value for quantity in inputs))
    budgets: list[dict[str, float]] = [{} for _ in units]
    for name in names:
        shares = [quantity.budget.get(name, 0.0) for quantity in inputs]
        up, down = (
            function(*(q.value + sign * share for q, share in zip(inputs, shares, strict=True))) for sign in (1.0, -1.0)
        )
        for budget, high, low in zip(budgets, up, down, strict=True):
            budget[name] = (high - low) / 2.0
    return tuple(
        Measured(value=value, unit=unit, budget=budget)
        for value, unit, budget in zip(middle, units, budgets, strict=True)
    )
