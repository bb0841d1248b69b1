"""How much solution and metal a layer takes, what is lost, and what comes back."""

from __future__ import annotations

from dataclasses import dataclass

from areakit.errors import RangeError
from areakit.plating import faraday
from areakit.plating.faraday import (
    Coulomb,
    CoulombPerCubicMetre,
    CubicMetre,
    CubicMetrePerSquareMetre,
    Kilogram,
    KilogramPerCubicMetre,
    Ratio,
    SquareMetre,
)
from areakit.plating.premise import Premise
from areakit.uncertainty import Measured, propagate, total


def volume_for_charge(*, charge: Coulomb, allowed_charge: CoulombPerCubicMetre) -> CubicMetre:
    r"""Return the volume that may pass a charge before the solution is used up.

    .. math:: V = \frac{Q}{q}

    Raises RangeError if the allowed charge is not above zero. Source: [mfg349] worked job: 11.31 A·h at 44.5 A·h/L.
    """
    faraday.check_positive(allowed_charge=allowed_charge)
    return charge / allowed_charge


def volume_for_metal(*, mass: Kilogram, metal_content: KilogramPerCubicMetre, usable_fraction: Ratio) -> CubicMetre:
    r"""Return the volume that holds a mass of metal in its usable part.

    .. math:: V = \frac{m}{c f}

    Raises RangeError if the content is not above zero, or the fraction not within 0 to 1. Source: mass balance.
    """
    faraday.check_positive(metal_content=metal_content)
    faraday.check_ratio(usable_fraction, "usable fraction")
    return mass / (metal_content * usable_fraction)


def metal_held(*, volume: CubicMetre, metal_content: KilogramPerCubicMetre) -> Kilogram:
    r"""Return the metal that a volume of solution holds, in a sleeve, say.

    .. math:: m = V c

    Source: mass balance.
    """
    return volume * metal_content


def metal_dragged_out(
    *, area: SquareMetre, drag_out: CubicMetrePerSquareMetre, metal_content: KilogramPerCubicMetre
) -> Kilogram:
    r"""Return the metal that leaves with the film of solution on the part.

    .. math:: m = A v c

    Source: [nmfrc] drag-out per area.
    """
    return area * drag_out * metal_content


@dataclass(frozen=True, slots=True, kw_only=True)
class SolutionUse:
    """What the tables, the label or the user say about one solution; None where nobody knows.

    A ``soluble_anode`` gives the bath back what the parts take, but for the difference of the two efficiencies.
    """

    metal_content: Premise | None
    usable_fraction: Premise | None
    allowed_charge: Premise | None
    sleeve_hold_up: Premise | None
    drag_out: Premise
    soluble_anode: bool = False
    recovered: tuple[tuple[str, float], ...] = ()

    def recovered_share(self, place: str) -> float:
        """Return the share brought back from a place; unless told, all of the run-off and nothing else."""
        share = dict(self.recovered).get(place, 1.0 if place == "run-off" else 0.0)
        if not 0.0 <= share <= 1.0:
            raise RangeError(
                f"A recovered share of {share * 100:g} % is outside 0 to 100 %.", remedy="Give it as a percentage."
            )
        return share

    @property
    def premises(self) -> tuple[Premise, ...]:
        """The known numbers, for the list of origins."""
        numbers = (self.metal_content, self.usable_fraction, self.allowed_charge, self.sleeve_hold_up, self.drag_out)
        return tuple(number for number in numbers if number is not None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Loss:
    """Metal that goes somewhere other than onto the part, and what of it comes back. [kg]"""

    place: str
    held: Measured
    recovered: Measured
    lost: Measured


@dataclass(frozen=True, slots=True, kw_only=True)
class Consumption:
    """Solution and metal for one layer on all pieces, in SI; None where a figure is missing.

    ``volume`` is what is used up, the larger of the two bounds; ``volume_ready`` adds what sleeve and part carry away.
    Where a soluble anode gives the metal back, ``from_anode`` is what it gives, nothing is used up by metal, and only
    what is dragged out has to be replaced.
    """

    deposited: Measured
    volume_by_charge: Measured | None
    volume_by_metal: Measured | None
    volume: Measured | None
    volume_ready: Measured | None
    losses: tuple[Loss, ...]
    top_up_metal: Measured
    top_up_volume: Measured | None
    sleeve_over_deposit: float | None
    from_anode: Measured | None = None
    sleeve_volume: Measured | None = None
    drag_out_volume: Measured | None = None


def consume(use: SolutionUse, *, charge: Measured, deposited: Measured, area: Measured) -> Consumption:
    """Return solution and metal for a charge [C] that deposits a mass [kg] on an area [m2], all pieces together."""
    by_charge = by_metal = None
    if use.allowed_charge is not None:
        by_charge = propagate(
            lambda q, a: volume_for_charge(charge=q, allowed_charge=a), charge, use.allowed_charge.quantity, unit="m3"
        )
    if use.metal_content is not None and use.usable_fraction is not None and not use.soluble_anode:
        by_metal = propagate(
            lambda m, c, f: volume_for_metal(mass=m, metal_content=c, usable_fraction=f),
            deposited,
            use.metal_content.quantity,
            use.usable_fraction.quantity,
            unit="m3",
        )
    known = [volume for volume in (by_charge, by_metal) if volume is not None]
    volume = max(known, key=lambda volume: volume.value) if known else None
    losses = _losses(use, area)
    if volume is not None and use.sleeve_hold_up is not None:
        losses += _run_off(use, volume=volume, deposited=deposited, losses=losses)
    taken = [] if use.soluble_anode else [deposited]
    top_up = total([*taken, *(loss.lost for loss in losses)], "kg")
    sleeve = next((loss.held.value for loss in losses if loss.place == "sleeve"), None)
    return Consumption(
        deposited=deposited,
        volume_by_charge=by_charge,
        volume_by_metal=by_metal,
        volume=volume,
        volume_ready=_volume_ready(use, volume, area),
        losses=losses,
        top_up_metal=top_up,
        top_up_volume=_top_up_volume(use, top_up),
        sleeve_over_deposit=sleeve / deposited.value if sleeve is not None else None,
        from_anode=deposited if use.soluble_anode else None,
        sleeve_volume=use.sleeve_hold_up.quantity if use.sleeve_hold_up is not None else None,
        drag_out_volume=_dragged(use, area),
    )


def _losses(use: SolutionUse, area: Measured) -> tuple[Loss, ...]:
    if use.metal_content is None:
        return ()
    content = use.metal_content.quantity
    dragged = propagate(
        lambda a, v, c: metal_dragged_out(area=a, drag_out=v, metal_content=c),
        area,
        use.drag_out.quantity,
        content,
        unit="kg",
    )
    places = [("drag-out", dragged)]
    if use.sleeve_hold_up is not None:
        held = propagate(
            lambda v, c: metal_held(volume=v, metal_content=c), use.sleeve_hold_up.quantity, content, unit="kg"
        )
        places.insert(0, ("sleeve", held))
    return tuple(_loss(place, held, use.recovered_share(place)) for place, held in places)


def _run_off(use: SolutionUse, *, volume: Measured, deposited: Measured, losses: tuple[Loss, ...]) -> tuple[Loss, ...]:
    """Return the metal that runs off the part into the tray: what was poured less what went anywhere else."""
    if use.metal_content is None:
        return ()
    poured = propagate(lambda v, c: v * c, volume, use.metal_content.quantity, unit="kg")
    spent = total([deposited, *(loss.held for loss in losses)], "kg")
    left = propagate(lambda p, s: p - s, poured, spent, unit="kg")
    return (_loss("run-off", left, use.recovered_share("run-off")),) if left.value > 0 else ()


def _volume_ready(use: SolutionUse, volume: Measured | None, area: Measured) -> Measured | None:
    """Return the volume to have at hand: what is used up, and what the sleeve and the part carry away."""
    if volume is None:
        return None
    dragged = _dragged(use, area)
    held = [use.sleeve_hold_up.quantity] if use.sleeve_hold_up is not None else []
    return total([volume, dragged, *held], "m3")


def _dragged(use: SolutionUse, area: Measured) -> Measured:
    return propagate(lambda a, v: a * v, area, use.drag_out.quantity, unit="m3")


def _loss(place: str, held: Measured, share: float) -> Loss:
    return Loss(
        place=place,
        held=held,
        recovered=held.times(share),
        lost=held.times(1.0 - share),
    )


def _top_up_volume(use: SolutionUse, mass: Measured) -> Measured | None:
    if use.metal_content is None:
        return None
    return propagate(lambda m, c: m / c, mass, use.metal_content.quantity, unit="m3")
