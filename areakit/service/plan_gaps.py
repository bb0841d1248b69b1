"""What a plan still has to be told: every missing entry at once, each with its question, its field and a default."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from areakit.errors import Fields, InputError
from areakit.plating import efficiency as efficiencies
from areakit.plating.deposit import table_density
from areakit.plating.metals import all_baths, find_figure
from areakit.plating.process import BASE_GROUPS, Process, all_processes
from areakit.plating.process import process as known_process
from areakit.plating.requirements import requirement
from areakit.plating.run import table_allowed
from areakit.plating.solutions import Solution, default_bath, read_solutions
from areakit.plural import counted
from areakit.service.entries import read_area
from areakit.service.shop_profile import Profile

WALLS = ("all", "walls", "front-and-edges")


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """One missing entry. ``needed`` tells that there is no plan without it; else there are no amperes and minutes.

    ``metal`` is the metal that it is for, empty where it is for the whole plan.
    """

    entry: str
    question: str
    fields: Fields
    needed: bool
    metal: str = ""
    default: str | None = None
    choices: tuple[str, ...] = ()

    @property
    def example(self) -> str:
        """What a person would type; nothing where there are several ways."""
        return next(iter(self.fields.values())) if len(self.fields) == 1 else ""


def gaps(entries: Mapping[str, Any], profile: Profile | None = None) -> tuple[Gap, ...]:
    """Return what is missing in the entries of a plan, what decides the others first.

    Raises
    ------
    InputError
        If the process, or a solution, is not known.
    """
    found: list[Gap] = []
    if not any(entries.get(name) for name in ("area", "measured", "photo", "shape")):
        found.append(_gap("photo", "Photo or drawing of the part", {"area": "12.5 cm2", "shape": "disk 30 mm"}))
    found += _thickness(entries, profile)
    if entries.get("process") is None:
        return (*found, _process_gap(profile), *_after_process(entries, profile))
    if entries.get("processes") is not None:
        return tuple(found)
    process = known_process(str(entries["process"]))
    if entries.get("base") is None:
        words = "Base metal of the part"
        found.append(_gap("base", words, {"base": "brass"}, needed=False, choices=tuple(BASE_GROUPS)))
    for metal in process.metals:
        found += _metal_gaps(entries, process, metal)
    if process.method == "brush" and entries.get("footprint") is None and entries.get("footprint_size") is None:
        words = "Footprint of the brush, across by along the lanes"
        found.append(_gap("footprint", words, {"footprint": "20 x 15 mm"}, needed=False))
    return tuple(found)


def _gap(entry: str, question: str, fields: Fields, **more: Any) -> Gap:
    return Gap(**{"entry": entry, "question": question, "fields": fields, "needed": True, **more})


def _process_gap(profile: Profile | None) -> Gap:
    usual = profile.processes if profile is not None else ()
    words = f"Process (yours: {', '.join(usual)})" if usual else "Process"
    fields = {"process": usual[0] if usual else "nickel-gold-brush"}
    return _gap("process", words, fields, default=usual[0] if usual else None, choices=usual or tuple(all_processes()))


def _after_process(entries: Mapping[str, Any], profile: Profile | None) -> list[Gap]:
    """Return what any process will need besides, so that all of it can be said in one round."""
    if profile is not None and profile.processes:
        return []
    found = []
    if not entries.get("layers") and not entries.get("requirements"):
        found.append(_gap("later", "minimum thickness of each of its metals", {"layer.METAL": "0.5 um"}))
    for name, words, fields in (
        ("base", "base metal", {"base": "brass"}),
        ("footprint", "brush footprint", {"footprint": "20 x 15 mm"}),
        ("current_density", "current density of each metal", {"current_density.METAL": "10 A/dm2"}),
    ):
        if not entries.get(name):
            found.append(_gap("later", words, fields, needed=False))
    return found


def _thickness(entries: Mapping[str, Any], profile: Profile | None) -> list[Gap]:
    """Return the thickness of the part, where its edges are plated and nothing else says it."""
    flat = entries.get("photo") or any(_is_plane(one) for one in entries.get("shape") or ())
    if not flat or entries.get("thickness") is not None or entries.get("faces") not in WALLS or entries.get("form"):
        return []
    stock = profile.one("usual", "stock") if profile is not None else None
    names = tuple(profile.table("stock")) if profile is not None else ()
    words = "Thickness of the part" + (f" (or your stock: {', '.join(names)})" if names else "")
    return [_gap("thickness", words, {"thickness": "1.2 mm"}, default=stock if stock in names else None)]


def _is_plane(shape: str) -> bool:
    """Tell whether a typed shape lies in a plane, so that its thickness is not among its sizes."""
    from areakit.geometry.shape_text import SOLIDS, read_shape

    return read_shape(shape).name not in SOLIDS


def _metal_gaps(entries: Mapping[str, Any], process: Process, metal: str) -> list[Gap]:
    found: list[Gap] = []
    asked = {requirement(key).metal for key in entries.get("requirements") or ()}
    if not _said(entries, "layers", metal) and metal not in asked:
        words = f"Minimum thickness of {metal}"
        found.append(_gap("layers", words, {f"layer.{metal}": "0.5 um"}, metal=metal))
    solution = _solution(entries, metal)
    if _needs_efficiency(entries, process, metal, solution):
        words = f"Cathode efficiency of {metal}, or handbook for the row of the table"
        found.append(_gap("efficiency", words, {f"efficiency.{metal}": "72% ± 6%"}, metal=metal))
    if not _said(entries, "current_density", metal) and not _has_window(entries, process, metal, solution):
        place = "on the brush footprint" if process.method == "brush" else "on the part"
        words = f"Current density of {metal} {place}, from its label"
        found.append(
            _gap("current_density", words, {f"current_density.{metal}": "10 A/dm2"}, metal=metal, needed=False)
        )
    return found


def _said(entries: Mapping[str, Any], name: str, metal: str) -> bool:
    by_metal = entries.get(name) or {}
    return metal in by_metal or "" in by_metal


def _solution(entries: Mapping[str, Any], metal: str) -> Solution | None:
    by_metal = entries.get("solution") or {}
    name = by_metal.get(metal, by_metal.get(""))
    return read_solutions(entries.get("solutions") or "").get(name) if name else None


def _needs_efficiency(entries: Mapping[str, Any], process: Process, metal: str, solution: Solution | None) -> bool:
    if any(_said(entries, name, metal) for name in ("efficiency", "factor", "own")):
        return False
    if solution is not None and (solution.efficiency is not None or solution.plating_factor is not None):
        return False
    named = (entries.get("bath") or {}).get(metal)
    bath = all_baths().get(named) if named else None
    bath = bath or (solution.bath if solution is not None else default_bath(metal))
    try:
        efficiencies.stated_default(bath, method=process.method, density=table_density(bath).quantity)
    except InputError:
        return True
    return False


def _has_window(entries: Mapping[str, Any], process: Process, metal: str, solution: Solution | None) -> bool:
    if solution is not None and solution.current_density is not None:
        return True
    by_metal = entries.get("bath") or {}
    key = by_metal.get(metal) or (solution.bath.key if solution is not None else default_bath(metal).key)
    fits = ("-brush" in key) == (process.method == "brush")
    whole = find_figure(key, "current_density_low") is not None and find_figure(key, "current_density_high") is not None
    return fits and whole and table_allowed(key) is not None


def refuse_missing(entries: Mapping[str, Any], missing: tuple[Gap, ...]) -> None:
    """Refuse entries that lack something; what is wrong in them goes before what is missing.

    Raises
    ------
    InputError
    """
    if entries.get("area") is not None:
        read_area(area=entries["area"], area_uncertainty=entries.get("area_uncertainty"))
    needed = [gap for gap in missing if gap.needed]
    wanted = [gap for gap in missing if not gap.needed]
    lacks = "; ".join(_lower(gap.question) for gap in needed)
    message = f"The plan lacks {counted(len(needed), 'entry', 'entries')}: {lacks}."
    also = f"; for amperes and minutes also {', '.join(_lower(gap.question) for gap in wanted)}" if wanted else ""
    fields = {key: text for gap in (*needed, *wanted) for key, text in gap.fields.items()}
    remedy = f"Give what is missing{also}. A shop profile keeps what stays the same."
    raise InputError(message, remedy=remedy, fields={**fields, "areakit shop": ""})


def _lower(words: str) -> str:
    return words[:1].lower() + words[1:]
