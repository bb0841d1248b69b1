"""Current readings of one run, integrated to charge, and carried on to thickness and time to go."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import fsum, hypot, sqrt

from areakit.errors import InputError
from areakit.plating.deposit import Chemistry, mass_for_charge, minimum_for_mean, thickness_for_charge
from areakit.plating.findings import Finding
from areakit.uncertainty import Measured, propagate


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """The current at one time. [s, A] ``stop``: it was cut at that moment, and nothing flows until the next sample.

    0 A is a stop at which nothing was read: a supply stands at its current until it is switched off.
    ``clock_step``: to what this time was written down, where that differs from the run's. [s]
    """

    time: float
    current: float
    stop: bool = False
    clock_step: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Instruments:
    """How well current and time are known.

    Parameters
    ----------
    meter_share : float
        Relative standard uncertainty of the ammeter, common to all readings. [1]
    meter_step : float
        Last digit of the ammeter. [A]
    clock_step : float
        To what the times were written down. [s]
    """

    meter_share: float = 0.02
    meter_step: float = 0.1
    clock_step: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowed:
    """The longest time without current [s], in words where it comes from, and why it is so."""

    seconds: float
    origin: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Pause:
    """A time without current. [s] ``after``: number of the sample before it."""

    start: float
    length: float
    after: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RunLog:
    """What the samples of one run say.

    Parameters
    ----------
    charge : Measured
        Charge so far. [C]
    live : float
        Time with current. [s]
    pauses : tuple of Pause
    current : float
        The last current, zero after a stop. [A]
    """

    charge: Measured
    live: float
    pauses: tuple[Pause, ...]
    current: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Reached:
    """What a run has put on so far, and what is left.

    Parameters
    ----------
    mean, minimum : Measured
        Thickness of one piece. [m] ``minimum`` rests on the distribution allowance.
    mass : Measured
        Metal on all pieces of the run. [kg]
    remaining : Measured or None
        Charge to the target, negative once it is passed. [C]
    time_left : Measured or None
        At the present current. [s] None without current or target.
    """

    mean: Measured
    minimum: Measured
    mass: Measured
    remaining: Measured | None
    time_left: Measured | None


def integrate(samples: Sequence[Sample], instruments: Instruments, *, name: str) -> RunLog:
    r"""Return the charge under the samples, by the trapezoid rule, with what meter and clock add.

    .. math:: Q = \sum_i \tfrac12 (I_i + I_{i+1}) (t_{i+1} - t_i)

    Parameters
    ----------
    samples : sequence of Sample
        In the order of time; at least one.
    instruments : Instruments
    name : str
        Of the run; independent shares are named after it, the ammeter's is not, so runs stay correlated through it.

    Raises
    ------
    InputError
        If a time runs backwards.

    Sources
    -------
    [gum] equation 10: digits of meter and clock are rectangular; between two samples the current may have changed at
    either of them, which is a rectangular half width of ``|I2 - I1| (t2 - t1) / 2``. Until a stop at which nothing was
    read, the current before it flowed.
    """
    _check_order(samples)
    read, samples = samples, _held(samples)
    segments = [pair for pair in pairwise(samples) if not pair[0].stop]
    charge = fsum((a.current + b.current) / 2 * (b.time - a.time) for a, b in segments)
    budget = {
        "ammeter": charge * instruments.meter_share,
        f"{name}: digits of the ammeter": instruments.meter_step / sqrt(12.0) * _meter_weight(read, samples),
        f"{name}: digits of the clock": _clock_weight(samples, instruments.clock_step) / sqrt(12.0),
        f"{name}: current between readings": sqrt(
            fsum(((b.current - a.current) * (b.time - a.time)) ** 2 for a, b in segments) / 12.0
        ),
    }
    pauses = tuple(
        Pause(start=a.time, length=b.time - a.time, after=index)
        for index, (a, b) in enumerate(pairwise(samples), start=1)
        if a.stop
    )
    return RunLog(
        charge=Measured(value=charge, unit="C", budget=budget),
        live=fsum(b.time - a.time for a, b in segments),
        pauses=pauses,
        current=0.0 if not samples or samples[-1].stop else samples[-1].current,
    )


def _check_order(samples: Sequence[Sample]) -> None:
    for number, (a, b) in enumerate(pairwise(samples), start=2):
        if b.time < a.time:
            raise InputError(
                f"Reading {number} is {a.time - b.time:.0f} s earlier than the one before it.",
                remedy="Give its true time, or correct the earlier reading.",
            )


def _held(samples: Sequence[Sample]) -> list[Sample]:
    """Return the samples with the current that flowed until each stop at which none was read."""
    held: list[Sample] = []
    for sample in samples:
        if sample.current == 0.0:
            before = held[-1].current if held and not held[-1].stop else 0.0
            sample = replace(sample, current=before, stop=True)
        held.append(sample)
    return held


def _meter_weight(read: Sequence[Sample], held: Sequence[Sample]) -> float:
    """Root sum of squares of dQ/dI over the readings. [s]"""
    weights = [0.0] * len(held)
    for index, (a, b) in enumerate(pairwise(held)):
        if not a.stop:
            half = (b.time - a.time) / 2
            weights[index] += half
            weights[index + 1 if read[index + 1].current else index] += half
    return hypot(*weights)


def _clock_weight(samples: Sequence[Sample], usual: float) -> float:
    """Root sum of squares of dQ/dt times the step of the clock, over the samples. [C]"""
    weights = [0.0] * len(samples)
    for index, (a, b) in enumerate(pairwise(samples)):
        if not a.stop:
            mean = (a.current + b.current) / 2
            weights[index] -= mean
            weights[index + 1] += mean
    steps = [usual if sample.clock_step is None else sample.clock_step for sample in samples]
    return hypot(*(weight * step for weight, step in zip(weights, steps, strict=True)))


def reached(
    log: RunLog, figures: Chemistry, *, area: Measured, allowance: Measured, pieces: int, target: Measured | None
) -> Reached:
    """Return thickness, metal and what is left, for a run over ``pieces`` alike.

    Parameters
    ----------
    area : Measured
        Plated area of one piece. [m2]
    allowance : Measured
        Distribution allowance, mean over minimum. [1]
    target : Measured, optional
        Charge for the whole run. [C]
    """
    each = propagate(lambda q: q / pieces, log.charge, unit="C")
    mean = thickness_for_charge(figures, charge=each, area=area)
    remaining, time_left = left(log, target)
    return Reached(
        mean=mean,
        minimum=minimum_for_mean(mean, allowance),
        mass=mass_for_charge(figures, charge=log.charge),
        remaining=remaining,
        time_left=time_left,
    )


def left(log: RunLog, target: Measured | None) -> tuple[Measured | None, Measured | None]:
    """Return the charge to the target [C], negative once passed, and the time for it at the present current [s]."""
    if target is None:
        return None, None
    remaining = propagate(lambda q, done: q - done, target, log.charge, unit="C")
    current = log.current
    if not current or remaining.value <= 0:
        return remaining, None
    return remaining, propagate(lambda q: q / current, remaining, unit="s")


def pause_findings(log: RunLog, *, allowed: Allowed, title: str) -> tuple[Finding, ...]:
    """Return the re-activation finding for every pause that went on after it was too long."""
    return tuple(
        reactivation(pause.length, allowed=allowed, title=title)
        for pause in log.pauses
        if pause.length > allowed.seconds
    )


def reactivation(length: float, *, allowed: Allowed, title: str) -> Finding:
    """Return the finding that a surface stood too long without current. [s]"""
    words = f"{allowed.seconds:.0f} s are allowed ({allowed.origin})"
    return Finding(
        code="REACTIVATE",
        severity="stop",
        message=f"{title}: {length:.0f} s went by without current; {words}.",
        why=allowed.why,
        source="ac43",
        remedy="Rinse, activate again as in the plan, and go on at once while wet; record the activation as a step.",
    )
