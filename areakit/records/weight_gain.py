"""What was weighed in a job, and the runs whose metal the difference is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from areakit.records.job import Entry, Job, mass_gained
from areakit.records.runs import Run, runs_of
from areakit.uncertainty import Measured, propagate, total


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """Two weighings of a job and the runs between them.

    Parameters
    ----------
    before, after : Entry
    runs : tuple of Run
        Those that plate a metal.
    gain : Measured
        On all pieces together. [kg]
    """

    before: Entry
    after: Entry
    runs: tuple[Run, ...]
    gain: Measured

    @property
    def metals(self) -> tuple[str, ...]:
        """What was plated between the weighings, in order."""
        return tuple(dict.fromkeys(run.step.doc["metal"] for run in self.runs))

    def of(self, metal: str) -> tuple[Run, ...]:
        """Return the runs of a metal."""
        return tuple(run for run in self.runs if run.step.doc["metal"] == metal)

    @property
    def predicted(self) -> Measured | None:
        """Metal by charge and efficiency [kg]; None where the efficiency of a run is not known."""
        return mass_of(self.runs)

    def gain_of(self, metal: str) -> Measured | None:
        """Return the gain that is left for a metal once the others, by their charge, are taken off.

        [kg] None where the efficiency of another metal's run is not known.
        """
        others = mass_of([run for run in self.runs if run.step.doc["metal"] != metal])
        return None if others is None else propagate(lambda g, o: g - o, self.gain, others, unit="kg")


def mass_of(runs: Sequence[Run]) -> Measured | None:
    """Return the metal of runs by charge and efficiency [kg]; None where one is not known."""
    masses = [run.mass for run in runs]
    known = [mass for mass in masses if mass is not None]
    return total(known, "kg") if len(known) == len(masses) else None


def charge_of(runs: Sequence[Run]) -> Measured:
    """Return the charge of runs together. [C]"""
    return total([run.log.charge for run in runs], "C")


def spans_of(job: Job) -> tuple[Span, ...]:
    """Return the weighings that have plating between them, in order.

    A weighing after something was plated ends one span and begins the next, so each layer may be weighed by itself.
    Where both weighings were written down after the work, or before it, all runs lie between them.
    """
    runs = tuple(run for run in runs_of(job) if run.step.doc["metal"] and run.log.charge.value > 0.0)
    weighed = job.all_of("weighed")
    found: list[Span] = []
    start: Entry | None = None
    for entry in weighed:
        if start is not None and entry.doc["when"] == "after":
            between = tuple(run for run in runs if start.number < run.step.number < entry.number)
            if between:
                found.append(_span(start, entry, between))
            elif found and found[-1].after is start:  # weighed once more, such as after drying
                found[-1] = _span(found[-1].before, entry, found[-1].runs)
        start = entry
    before, after = (_last(weighed, when) for when in ("before", "after"))
    if not found and runs and before is not None and after is not None:
        return (_span(before, after, runs),)
    return tuple(found)


def _span(before: Entry, after: Entry, runs: tuple[Run, ...]) -> Span:
    return Span(before=before, after=after, runs=runs, gain=mass_gained(before, after))


def _last(weighed: Sequence[Entry], when: str) -> Entry | None:
    return next((entry for entry in reversed(weighed) if entry.doc["when"] == when), None)
