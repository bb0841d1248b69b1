"""Checks of a layer stack and of a sequence of steps, each finding with its reason, source and remedy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from areakit.plating.findings import Finding
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
            found += [_gold_without_barrier(below, base, group), _silver_under_gold(below, layer, base)]
        if layer.metal == "silver" and not below:
            found.append(_silver_on_base(base, group))
        if layer.metal == "copper" and not below:
            found.append(_copper_on_steel(base, group))
        found += [_below_requirement(layer, base), _underplate_minimum(layer, layers[index + 1 :]), _flash_bath(layer)]
    found.append(_nickel_in_the_eu([layer.metal for layer in layers], base=base, market=market, use=use))
    return tuple(finding for finding in found if finding)


def _gold_without_barrier(below: list[str], base: str | None, group: str | None) -> Finding | None:
    under = below[-1] if below else None
    if BARRIERS.intersection(below) or not (group == "copper-alloy" or under == "copper"):
        return None
    return Finding(
        code="GOLD_WITHOUT_BARRIER",
        severity="stop",
        message=f"Gold would lie on {under or base} without a barrier layer.",
        why="Copper diffuses into gold, and the gold tarnishes; a copper-rich base asks for a layer such as nickel.",
        source="mil45204",
        remedy="Put a nickel or palladium layer under the gold.",
    )


def _silver_under_gold(below: list[str], layer: CheckedLayer, base: str | None) -> Finding | None:
    standard = layer.requirement and layer.requirement.key.startswith("mil-dtl-45204")
    if "silver" not in below or not standard:
        return None
    return Finding(
        code="SILVER_UNDER_GOLD",
        severity="stop",
        message="A silver layer would lie under the gold.",
        why="MIL-DTL-45204D does not allow silver, or copper and silver, under gold.",
        source="mil45204",
        remedy="Use nickel as the underplate.",
    )


def _silver_on_base(base: str | None, group: str | None) -> Finding | None:
    if group not in SILVER_NEEDS_UNDERCOAT:
        return None
    return Finding(
        code="SILVER_ON_BASE",
        severity="stop",
        message=f"Silver would lie directly on {base}.",
        why="Silver deposits by exchange on less noble metal and does not hold; an undercoat goes first.",
        source="ac43",
        remedy="Plate a thin nickel layer first.",
    )


def _copper_on_steel(base: str | None, group: str | None) -> Finding | None:
    if group not in ("steel", "stainless"):
        return None
    return Finding(
        code="COPPER_ON_STEEL",
        severity="stop",
        message=f"Copper would lie directly on {base}.",
        why="Copper deposits by exchange on steel and does not hold; an undercoat goes first.",
        source="ac43",
        remedy="Plate a thin nickel layer first.",
    )


def _below_requirement(layer: CheckedLayer, base: str | None) -> Finding | None:
    needed = layer.requirement
    if needed is None or needed.minimum is None or needed.source is None:
        return None
    if needed.base and base and BASE_GROUPS.get(needed.base) != BASE_GROUPS.get(base):
        return Finding(
            code="TERM_NEEDS_BASE",
            severity="stop",
            message=f"{needed.title} asks for {needed.base} as the base, and the base is {base}.",
            why="The term names the base metal as well as the thickness.",
            source=needed.source,
            remedy="Sell it under another term, or change the base.",
        )
    if layer.minimum >= needed.minimum.value * (1 - 1e-9):
        return None
    word = "sold as" if needed.bound == "term" else "against"
    return Finding(
        code="BELOW_TERM" if needed.bound == "term" else "BELOW_CLASS",
        severity="stop",
        message=f"{layer.minimum * 1e6:.3g} µm of {layer.metal} {word} {needed.title}, which asks for "
        f"{needed.minimum.value * 1e6:.3g} µm.",
        why="The figure binds the minimum on all significant surfaces, not the mean.",
        source=needed.source,
        remedy=f"Plan at least {needed.minimum.value * 1e6:.3g} µm, or use another term or class.",
    )


def _underplate_minimum(layer: CheckedLayer, above: Sequence[CheckedLayer]) -> Finding | None:
    usual = all_requirements()["astm-b488-nickel-underplate"]
    assert usual.minimum is not None
    if layer.metal != "nickel" or not any(upper.metal == "gold" for upper in above):
        return None
    if layer.minimum >= usual.minimum.value * (1 - 1e-9):
        return None
    return Finding(
        code="UNDERPLATE_THIN",
        severity="check",
        message=f"The nickel underplate of {layer.minimum * 1e6:.3g} µm is thinner than the usual "
        f"{usual.minimum.value * 1e6:.3g} µm.",
        why="A thin underplate has pores and does not stop copper. The usual thickness is a working figure.",
        source="working",
        remedy="Plan 1.25 µm or more, or look the minimum up in the standard that the order names.",
    )


def _flash_bath(layer: CheckedLayer) -> Finding | None:
    """Return a finding where a bath for a flash or strike is asked for more than such a bath gives."""
    row = find_figure(layer.bath or "", "flash_thickness")
    if row is None or layer.minimum <= row.measured().value * (1 + 1e-9):
        return None
    most = row.measured().value
    return Finding(
        code="FLASH_BATH",
        severity="stop" if layer.minimum > FLASH_STOP * most else "check",
        message=f"{layer.minimum * 1e6:.3g} µm of {layer.metal} are asked of a bath whose figures are those of a flash "
        f"or strike, up to {most * 1e6:.3g} µm.",
        why="A flash bath holds little metal: it slows down, burns and turns powdery before a thick layer is reached.",
        source=row.source,
        remedy="Name the bath for thick layers by its label, or plan a flash.",
        fields={f"solution.{layer.metal}": "NAME"},
    )


def _nickel_in_the_eu(metals: list[str], *, base: str | None, market: str | None, use: str | None) -> Finding | None:
    if (market or "").lower() != "eu" or use == "technical" or not NICKEL_BEARING.intersection([*metals, base]):
        return None
    worn = use == "jewellery"
    return Finding(
        code="NICKEL_IN_EU",
        severity="stop" if worn else "check",
        message="Nickel in or under the plating, for the EU" + ("." if worn else ", if it touches skin for long."),
        why="Nickel release is limited to 0.5 µg/cm² a week in lasting skin contact (0.2 in pierced parts); a top "
        "layer must hold that for two years of normal use, and thin gold wears through.",
        source="reach",
        remedy="Use palladium or white bronze as the underplate, or have the release tested (EN 1811, EN 12472).",
    )


def check_sequence(process: Process, *, cyanide_metals: frozenset[str], base: str | None) -> tuple[Finding, ...]:
    """Return the findings on the order of steps; ``cyanide_metals`` are the layers whose bath holds cyanide."""
    found: list[Finding] = []
    ranks = {"degrease": 0, "electroclean": 1, "activate": 2, "strike": 3, "plate": 3, "inspect": 4}
    reached = 0
    state = _Wet()
    for step in process.steps:
        rank = ranks.get(step.kind)
        if rank is not None and rank < reached and not (step.kind == "activate" and reached == ranks["plate"]):
            found.append(_out_of_order(step.title))
        reached = max(reached, rank or 0)
        if step.kind in ("plate", "strike") and step.metal:
            found += state.before_plating(step.metal, step.metal in cyanide_metals)
        state.pass_step(step.kind, step.metal, "acid" in step.cautions)
    if reached == 0 or not any(step.kind == "plate" for step in process.steps):
        found.append(_nothing_plated(process.title))
    return tuple(found)


class _Wet:
    """What the work carries into the next step: whether it is activated, and whether acid is still on it."""

    def __init__(self) -> None:
        self.activated = False
        self.unrinsed_acid = False

    def before_plating(self, metal: str, cyanide: bool) -> list[Finding]:
        found = []
        if metal == "nickel" and not self.activated:
            found.append(_no_activation())
        if cyanide and self.unrinsed_acid:
            found.append(_acid_before_cyanide(metal))
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


def _no_activation() -> Finding:
    return Finding(
        code="ACTIVATION_MISSING",
        severity="stop",
        message="Nickel would be plated on a surface that was not activated.",
        why="Nickel does not hold on the oxide that cleaning leaves.",
        source="ac43",
        remedy="Put an activation step before the nickel, and go on while wet.",
    )


def _acid_before_cyanide(metal: str) -> Finding:
    return Finding(
        code="ACID_BEFORE_CYANIDE",
        severity="stop",
        message=f"No rinse stands between the step before and the cyanide {metal} bath.",
        why="Acid carried into cyanide gives off deadly hydrogen cyanide gas.",
        source="mil2197",
        remedy="Put a thorough rinse between them, and test it with indicator paper.",
    )


def _out_of_order(title: str) -> Finding:
    return Finding(
        code="STEP_OUT_OF_ORDER",
        severity="stop",
        message=f"The step '{title}' comes too late in the sequence.",
        why="The order is degrease, electroclean, activate, plate, inspect; only re-activation stands between layers.",
        source="ac43",
        remedy="Move the step forward, or take it out.",
    )


def _nothing_plated(title: str) -> Finding:
    return Finding(
        code="NOTHING_PLATED",
        severity="stop",
        message=f"The sequence '{title}' plates nothing.",
        why="A plan needs at least one plating step.",
        source="practice",
        remedy="Add a plating step.",
    )
