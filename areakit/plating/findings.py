"""The remarks that a plan can carry: what was seen, why it matters, where that is written, and what to do."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from areakit.errors import Fields
from areakit.sources import source

Severity = Literal["stop", "check", "note"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """``stop``: do not start like this; ``check``: decide knowingly; ``note``: good to know."""

    code: str
    severity: Severity
    message: str
    why: str
    source: str
    remedy: str
    fields: Fields = field(default_factory=dict, hash=False)

    @property
    def citation(self) -> str:
        """The source in words."""
        return source(self.source).citation


# code: severity, source, message, why, remedy; figures are filled in by name.
_CATALOGUE: dict[str, tuple[Severity, str, str, str, str]] = {
    # the stack of layers
    "GOLD_WITHOUT_BARRIER": (
        "stop", "mil45204", "Gold would lie on {under} without a barrier layer.",
        "Copper diffuses into gold, and the gold tarnishes; a copper-rich base asks for a layer such as nickel.",
        "Put a nickel or palladium layer under the gold.",
    ),
    "SILVER_UNDER_GOLD": (
        "stop", "mil45204", "A silver layer would lie under the gold.",
        "MIL-DTL-45204D does not allow silver, or copper and silver, under gold.",
        "Use nickel as the underplate.",
    ),
    "SILVER_ON_BASE": (
        "stop", "ac43", "Silver would lie directly on {base}.",
        "Silver deposits by exchange on less noble metal and does not hold; an undercoat goes first.",
        "Plate a thin nickel layer first.",
    ),
    "COPPER_ON_STEEL": (
        "stop", "ac43", "Copper would lie directly on {base}.",
        "Copper deposits by exchange on steel and does not hold; an undercoat goes first.",
        "Plate a thin nickel layer first.",
    ),
    "TERM_NEEDS_BASE": (
        "stop", "", "{title} asks for {needed} as the base, and the base is {base}.",
        "The term names the base metal as well as the thickness.",
        "Sell it under another term, or change the base.",
    ),
    "BELOW_TERM": (
        "stop", "", "{planned_um:.3g} µm of {metal} sold as {title}, which asks for {needed_um:.3g} µm.",
        "The figure binds the minimum on all significant surfaces, not the mean.",
        "Plan at least {needed_um:.3g} µm, or use another term or class.",
    ),
    "BELOW_CLASS": (
        "stop", "", "{planned_um:.3g} µm of {metal} against {title}, which asks for {needed_um:.3g} µm.",
        "The figure binds the minimum on all significant surfaces, not the mean.",
        "Plan at least {needed_um:.3g} µm, or use another term or class.",
    ),
    "UNDERPLATE_THIN": (
        "check", "working",
        "The nickel underplate of {planned_um:.3g} µm is thinner than the usual {usual_um:.3g} µm.",
        "A thin underplate has pores and does not stop copper. The usual thickness is a working figure.",
        "Plan 1.25 µm or more, or look the minimum up in the standard that the order names.",
    ),
    "FLASH_BATH": (
        "check", "",
        "{planned_um:.3g} µm of {metal} are asked of a bath whose figures are those of a flash or strike, up to "
        "{most_um:.3g} µm.",
        "A flash bath holds little metal: it slows down, burns and turns powdery before a thick layer is reached.",
        "Name the bath for thick layers by its label, or plan a flash.",
    ),
    "NICKEL_IN_EU": (
        "check", "reach", "Nickel in or under the plating, for the EU{worn}",
        "Nickel release is limited to 0.5 µg/cm² a week in lasting skin contact (0.2 in pierced parts); a top "
        "layer must hold that for two years of normal use, and thin gold wears through.",
        "Use palladium or white bronze as the underplate, or have the release tested (EN 1811, EN 12472).",
    ),
    # the sequence of steps
    "STEP_OUT_OF_ORDER": (
        "stop", "ac43", "The step '{title}' comes too late in the sequence.",
        "The order is degrease, electroclean, activate, plate, inspect; only re-activation stands between layers.",
        "Move the step forward, or take it out.",
    ),
    "ACTIVATION_MISSING": (
        "stop", "ac43", "Nickel would be plated on a surface that was not activated.",
        "Nickel does not hold on the oxide that cleaning leaves.",
        "Put an activation step before the nickel, and go on while wet.",
    ),
    "ACID_BEFORE_CYANIDE": (
        "stop", "mil2197", "No rinse stands between the step before and the cyanide {metal} bath.",
        "Acid carried into cyanide gives off deadly hydrogen cyanide gas.",
        "Put a thorough rinse between them, and test it with indicator paper.",
    ),
    "NOTHING_PLATED": (
        "stop", "practice", "The sequence '{title}' plates nothing.", "A plan needs at least one plating step.",
        "Add a plating step.",
    ),
    # the preparation of the base
    "PREPARATION_NOT_KEPT": (
        "check", "practice", "How {base} is made ready for {first} is not kept here.",
        "A layer holds only on a surface that was cleaned and activated for it.",
        "Ask the maker of the solution, and try it on a coupon of the same base.",
    ),
    "PREPARATION_SPECIALIST": (
        "stop", "", "{first} on {base} ({method}): not without a specialist.", "{why}",
        "Give the work to a plant that has the pre-treatment for this base, or ask the maker of the solutions.",
    ),
    "BASE_NEEDS_UNDERCOAT": (
        "stop", "", "{first} would lie directly on {base}.", "{why}",
        "Plate {undercoat} first, in a process that has it.",
    ),
    "STRIKE_MISSING": (
        "stop", "", "{base} would be plated without a nickel strike or flash at once after activation.",
        "Its passive film grows back within seconds, and what is plated on it peels.",
        "Put these steps before the first layer: {steps}.",
    ),
    "PREPARATION_NOTE": (
        "note", "", "{base}: {note}.", "The base decides how it is made ready.",
        "Try it on a spare piece of the same base before the order.",
    ),
}  # fmt: skip


def finding(
    code: str, *, severity: Severity | None = None, source: str = "", fields: Fields | None = None, **figures: object
) -> Finding:
    """Return the finding ``code`` with its figures filled in; severity and source where they differ from the usual."""
    usual, written, *texts = _CATALOGUE[code]
    message, why, remedy = (text.format(**figures) for text in texts)
    return Finding(
        code=code,
        severity=severity or usual,
        message=message,
        why=why,
        source=source or written,
        remedy=remedy,
        fields=fields or {},
    )
