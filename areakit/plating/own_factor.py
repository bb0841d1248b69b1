"""The bench's own deposit per charge: what its runs say of a solution, folded into a factor for the next one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from math import exp, fsum, hypot, log, sqrt
from typing import Literal

from areakit.plating.faraday import KilogramPerCoulomb, Ratio, electrochemical_equivalent
from areakit.plating.mandel_paule import Pooled, coverage, pool
from areakit.plating.metals import Bath, figure
from areakit.uncertainty import COVERAGE_FACTOR, Measured

FEWEST = 2
"""Runs from which on they tell how they differ."""
FEWEST_FOR_DRIFT = 5
"""Runs from which on a drift with the bath's age is looked for: a line through fewer follows their scatter."""
FEWEST_TO_JUDGE = 4
"""Runs from which on one is held against the others."""
OUTLIER = 1.5
"""E_n of a run against the others from which on it is told: three standard uncertainties, as an action signal of
[iso13528]; at two, one in twenty sound runs would be."""
COMMON = ("ammeter", "ampere-minute meter")
"""Inputs that all runs share, and that no number of runs averages out; so do those that end as below."""
_COMMON_ENDS = (" efficiency", " density", " gauge")
_EVEN = 1e-6
"""Relative uncertainty that a run has at least, so that a weighing typed without ± has no endless weight."""

Kind = Literal["weighing", "coupon", "reading"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Observation:
    """What one run deposited per charge, by one kind of evidence.

    - ``name``: where it stands in the record, in words.
    - ``run``: observations of one run have the same; they are averaged before runs are compared.
    - ``deposit``: mass per charge. [kg/C] Shares of inputs that recur in other runs keep their name; see
      :data:`COMMON`.
    - ``age``: charge that a volume of the bottle had passed by then. [C/m3]
    """

    name: str
    run: str
    kind: Kind
    at: str
    bottle: str
    brush: str
    deposit: Measured
    age: float | None

    @property
    def common(self) -> dict[str, float]:
        """Relative shares of what all runs have in common. [1]"""
        return {name: part / self.deposit.value for name, part in self.deposit.budget.items() if _is_common(name)}

    @property
    def of_run(self) -> float:
        """Relative standard uncertainty of the run's charge, the same for all evidence of this run. [1]"""
        return self._share(lambda name: name.startswith("run "))

    @property
    def own(self) -> float:
        """Relative standard uncertainty of this evidence alone. [1]"""
        return self._share(lambda name: not name.startswith("run "))

    def _share(self, wanted: Callable[[str], bool]) -> float:
        parts = [p for name, p in self.deposit.budget.items() if not _is_common(name) and wanted(name)]
        return hypot(*parts) / self.deposit.value


@dataclass(frozen=True, slots=True, kw_only=True)
class RunFactor:
    """One run: its evidence averaged.

    - ``deposit``: mass per charge. [kg/C]
    - ``standard``: relative standard uncertainty that is this run's own. [1]
    - ``common``: relative shares of what all runs have in common. [1]
    """

    run: str
    at: str
    bottle: str
    deposit: float
    standard: float
    common: dict[str, float]
    age: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlier:
    """A run that the others do not bear out.

    - ``ratio``, ``e_n``: its deposit over what the others let expect, and the E_n of the two. [1]
    - ``without``: what the next run would be without it. [kg/C]
    """

    run: str
    ratio: float
    e_n: float
    without: Measured


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnFactor:
    """The runs folded into what the next one will deposit per charge.

    - ``mean``, ``deposit``: mean of the runs, and the next run, which scatters as they did. [kg/C]
    - ``between``: standard deviation of runs beyond their own uncertainty, over their mean. [1]
    - ``drift``: relative change of the deposit with the charge that a volume has passed; None where none shows. [m3/C]
    - ``age``: the age that both hold for. [C/m3]
    """

    observations: tuple[Observation, ...]
    runs: tuple[RunFactor, ...]
    mean: Measured
    deposit: Measured
    between: float
    drift: Measured | None
    age: float | None
    outliers: tuple[Outlier, ...]
    pooled: Pooled = field(repr=False, compare=False)

    @property
    def ages(self) -> tuple[float, float] | None:
        """Youngest and oldest age of a run; None where no age is known. [C/m3]"""
        known = [run.age for run in self.runs if run.age is not None]
        return (min(known), max(known)) if known else None

    def expected(self, age: float | None) -> tuple[float, float]:
        """Return what a run at an age deposits, and its relative expanded uncertainty. [kg/C, 1]"""
        return exp(self.pooled.at(age)), COVERAGE_FACTOR * self.pooled.next_standard(age)


def runs_of(observations: Sequence[Observation]) -> tuple[RunFactor, ...]:
    """Return the runs of some observations, in the order of time; evidence of one run is averaged by its weight."""
    by_run: dict[str, list[Observation]] = {}
    for one in observations:
        by_run.setdefault(one.run, []).append(one)
    return tuple(sorted((_averaged(run, found) for run, found in by_run.items()), key=lambda one: one.at))


def _averaged(run: str, found: Sequence[Observation]) -> RunFactor:
    """Return one run; the charge's uncertainty stays whole, since all its evidence rests on the same charge."""
    weights = [1.0 / max(one.own, _EVEN) ** 2 for one in found]
    shares = [weight / fsum(weights) for weight in weights]
    common: dict[str, float] = {}
    for share, one in zip(shares, found, strict=True):
        for name, part in one.common.items():
            common[name] = common.get(name, 0.0) + share * part
    level = fsum(share * log(one.deposit.value) for share, one in zip(shares, found, strict=True))
    return RunFactor(
        run=run,
        at=found[0].at,
        bottle=found[0].bottle,
        deposit=exp(level),
        standard=max(_EVEN, hypot(sqrt(1.0 / fsum(weights)), max(one.of_run for one in found))),
        common=common,
        age=found[0].age,
    )


def fold(observations: Sequence[Observation], *, age: float | None = None) -> OwnFactor | None:
    """Return the factor of some observations; None where their runs are too few to tell how runs differ.

    - ``observations``: of one solution; outliers stay in.
    - ``age``: charge that a volume of the bottle has passed by now, for a factor that drifts with it. [C/m3]

    Sources: [mandel-paule] the mean of the logarithms; [higgins] what the next run will do.
    """
    runs = runs_of(observations)
    if len(runs) < FEWEST:
        return None
    pooled, drift = _pooled(runs, drifting=age is not None)
    return OwnFactor(
        observations=tuple(observations),
        runs=runs,
        mean=_measured(exp(pooled.at(age)), {"mean of the runs": pooled.mean_standard(age), **_common(pooled, runs)}),
        deposit=_next(pooled, runs, age),
        between=pooled.between,
        drift=drift,
        age=age,
        outliers=_outliers(runs, age),
        pooled=pooled,
    )


def _common(pooled: Pooled, runs: Sequence[RunFactor]) -> dict[str, float]:
    """Return the relative shares of what all runs have in common, by their weight: they do not average out."""
    common: dict[str, float] = {}
    for weight, run in zip(pooled.weights, runs, strict=True):
        for name, part in run.common.items():
            common[name] = common.get(name, 0.0) + float(weight) * part
    return common


def _next(pooled: Pooled, runs: Sequence[RunFactor], age: float | None) -> Measured:
    shares = {"next run": pooled.next_standard(age), **_common(pooled, runs)}
    return _measured(exp(pooled.at(age)), shares)


def _measured(level: float, shares: dict[str, float]) -> Measured:
    return Measured(value=level, unit="kg/C", budget={name: part * level for name, part in shares.items()})


def _pooled(runs: Sequence[RunFactor], *, drifting: bool) -> tuple[Pooled, Measured | None]:
    """Return the runs pooled, over their ages where a slope shows that is not nothing within its uncertainty."""
    values, standards = [log(run.deposit) for run in runs], [run.standard for run in runs]
    ages = [run.age for run in runs if run.age is not None]
    if drifting and len(ages) == len(runs) >= FEWEST_FOR_DRIFT and max(ages) > min(ages):
        line = pool(values, standards, ages=ages)
        standard = sqrt(float(line.covariance[1, 1])) * coverage(line.freedom) / COVERAGE_FACTOR
        slope = Measured(value=float(line.coefficients[1]), unit="1", budget={"drift of the runs": standard})
        if abs(slope.value) > slope.expanded_uncertainty:
            return line, slope
    return pool(values, standards), None


def _outliers(runs: Sequence[RunFactor], age: float | None) -> tuple[Outlier, ...]:
    """Return the runs that lie outside what the others let expect.

    Source: [iso13528] E_n of a run against the prediction from the others; action signal at three standard
    uncertainties.
    """
    found = []
    for index, run in enumerate(runs):
        others = [*runs[:index], *runs[index + 1 :]]
        if len(others) < FEWEST_TO_JUDGE - 1:
            continue
        pooled, _ = _pooled(others, drifting=age is not None)
        difference = log(run.deposit) - pooled.at(run.age)
        e_n = difference / (COVERAGE_FACTOR * hypot(run.standard, pooled.next_standard(run.age)))
        if abs(e_n) > OUTLIER:
            found.append(Outlier(run=run.run, ratio=exp(difference), e_n=e_n, without=_next(pooled, others, age)))
    return tuple(found)


def efficiency_for_deposit(*, deposit: KilogramPerCoulomb, equivalent: KilogramPerCoulomb) -> Ratio:
    r"""Return the cathode efficiency of a deposit per charge; above 1 is returned as it comes out.

    .. math:: \eta = \frac{m / Q}{M / (z F)}

    Source: [si] Faraday constant; Faraday's law.
    """
    return deposit / equivalent


def efficiency_of(deposit: Measured, bath: Bath) -> Measured:
    """Return the cathode efficiency of a deposit per charge [kg/C] in a bath, above 1 too."""
    equivalent = electrochemical_equivalent(
        molar_mass=figure(bath.metal, "molar_mass").measured().value,
        electrons_per_ion=figure(bath.key, "electrons_per_ion").value,
    )
    value = efficiency_for_deposit(deposit=deposit.value, equivalent=equivalent)
    return Measured(value=value, unit="1", budget={name: part / equivalent for name, part in deposit.budget.items()})


def _is_common(name: str) -> bool:
    return name in COMMON or name.endswith(_COMMON_ENDS)
