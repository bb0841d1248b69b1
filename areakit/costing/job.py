"""What a quote needs to know of a planned job: for each layer its metal, times, losses and solution."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from areakit.uncertainty import Measured


@dataclass(frozen=True, slots=True, kw_only=True)
class MetalLoss:
    """Metal that a place holds, and what of it is recovered, for the whole job, each with its budget. [kg]

    A ``fixed`` loss (the sleeve) comes once a job, the others with every piece.
    """

    place: str
    held: Measured
    recovered: Measured

    @property
    def fixed(self) -> bool:
        """Whether it comes once a job."""
        return self.place == "sleeve"

    @property
    def refined(self) -> bool:
        """Whether what is recovered goes to a refiner; run-off goes back into the bottle."""
        return self.place in ("sleeve", "drag-out")


@dataclass(frozen=True, slots=True, kw_only=True)
class QuotedLayer:
    """One layer of the job, in SI. ``mass`` is of all pieces, with area, density and efficiency in its budget.

    ``thickness`` is the minimum thickness where ``thickness_is`` says minimum, else the mean; ``mean`` is the mean.
    ``solution_volume`` is what is used up or topped up. [m3]
    ``time`` is of one piece, or of one load of at most ``pieces_per_load``; None where no current is planned.
    """

    metal: str
    bath: str
    thickness: float
    thickness_is: Literal["minimum", "mean"]
    mean: float
    mass: Measured
    time: float | None
    pieces_per_load: int | None
    losses: tuple[MetalLoss, ...]
    solution_volume: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedJob:
    """A planned job. ``area`` is of one piece, in m2; ``faces`` says in words which faces it is, None where unknown.

    ``parts`` are the numbers of the equal parts that were measured, empty for a typed area. ``own_factors`` says of
    which metals the shop's own factor was planned with.
    """

    title: str
    area: Measured
    area_words: str
    pieces: int
    layers: tuple[QuotedLayer, ...]
    cautions: tuple[str, ...]
    findings: tuple[str, ...] = ()
    own_factors: tuple[str, ...] = ()
    faces: str | None = None
    parts: tuple[int, ...] = ()


def at_pieces(job: PlannedJob, pieces: int) -> PlannedJob:
    """Return the same job for another number of pieces: what comes with each piece grows, the sleeve does not."""
    factor = pieces / job.pieces
    layers = tuple(
        replace(
            layer,
            mass=layer.mass.times(factor),
            losses=tuple(
                loss
                if loss.fixed
                else replace(loss, held=loss.held.times(factor), recovered=loss.recovered.times(factor))
                for loss in layer.losses
            ),
            solution_volume=None if layer.solution_volume is None else layer.solution_volume * factor,
        )
        for layer in job.layers
    )
    return replace(job, pieces=pieces, layers=layers)
