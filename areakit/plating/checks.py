"""Checks of a layer stack and of a sequence of steps, each finding with its reason, source and remedy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from areakit.plating.findings import Finding, finding
from areakit.plating.metals import find_figure
from areakit.plating.process import BASE_GROUPS, Process
from areakit.plating.requirements import Requirement, all_requirements

BARRIERS = {"nickel", "palladium", "platinum", "rhodium", "cobalt"}
NICKEL_BEARING: set[str | None] = {"nickel", "nickel-phosphorus", "nickel-silver", "stainless"}
FLASH_STOP = 10.0
"""A flash bath asked for more than so many times its thickness stops the plan; up to there it is a caution. The next
class above a flash of 2 to 4 µin starts at 20 µin, and thick work at 40 (guidebook, p. 211)."""
SILVER_NEEDS_UNDERCOAT = {"copper-alloy", "steel", "stainless", "nickel"}


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedLayer:
    """A layer as the checks see it: its metal, planned minimum [m], requirement, and whether its bath holds cyanide.

    ``bath`` is the key of its bath where no label says more of it.
    """

    metal: str
    minimum: float
    requirement: Requirement | None = None
    cyanide: bool = False
    bath: str | None = None


def check_stack(
    layers: Sequence[CheckedLayer], *, base: str | None, market: str | None, use: str | None
) -> tuple[Finding, ...]:
    """Return the findings on a stack of layers, given from the base upwards."""
    found: list[Finding | None] = []
    for index, layer in enumerate(layers):
        below = [lower.metal for lower in layers[:index]]
        group = BASE_GROUPS.get(base or "")
        if layer.metal == "gold":
            found.append(_gold_without_barrier(below, base, group))
            if "silver" in below and layer.requirement and layer.requirement.key.startswith("mil-dtl-45204"):
                found.append(finding("SILVER_UNDER_GOLD"))
        if layer.metal == "silver" and not below and group in SILVER_NEEDS_UNDERCOAT:
            found.append(finding("SILVER_ON_BASE", base=base))
        if layer.metal == "copper" and not below and group in ("steel", "stainless"):
            found.append(finding("COPPER_ON_STEEL", base=base))
        found += [_below_requirement(layer, base), _underplate_minimum(layer, layers[index + 1 :]), _flash_bath(layer)]
    found.append(_nickel_in_the_eu([layer.metal for layer in layers], base=base, market=market, use=use))
    return tuple(one for one in found if one)


def _gold_without_barrier(below: list[str], base: str | None, group: str | None) -> Finding | None:
    under = below[-1] if below else None
    if BARRIERS.intersection(below) or not (group == "copper-alloy" or under == "copper"):
        return None
    return finding("GOLD_WITHOUT_BARRIER", under=under or base)


def _below_requirement(layer: CheckedLayer, base: str | None) -> Finding | None:
    needed = layer.requirement
    if needed is None or needed.minimum is None or needed.source is None:
        return None
    if needed.base and base and BASE_GROUPS.get(needed.base) != BASE_GROUPS.get(base):
        return finding("TERM_NEEDS_BASE", source=needed.source, title=needed.title, needed=needed.base, base=base)
    if layer.minimum >= needed.minimum.value * (1 - 1e-9):
        return None
    return finding(
        "BELOW_TERM" if needed.bound == "term" else "BELOW_CLASS", source=needed.source, metal=layer.metal,
        planned_um=layer.minimum * 1e6, title=needed.title, needed_um=needed.minimum.value * 1e6,
    )  # fmt: skip


def _underplate_minimum(layer: CheckedLayer, above: Sequence[CheckedLayer]) -> Finding | None:
    usual = all_requirements()["astm-b488-nickel-underplate"]
    assert usual.minimum is not None
    if layer.metal != "nickel" or not any(upper.metal == "gold" for upper in above):
        return None
    if layer.minimum >= usual.minimum.value * (1 - 1e-9):
        return None
    return finding("UNDERPLATE_THIN", planned_um=layer.minimum * 1e6, usual_um=usual.minimum.value * 1e6)


def _flash_bath(layer: CheckedLayer) -> Finding | None:
    """Return a finding where a bath for a flash or strike is asked for more than such a bath gives."""
    row = find_figure(layer.bath or "", "flash_thickness")
    if row is None or layer.minimum <= row.measured().value * (1 + 1e-9):
        return None
    most = row.measured().value
    return finding(
        "FLASH_BATH", severity="stop" if layer.minimum > FLASH_STOP * most else "check", source=row.source,
        fields={f"solution.{layer.metal}": "NAME"}, planned_um=layer.minimum * 1e6, metal=layer.metal,
        most_um=most * 1e6,
    )  # fmt: skip


def _nickel_in_the_eu(metals: list[str], *, base: str | None, market: str | None, use: str | None) -> Finding | None:
    if (market or "").lower() != "eu" or use == "technical" or not NICKEL_BEARING.intersection([*metals, base]):
        return None
    if use == "jewellery":
        return finding("NICKEL_IN_EU", severity="stop", worn=".")
    return finding("NICKEL_IN_EU", worn=", if it touches skin for long.")


def check_sequence(process: Process, *, cyanide_metals: frozenset[str], base: str | None) -> tuple[Finding, ...]:
    """Return the findings on the order of steps; ``cyanide_metals`` are the layers whose bath holds cyanide."""
    found: list[Finding] = []
    ranks = {"degrease": 0, "electroclean": 1, "activate": 2, "strike": 3, "plate": 3, "inspect": 4}
    reached = 0
    state = _Wet()
    for step in process.steps:
        rank = ranks.get(step.kind)
        if rank is not None and rank < reached and not (step.kind == "activate" and reached == ranks["plate"]):
            found.append(finding("STEP_OUT_OF_ORDER", title=step.title))
        reached = max(reached, rank or 0)
        if step.kind in ("plate", "strike") and step.metal:
            found += state.before_plating(step.metal, step.metal in cyanide_metals)
        state.pass_step(step.kind, step.metal, "acid" in step.cautions)
    if reached == 0 or not any(step.kind == "plate" for step in process.steps):
        found.append(finding("NOTHING_PLATED", title=process.title))
    return tuple(found)


class _Wet:
    """What the work carries into the next step: whether it is activated, and whether acid is still on it."""

    def __init__(self) -> None:
        self.activated = False
        self.unrinsed_acid = False

    def before_plating(self, metal: str, cyanide: bool) -> list[Finding]:
        found = []
        if metal == "nickel" and not self.activated:
            found.append(finding("ACTIVATION_MISSING"))
        if cyanide and self.unrinsed_acid:
            found.append(finding("ACID_BEFORE_CYANIDE", metal=metal))
        return found

    def pass_step(self, kind: str, metal: str | None, acid: bool) -> None:
        if kind == "rinse":
            self.unrinsed_acid = False
        elif kind == "activate":
            self.activated, self.unrinsed_acid = True, acid
        elif kind == "plate":
            self.activated, self.unrinsed_acid = True, True
        elif kind == "strike":
            self.activated, self.unrinsed_acid = True, acid
        else:
            self.activated = False
