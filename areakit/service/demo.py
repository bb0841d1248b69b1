"""The main job on a photo that comes with areakit: area, then charge."""

from __future__ import annotations

import json
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from areakit.datafiles import data_dir
from areakit.errors import InputError
from areakit.plating.plan import Plan
from areakit.service.measure import MeasureRequest, MeasureResult, measure, result_json
from areakit.service.pieces import read_pieces
from areakit.service.plan import plan
from areakit.service.plan_request import PlanRequest
from areakit.uncertainty import Measured, total

DEFAULT_DEMO = "pierced-badge"
PROCESS = "nickel-gold-brush"
LAYERS = {"nickel": "3 um", "gold": "0.5 um"}
EFFICIENCY = {"gold": "handbook"}
CURRENT_DENSITY = {"nickel": "30 A/dm2", "gold": "10 A/dm2"}
FOOTPRINT = "4 cm2"
"""An invented job: thicknesses, footprint and current densities of a small bench, for the demonstration only."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Demo:
    """A measured demo photo with its truth; ``true_areas_mm2`` are of one face, of a part with a form all over."""

    path: Path
    result: MeasureResult
    request: MeasureRequest
    true_areas_mm2: tuple[float, ...]
    plated: Measured | None
    plan: Plan | None


def demo_names() -> list[str]:
    """Return the demo photos by name."""
    return sorted(path.stem for path in data_dir("demo_images").glob("*.toml"))


def run_demo(name: str = DEFAULT_DEMO) -> Demo:
    """Measure a demo photo as its truth file says that it was taken; InputError if there is no such demo photo."""
    if name not in demo_names():
        raise InputError(f"There is no demo photo {name!r}.", remedy=f"Choose one of {', '.join(demo_names())}.")
    path = data_dir("demo_images") / f"{name}.jpg"
    truth: dict[str, Any] = tomllib.loads(path.with_suffix(".toml").read_text(encoding="utf-8"))
    check = truth.get("check_lengths_mm")
    thickness = truth.get("thickness_mm")
    form = truth.get("form")
    request = MeasureRequest(
        thickness=f"{thickness} mm" if thickness else None,
        faces="all" if thickness or form else "one",
        form=form,
        holes=tuple(str(number) for number in truth.get("ground", ())),
        check_lengths=f"{check[0]} x {check[1]} mm" if check else None,
    )
    result = next(measure([path], request))
    plated = total([part.surface.plated for part in result.parts], "mm2") if result.parts else None
    return Demo(
        path=path,
        result=result,
        request=request,
        true_areas_mm2=tuple(part.get("surface_mm2", part["area_mm2"]) for part in truth.get("parts", [])),
        plated=plated,
        plan=_plan(result) if result.parts else None,
    )


def _plan(result: MeasureResult) -> Plan | None:
    """Return the plan of a photo of one kind of part; none where parts differ, since one plan is for one kind."""
    measured = json.dumps(result_json(result))
    if len(read_pieces(measured)) > 1:
        return None
    return plan(
        PlanRequest(
            process=PROCESS,
            shop="none",
            layers=LAYERS,
            measured=measured,
            efficiency=EFFICIENCY,
            current_density=CURRENT_DENSITY,
            footprint=FOOTPRINT,
        )
    )
