"""A plan as it is asked for at the bench."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from areakit.flags import Flag
from areakit.service.spread import SpreadRequest

if TYPE_CHECKING:
    from areakit.records.recorded_factor import RecordedFactor

USES = ("jewellery", "decorative", "technical")
MARKETS = ("eu", "us", "other")


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanRequest:
    """A plan as asked for at the bench: text with units, by metal where a mapping is given.

    ``measured`` is what ``areakit measure --json`` printed; ``solutions`` is the text of a solutions file. A mapping
    from an empty name holds for every metal. ``pieces`` is None for as many as were measured, one for a typed area.
    ``coupons`` holds for a metal what a weighed coupon was: ``volts``, ``passes``, ``area``, ``gain``, ``time`` and,
    where several were plated, ``repeat``. What nobody says comes from the profile ``shop``: that which holds for None;
    ``none`` asks none. ``brush`` is one of its brushes, by its name. ``together`` hangs all kinds of parts in one
    load of a tank, with one current.

    ``bottle`` is the label of the bottle for a metal. Where a bottle or a solution is named, the ``journal`` is asked
    for the shop's own factor: the usual one for None; ``none`` asks none. ``own`` holds what it said, ``brush_taken``
    which brush of the profile was taken.
    """

    process: str = ""
    layers: Mapping[str, str] = field(default_factory=dict)
    area: str | None = None
    area_uncertainty: str | None = None
    measured: str | None = None
    part: int | None = None
    pieces: int | None = None
    requirements: tuple[str, ...] = ()
    bath: Mapping[str, str] = field(default_factory=dict)
    solution: Mapping[str, str] = field(default_factory=dict)
    solutions: str | None = None
    processes: str | None = None
    efficiency: Mapping[str, str] = field(default_factory=dict)
    factor: Mapping[str, str] = field(default_factory=dict)
    density: Mapping[str, str] = field(default_factory=dict)
    current_density: Mapping[str, str] = field(default_factory=dict)
    allowance: Mapping[str, str] = field(default_factory=dict)
    metal_content: Mapping[str, str] = field(default_factory=dict)
    recover: Mapping[str, str] = field(default_factory=dict)
    coupons: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    contact: str | None = None
    contact_fraction: str | None = None
    supply: str | None = None
    pieces_per_load: int | None = None
    stroke: str | None = None
    hand_speed: str | None = None
    sleeve: str | None = None
    drag_out: str | None = None
    meter_uncertainty: str | None = None
    base: str | None = None
    market: str | None = None
    use: str | None = None
    even_chance: bool = False
    together: bool = False
    spread: SpreadRequest = field(default_factory=SpreadRequest)
    shop: str | None = None
    brush: str | None = None
    bottle: Mapping[str, str] = field(default_factory=dict)
    journal: str | None = None
    own: Mapping[str, RecordedFactor] = field(default_factory=dict)
    brush_taken: str = ""
    record_flags: tuple[Flag, ...] = ()
