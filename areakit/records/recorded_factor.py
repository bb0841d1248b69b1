"""The factor that a record holds for a solution: which of its observations count for a bottle, brush and age."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from areakit.plating.metals import Bath
from areakit.plating.own_factor import Observation, OwnFactor, efficiency_of, fold, runs_of
from areakit.plating.premise import Origin, Premise
from areakit.records.bottles import Bottle
from areakit.records.codec import in_json, picked, quantity_json
from areakit.records.observations import Seen, bath_age
from areakit.uncertainty import Measured, propagate
from areakit.units import in_unit, show, si_factor

SCHEMA = "areakit.factor/1"
FEWEST_APART = 3
"""Runs of one bottle, or with one brush, from which on they stand alone instead of with all of the solution."""
PER_CHARGE, PER_VOLUME, PER_LAYER = "g/A.h", "A.h/L", "A.min/dm2/um"
_PLURAL = {"weighing": "weighings", "coupon": "coupons", "reading": "readings"}


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedFactor:
    """What the record says of a solution.

    Parameters
    ----------
    solution, metal : str
    bottle : str or None
        The bottle that was asked about.
    bottles : tuple of str
        Labels of all bottles of the solution that were looked at.
    brush : str
        The brush that was asked about; empty for any.
    basis : str
        Whose runs were folded, in words.
    factor : OwnFactor or None
        None where the runs are too few.
    seen : Seen
        All observations, those not folded too, and what could not become one.
    """

    solution: str
    metal: str
    bottle: str | None
    bottles: tuple[str, ...]
    brush: str
    basis: str
    factor: OwnFactor | None
    seen: Seen

    def premise(self, bath: Bath) -> Premise | None:
        """Return the cathode efficiency of the next run in a bath; None without a factor, or with an impossible one."""
        if self.factor is None:
            return None
        efficiency = efficiency_of(self.factor.deposit, bath)
        if efficiency.value > 1.0:
            return None
        budget = {_named(name, self.metal): share for name, share in efficiency.budget.items()}
        return Premise(
            name=f"{self.metal} efficiency",
            quantity=Measured(value=efficiency.value, unit="1", budget=budget),
            origin=Origin(kind="measured", text=self.words()),
        )

    def words(self) -> str:
        """Return in words where the factor is from, for plan, card and quote."""
        assert self.factor is not None
        days = (self.factor.runs[0].at[:10], self.factor.runs[-1].at[:10])
        span = days[0] if days[0] == days[1] else f"{days[0]} to {days[1]}"
        return (
            f"own factor of {self.basis}: {show(self.factor.deposit, PER_CHARGE)} from {len(self.factor.runs)} runs, "
            f"{span} ({kinds_counted(self.factor.observations)})"
        )


def _named(name: str, metal: str) -> str:
    return f"{metal} {name}" if name in ("next run", "mean of the runs") else name


def kinds_counted(observations: Sequence[Observation]) -> str:
    """Return how many of each kind there are, in words."""
    kinds = [one.kind for one in observations]
    counts = [(kind, kinds.count(kind)) for kind in _PLURAL if kind in kinds]
    return ", ".join(f"{count} {kind if count == 1 else _PLURAL[kind]}" for kind, count in counts)


def recorded_factor(
    bottles: Sequence[Bottle], seen: Seen, *, solution: str, metal: str, bottle: Bottle | None, brush: str = ""
) -> RecordedFactor:
    """Return the factor of a solution: of the named bottle or brush alone where it has runs enough, else of all.

    Parameters
    ----------
    bottles : sequence of Bottle
        All of the solution.
    seen : Seen
        What their jobs and coupons say.
    bottle : Bottle, optional
        The one that will be used; the only one in use unless said.
    """
    in_use = [one for one in bottles if not one.discarded]
    used = bottle or (in_use[0] if len(in_use) == 1 else None)
    labels = tuple(dict.fromkeys(one.bottle for one in seen.observations))
    basis = f"{solution} ({_listed(labels)})" if labels else solution
    chosen: Sequence[Observation] = seen.observations
    if bottle is not None and (mine := _alone(chosen, lambda one: one.bottle == bottle.label)):
        chosen, basis = mine, f"bottle {bottle.label}"
    if brush and (mine := _alone(chosen, lambda one: one.brush == brush)):
        chosen, basis = mine, f"{basis} with brush {brush}"
    age = bath_age(used).now if used is not None else None
    return RecordedFactor(
        solution=solution,
        metal=metal,
        bottle=bottle.label if bottle else None,
        bottles=tuple(one.label for one in bottles),
        brush=brush,
        basis=basis,
        factor=fold(chosen, age=age),
        seen=seen,
    )


def _listed(labels: Sequence[str]) -> str:
    return f"bottle{'s' * (len(labels) > 1)} {', '.join(labels)}"


def _alone(observations: Sequence[Observation], mine: Callable[[Observation], bool]) -> tuple[Observation, ...]:
    """Return the observations that are meant where they are runs enough to stand alone, else none."""
    found = tuple(one for one in observations if mine(one))
    return found if len(runs_of(found)) >= FEWEST_APART else ()


def factor_json(found: RecordedFactor, bath: Bath, density: Measured) -> dict[str, Any]:
    """Return the factor as JSON: deposit in g/A.h, age in A.h/L, density of the deposit in g/cm3."""
    factor = found.factor
    return {
        "schema": SCHEMA,
        **picked(found, "solution", "metal", "bottle"),
        "brush": found.brush or None,
        "basis": found.basis,
        "observations": [_observation_json(one, bath) for one in found.seen.observations],
        "left_out": list(found.seen.left_out),
        "factor": None if factor is None else _factor_json(factor, bath, density),
    }


def _observation_json(one: Observation, bath: Bath) -> dict[str, Any]:
    return {
        **picked(one, "name", "run", "kind", "at", "bottle"),
        "brush": one.brush or None,
        "bath_age": _age(one.age),
        "deposit": quantity_json(in_unit(one.deposit, PER_CHARGE)),
        "efficiency": quantity_json(efficiency_of(one.deposit, bath)),
    }


def _factor_json(factor: OwnFactor, bath: Bath, density: Measured) -> dict[str, Any]:
    return {
        "runs": len(factor.runs),
        "mean": quantity_json(in_unit(factor.mean, PER_CHARGE)),
        "next_run": quantity_json(in_unit(factor.deposit, PER_CHARGE)),
        "efficiency": quantity_json(efficiency_of(factor.deposit, bath)),
        "plating_factor": quantity_json(plating_factor(factor.deposit, density)),
        "between_runs": factor.between,
        "bath_age": _age(factor.age),
        "drift_per_bath_age": None if factor.drift is None else per_age(factor.drift.value),
        "outliers": [
            {**picked(one, "run", "ratio", "e_n"), "next_run_without": in_json(one.without, PER_CHARGE)}
            for one in factor.outliers
        ],
    }


def plating_factor(deposit: Measured, density: Measured) -> Measured:
    """Return charge per area and thickness [A.min/dm2/um] from mass per charge, as a label states it."""
    one = si_factor(PER_LAYER)
    return propagate(lambda rho, m: rho / m / one, density, deposit, unit=PER_LAYER)


def per_age(slope: float) -> float:
    """Return a relative change per C/m3 as one per A.h/L."""
    return slope * si_factor(PER_VOLUME)


def _age(age: float | None) -> float | None:
    return None if age is None else age / si_factor(PER_VOLUME)
