"""How a charge is run: by brush under its footprint, or in a tank on a rack of parts."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor

from areakit.errors import RangeError
from areakit.flags import Flag, flag
from areakit.plating import faraday
from areakit.plating.contact import LaneContact, stroking
from areakit.plating.faraday import (
    Ampere,
    AmperePerSquareMetre,
    Coulomb,
    Count,
    Second,
    SquareMetre,
)
from areakit.plating.metals import figure, find_figure
from areakit.plating.premise import Premise, premise_of_range
from areakit.plural import counted
from areakit.sources import source
from areakit.uncertainty import Measured, exact, propagate

PER_DM2 = 100.0  # A/m2 in one A/dm2
PER_CM2 = 1e4  # cm2 in one m2
MINUTE = 60.0


MOST_PIECES = 1_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class AllowedDensity:
    """The current densities that a source allows. [A/m2]"""

    low: float | None
    high: float | None
    origin: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """What stands on the bench; None where nobody said. Lengths in m, speeds in m/s."""

    footprint: Premise | None = None
    contact_fraction: Premise | None = None
    pitch: float | None = None
    supply: float | None = None
    pieces: int = 1
    pieces_per_load: int | None = None
    stroke: float | None = None
    hand_speed: Premise | None = None

    def __post_init__(self) -> None:
        if self.pieces < 1 or (self.pieces_per_load is not None and self.pieces_per_load < 1):
            raise RangeError("The number of pieces is below one.", remedy="Give at least one piece.")
        if max(self.pieces, self.pieces_per_load or 1) > MOST_PIECES:
            raise RangeError(f"The number of pieces is above {MOST_PIECES}.", remedy="Check the number of pieces.")
        if self.footprint is not None and not self.footprint.quantity.value > 0:
            raise RangeError("The brush footprint has no size.", remedy="Give its area, such as 4 cm2.")
        if self.supply is not None and not self.supply > 0:
            raise RangeError("The supply gives no current.", remedy="Give the largest current of the supply.")


@dataclass(frozen=True, slots=True, kw_only=True)
class BrushRun:
    """Brush work on one piece.

    - ``mean_current``, ``peak_current``: averaged over the whole working time, and where most metal is under the brush.
      [A]
    - ``current_density``: under the brush. [A/m2]
    - ``contact_fraction``: metal in contact averaged over the working time, over the brush footprint. [1]
    - ``time``: whole working time: on metal, past the edge and lifted. [s]
    - ``passes``, ``seconds_per_pass``: brush-overs of the whole plated area, and the time that each takes; their
      product is ``time``. [1, s]
    """

    mean_current: Measured
    peak_current: Measured
    current_density: float
    contact_fraction: Premise
    time: Measured
    passes: Measured
    seconds_per_pass: Measured
    hand_speed: Premise
    strokes_per_minute: Measured | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TankLoad:
    """Loads alike: how many pieces hang on each, how many such loads there are, and the current of one. [A]"""

    pieces: int
    loads: int
    current: Measured


@dataclass(frozen=True, slots=True, kw_only=True)
class TankRun:
    """Tank work: what a rack takes, and the loads, fullest first, each of which runs for ``time``. [s]

    ``rack`` is the most pieces at a time, by the rack and the supply. ``share`` is below one where other kinds of parts
    hang in the same load: of its current and charge. [1]
    """

    rack: int
    groups: tuple[TankLoad, ...]
    current_density: float
    time: Measured
    share: float = 1.0

    @property
    def pieces_per_load(self) -> int:
        """Pieces of the fullest load."""
        return self.groups[0].pieces

    @property
    def loads(self) -> int:
        """Number of loads."""
        return sum(group.loads for group in self.groups)

    @property
    def current(self) -> Measured:
        """Current of the fullest load. [A]"""
        return self.groups[0].current


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadShare:
    """What one kind of part gets of a load.

    - ``parts``: their numbers in the measurement; empty for a typed area.
    - ``share``: of area, current and charge, all its pieces. [1]
    - ``current``: [A]
    - ``minimum``, ``needed``: minimum on each piece, and what is asked for; None where a mean was ordered. [m]
    """

    parts: tuple[int, ...]
    pieces: int
    share: float
    current: Measured
    minimum: Measured
    needed: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SharedLoad:
    """One layer of all kinds in one load: current [A], density [A/m2], time [s], charge [C] and area [m2] of all."""

    metal: str
    current: Measured
    current_density: float
    time: Measured
    charge: float
    area: Measured
    pieces: int
    shares: tuple[LoadShare, ...]


def balanced_loads(pieces: int, rack: int) -> tuple[tuple[int, int], ...]:
    """Return (pieces on a load, number of such loads), fullest first, for as few loads as the rack allows.

    Loads are as even as can be, because each needs a current of its own: 5 pieces on a rack of 4 hang as 3 and 2.
    """
    loads = ceil(pieces / rack)
    small, larger = divmod(pieces, loads)
    return tuple((size, count) for size, count in ((small + 1, larger), (small, loads - larger)) if count)


def current_for_area(*, current_density: AmperePerSquareMetre, area: SquareMetre) -> Ampere:
    r"""Return the current that puts a current density on an area (the brush footprint, where a brush is used).

    .. math:: I = J A

    Source: [mfg349] worked job: 5 A/in2 on 6 in2.
    """
    return current_density * area


def time_for_charge(*, charge: Coulomb, current: Ampere) -> Second:
    r"""Return the time in which a current passes a charge.

    .. math:: t = \frac{Q}{I}

    Raises RangeError if the current is not above zero. Source: definition of the ampere second.
    """
    faraday.check_positive(current=current)
    return charge / current


def passes_for_charge(
    *, charge: Coulomb, area: SquareMetre, current_density: AmperePerSquareMetre, dose: Second
) -> Count:
    r"""Return how many passes over the whole area bring a charge.

    .. math:: n = \frac{Q}{A J \tau}

    Raises RangeError if area, current density or dose is not above zero. Source: definition of the ampere second: each
    pass brings the charge J tau to a unit of area.
    """
    faraday.check_positive(area=area, current_density=current_density, dose=dose)
    return charge / (area * current_density * dose)


def brush_run(
    bench: Bench,
    *,
    metal: str,
    charge: Measured,
    area: Measured,
    density: Premise,
    allowed: AllowedDensity | None,
    lanes: LaneContact | None = None,
) -> tuple[BrushRun | None, tuple[Flag, ...]]:
    """Return current, time and passes on one piece for a charge [C] on an area [m2]; None without a known footprint.

    The peak current is the density on the metal under the brush; the mean follows from the contact fraction; the time
    is the charge over the mean.
    """
    if bench.footprint is None:
        return None, (
            flag("CURRENT_NOT_PLANNED", metal=metal, missing="the brush footprint", fields={"footprint": "4 cm2"}),
        )
    flags: list[Flag] = []
    footprint = bench.footprint.quantity
    if footprint.value > area.value:
        flags.append(
            flag("FOOTPRINT_TOO_LARGE", footprint_cm2=footprint.value * PER_CM2, area_cm2=area.value * PER_CM2)
        )
        footprint = area
    speed, strokes, paced = _pace(bench)
    pitch = bench.pitch if bench.pitch is not None else footprint.value**0.5
    done = stroking(footprint=footprint, stated=bench.contact_fraction, lanes=lanes, pitch=pitch, speed=speed.quantity)
    peak = propagate(
        lambda j, a: current_for_area(current_density=j, area=a) * (done.largest * done.gain),
        density.quantity,
        footprint,
        unit="A",
    )
    peak, limited = _within_supply(bench, metal, peak)
    used = peak.value / (footprint.value * done.largest * done.gain)
    flags += [*limited, *outside_allowed(metal, used, allowed), *paced]
    flags += _raised_volts(metal, used, fraction=done.fraction.value, peak=peak.value, allowed=allowed)
    fraction = done.fraction.quantity
    mean = propagate(lambda i, f: i * f / done.largest, peak, fraction, unit="A")
    setting = exact(peak.value / done.largest, "A")
    time = propagate(lambda q, i, f: time_for_charge(charge=q, current=i * f), charge, setting, fraction, unit="s")
    passes = propagate(
        lambda q, a, d: passes_for_charge(charge=q, area=a, current_density=used * done.gain, dose=d),
        charge,
        area,
        done.dose,
        unit="1",
    )
    each = propagate(lambda a, d, f: a * d / (f * footprint.value), area, done.dose, fraction, unit="s")
    return (
        BrushRun(
            mean_current=mean,
            peak_current=peak,
            current_density=used,
            contact_fraction=done.fraction,
            time=time,
            passes=passes,
            seconds_per_pass=each,
            hand_speed=speed,
            strokes_per_minute=strokes,
        ),
        tuple(flags),
    )


def _within_supply(bench: Bench, metal: str, current: Measured) -> tuple[Measured, list[Flag]]:
    if bench.supply is None or current.value <= bench.supply:
        return current, []
    advice = "The plan was made with the supply's current and a longer time; a smaller tool keeps the current density."
    told = flag("SUPPLY_LIMIT", metal=metal.capitalize(), wanted=current.value, supply=bench.supply, advice=advice)
    return exact(bench.supply, "A"), [told]


def _raised_volts(
    metal: str, density: float, *, fraction: float, peak: float, allowed: AllowedDensity | None
) -> list[Flag]:
    """Return a flag where volts raised until the mean reads as the peak would push the density out of its range."""
    if allowed is None or allowed.high is None or density / fraction <= allowed.high * (1 + 1e-9):
        return []
    return [
        flag(
            "VOLTS_NOT_RAISED",
            metal=metal,
            peak=peak,
            density=density / fraction / PER_DM2,
            high=allowed.high / PER_DM2,
            origin=allowed.origin,
        )
    ]


def outside_allowed(metal: str, density: float, allowed: AllowedDensity | None) -> list[Flag]:
    """Return a flag where a current density [A/m2] lies outside what is allowed."""
    if allowed is None:
        return []
    low, high = allowed.low or 0.0, allowed.high if allowed.high is not None else float("inf")
    if low * (1 - 1e-9) <= density <= high * (1 + 1e-9):
        return []
    return [
        flag(
            "CURRENT_DENSITY_OUTSIDE",
            metal=metal,
            value=density / PER_DM2,
            low=low / PER_DM2,
            high=high / PER_DM2,
            origin=allowed.origin,
        )
    ]


def _pace(bench: Bench) -> tuple[Premise, Measured | None, list[Flag]]:
    """Return hand speed [m/s], strokes a minute, and a flag outside the usual band."""
    usual = premise_of_range("brush", "hand_speed", "hand speed")
    assert usual is not None, "the table holds the usual band"
    speed = bench.hand_speed or usual
    faraday.check_positive(hand_speed=speed.value)
    if bench.stroke is None:
        return speed, None, []
    faraday.check_positive(stroke_length=bench.stroke)
    per_minute = MINUTE / bench.stroke
    strokes = speed.quantity.times(per_minute, unit="1/min")
    low, high = figure("brush", "hand_speed_low"), figure("brush", "hand_speed_high")
    if low.measured().value * (1 - 1e-9) <= speed.value <= high.measured().value * (1 + 1e-9):
        return speed, strokes, []
    told = flag(
        "HAND_SPEED",
        strokes=strokes.value,
        stroke_mm=bench.stroke * 1e3,
        speed=speed.value * MINUTE,
        low=low.value,
        high=high.value,
    )
    return speed, strokes, [told]


def tank_run(
    bench: Bench, *, metal: str, charge: Measured, area: Measured, density: Premise, allowed: AllowedDensity | None
) -> tuple[TankRun, tuple[Flag, ...]]:
    """Return the loads, and current and time of a load, for a charge [C] on each piece of an area [m2]."""
    flags = outside_allowed(metal, density.value, allowed)
    one = propagate(lambda j, a: current_for_area(current_density=j, area=a), density.quantity, area, unit="A")
    rack = bench.pieces_per_load or bench.pieces
    wanted, used = min(rack, bench.pieces), density.value
    if bench.supply is not None and one.value * wanted > bench.supply:
        rack = max(1, min(wanted, floor(bench.supply / one.value)))
        used = min(density.value, bench.supply / area.value)
        advice = f"The plan hangs at most {rack} at a time."
        if used < density.value:
            advice = "The plan runs one part at the supply's current, below the wanted current density."
            flags += outside_allowed(metal, used, allowed)
        flags.append(
            flag(
                "SUPPLY_LIMIT",
                metal=f"{counted(wanted, 'part')} of {metal}",
                wanted=one.value * wanted,
                supply=bench.supply,
                advice=advice,
            )
        )
    share = used / density.value
    each = one.times(share)
    setting = exact(each.value, "A")
    time = propagate(lambda q, i: time_for_charge(charge=q, current=i), charge, setting, unit="s")
    groups = tuple(
        TankLoad(pieces=size, loads=count, current=each.times(size))
        for size, count in balanced_loads(bench.pieces, rack)
    )
    return TankRun(rack=rack, groups=groups, current_density=used, time=time), tuple(flags)


def table_allowed(bath_key: str) -> AllowedDensity | None:
    """Return the current densities that the tables allow for a bath; None where there is none."""
    low, high = find_figure(bath_key, "current_density_low"), find_figure(bath_key, "current_density_high")
    row = high or low
    if row is None:
        return None
    return AllowedDensity(
        low=low.measured().value if low else None,
        high=high.measured().value if high else None,
        origin=source(row.source).citation,
    )
