"""What was typed, completed from a shop profile: what is typed goes before what the profile says."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from areakit.errors import InputError
from areakit.plating.process import process as known_process
from areakit.plating.solutions import read_solutions
from areakit.service.shop_profile import Profile, solutions_toml
from areakit.units import parse_with_tolerance

_BRUSH = (("hand_speed", "speed"), ("stroke", "stroke"), ("overlap", "overlap"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Filled:
    """Entries of a plan after the profile was asked, and for each that it gave, where it stands in the profile."""

    entries: Mapping[str, Any]
    origins: Mapping[str, str]


class _Filler:
    """Completes entries one by one, and remembers what came from the profile."""

    def __init__(self, typed: Mapping[str, Any], profile: Profile) -> None:
        self.entries: dict[str, Any] = dict(typed)
        self.profile = profile
        self.origins: dict[str, str] = {}

    def one(self, name: str, section: str, key: str) -> None:
        """Fill a plain entry that nobody typed."""
        value = self.profile.one(section, key)
        if value is not None:
            self.put(name, value, f"{section}.{key}")

    def put(self, name: str, value: Any, path: str) -> None:
        if self.entries.get(name) is None:
            self.entries[name] = value
            self.origins[name] = path

    def metal(self, name: str, metal: str, value: str | None, path: str) -> None:
        """Fill an entry of one metal, unless it, or one for all metals, was typed."""
        typed = dict(self.entries.get(name) or {})
        if value is None or metal in typed or "" in typed:
            return
        self.entries[name] = {**typed, metal: value}
        self.origins[f"{name} {metal}"] = path


def filled(typed: Mapping[str, Any], profile: Profile | None, *, brush: str | None = None) -> Filled:
    """Return the typed entries completed from a profile; what does not belong to the process is left out.

    InputError if the profile has no such brush.

    Parameters
    ----------
    typed : mapping
        Entries by the names of :class:`areakit.service.plan.PlanRequest`, of its spread and of
        :class:`areakit.service.measure.MeasureRequest`; None or empty where nobody said.
    profile : Profile or None
    brush : str, optional
        Brush of the profile, by its name; else its usual one, else its first.
    """
    if profile is None:
        if brush is not None:
            raise InputError(
                f"There is no shop profile to find the brush {brush[:40]!r} in.",
                remedy="Make one.",
                fields={"areakit shop": ""},
            )
        return Filled(entries=dict(typed), origins={})
    fill = _Filler(typed, profile)
    for name in ("base", "market", "use"):
        fill.one(name, "usual", name)
    if fill.entries.get("photo") is not None or fill.entries.get("shape"):
        fill.one("faces", "usual", "faces")
        _stock(fill)
    if fill.entries.get("photo") is not None:
        fill.one("edge_make", "usual", "edge_make")
        _sheet(fill)
    if len(profile.processes) == 1:
        fill.put("process", profile.processes[0], "usual.process")
    fill.one("meter_uncertainty", "supply", "meter_uncertainty")
    process = fill.entries.get("process")
    if process is not None and fill.entries.get("processes") is None:
        _by_process(fill, str(process), brush)
    return Filled(entries=fill.entries, origins=fill.origins)


def _stock(fill: _Filler) -> None:
    """Take the thickness of a stock by its name, typed or usual."""
    stock, typed = fill.profile.table("stock"), fill.entries.get("thickness")
    if typed is not None and str(typed).strip() in stock:
        name = str(typed).strip()
        fill.entries["thickness"] = stock[name]
        fill.origins["thickness"] = f"stock.{name}"


def _sheet(fill: _Filler) -> None:
    if fill.entries.get("copy_name") is None and fill.entries.get("check_lengths") is None:
        fill.one("copy_name", "sheet", "copy")
        if fill.entries.get("copy_name") is None:
            fill.one("check_lengths", "sheet", "check_lengths")


def _by_process(fill: _Filler, name: str, brush: str | None) -> None:
    process = known_process(name)
    metals = process.metals
    _solutions(fill, metals, process.method)
    tables = ("", "tank_")[process.method == "tank"]
    for metal in metals:
        _metal(fill, metal, tables)
    if process.method == "brush":
        _brush(fill, brush)
        for entry, key in _BRUSH:
            fill.one(entry, "hand", key)
    else:
        count = fill.profile.one("tank", "pieces_per_load")
        if count is not None:
            fill.put("pieces_per_load", int(count), "tank.pieces_per_load")
    if fill.entries.get("supply") is None:
        fill.one("supply", "supply", "largest_current")


def _metal(fill: _Filler, metal: str, tables: str) -> None:
    """Fill what holds for one metal; ``tables`` begins the names of the tables of the method."""
    profile, efficiency, density = fill.profile, f"{tables}efficiency", f"{tables}current_density"
    if not fill.entries.get("requirements"):
        fill.metal("layers", metal, profile.table("layers").get(metal), f"layers.{metal}")
    if not _typed(fill, "factor", metal) and not _typed(fill, "bath", metal) and not _labelled(fill, metal):
        fill.metal("efficiency", metal, profile.table(efficiency).get(metal), f"{efficiency}.{metal}")
    fill.metal("current_density", metal, profile.table(density).get(metal), f"{density}.{metal}")


def _labelled(fill: _Filler, metal: str) -> bool:
    """Tell whether the label of the metal's solution says its efficiency."""
    name = str((fill.entries.get("solution") or {}).get(metal))
    row = fill.profile.table("solutions").get(name, {})
    return "efficiency" in row or "plating_factor" in row


def _typed(fill: _Filler, name: str, metal: str) -> bool:
    entries = fill.entries.get(name) or {}
    return metal in entries or "" in entries


def _solutions(fill: _Filler, metals: Iterable[str], method: str) -> None:
    """Name a solution of the profile for each metal that has none, and put the profile's beside the user's own."""
    own = read_solutions(fill.entries.get("solutions") or "")
    rows = fill.profile.table("solutions")
    for metal in metals:
        name = fill.profile.solution_for(metal, method)
        if name is not None and not _typed(fill, "bath", metal):
            fill.metal("solution", metal, name, f"solutions.{name}")
    more = solutions_toml({name: row for name, row in rows.items() if name not in own})
    if more:
        fill.entries["solutions"] = f"{(fill.entries.get('solutions') or '').rstrip()}\n\n{more}"


def _brush(fill: _Filler, name: str | None) -> None:
    brushes = fill.profile.table("brushes")
    said = name or fill.profile.one("usual", "brush") or next(iter(brushes), None)
    if said is None:
        return
    if said not in brushes:
        raise InputError(
            f"The shop profile {fill.profile.name} has no brush {said[:40]!r}.",
            remedy=f"Its brushes: {', '.join(brushes) or 'none'}.",
        )
    row, where = brushes[said], f"brushes.{said}"
    typed = fill.entries.get("footprint") or fill.entries.get("footprint_size")
    if typed is None:
        _coupons(fill, said)
    if typed is None and row.get("footprint") is not None:
        fill.put("footprint", row["footprint"], f"{where}.footprint")
        if row.get("corners") is not None:
            fill.put("footprint_corners", row["corners"], f"{where}.corners")
    if typed is None and row.get("sleeve") is not None:
        fill.put("sleeve", row["sleeve"], f"{where}.sleeve")
    _limit(fill, row.get("largest_current"), where)


def _coupons(fill: _Filler, brush: str) -> None:
    """Take the coupon of this brush and of the solution of each metal, the first where there are several."""
    for metal, solution in dict(fill.entries.get("solution") or {}).items():
        for name, row in fill.profile.table("coupons").items():
            if (row.get("brush"), row.get("solution")) == (brush, solution) and not _typed(fill, "coupons", metal):
                fill.entries["coupons"] = {**(fill.entries.get("coupons") or {}), metal: {"name": name, **row}}
                fill.origins[f"coupons {metal}"] = f"coupons.{name}"


def _limit(fill: _Filler, limit: str | None, where: str) -> None:
    """Take the smaller of what the brush may carry and what the supply gives, typed or not."""
    supply = fill.entries.get("supply") or fill.profile.one("supply", "largest_current")
    if limit is None:
        return
    if supply is None or _amperes(limit) < _amperes(str(supply)):
        fill.entries["supply"] = limit
        fill.origins["supply"] = f"{where}.largest_current"


def _amperes(text: str) -> float:
    return parse_with_tolerance(text, "current")[0]
