"""Findings in plain words, shared by the command line and the printed note."""

from __future__ import annotations

import math
from decimal import Decimal

from areakit.costing.claims import Claims
from areakit.costing.consistency import Comparison
from areakit.costing.measured_part import WORDS
from areakit.costing.prices import as_decimal, rounded, step_of
from areakit.costing.verdict import Explanation, Floor, Verdict
from areakit.units import in_unit, show

_UNITS = {"m2": "cm2", "kg": "mg", "C": "A.min", "m": "um"}


def error_words(error: float) -> str:
    """Return E_n with two digits; a huge one is said to be so."""
    if not math.isfinite(error):
        return "no limit"
    return (f"{error:+.2f}" if abs(error) < 10 else f"{error:+.0f}").replace("-", "−")


def agreement_words(one: Comparison) -> str:
    """Return whether a comparison agrees, and by how much not: in percent, or as a multiple when far off."""
    if one.agrees:
        return "agrees"
    return f"does not agree: {ratio_words(one.ratio)}"


def ratio_words(ratio: float) -> str:
    """Return a ratio as a difference in percent, or as a factor where it is beyond 2."""
    if 0.5 <= ratio <= 2.0:
        return f"{100 * (ratio - 1):+.1f} %"
    return f"{ratio:.3g} times" if ratio > 1 else f"1/{1 / ratio:.3g} of it"


def headline(verdict: Verdict) -> str:
    """Return the outcome in one sentence."""
    floor = verdict.floor
    if floor is not None and floor.misses:
        return "Misses the requirement: there is less metal than the minimum thickness needs."
    if not verdict.failing:
        return _all_agree(verdict)
    count = len(verdict.failing)
    if len(verdict.agreement) == 1:
        return "The figures do not agree."
    return f"{count} of {len(verdict.agreement)} comparisons {'does' if count == 1 else 'do'} not agree."


def _all_agree(verdict: Verdict) -> str:
    fitting = [one for one in verdict.comparisons if one.key == "area" and one.agrees and one.choice]
    if verdict.claims.faces is None and len(fitting) == 1:
        return f"Everything agrees; the area is that of {_surface(fitting[0])}."
    if verdict.claims.faces is None and len(fitting) > 1:
        names = " and of ".join(_surface(one) for one in fitting)
        return f"Everything agrees; the area fits that of {names}, which cannot be told apart."
    return "Everything agrees within the stated uncertainty."


def _surface(one: Comparison) -> str:
    return "the surface as it was masked" if one.choice == "given" else one.title.removeprefix("area, ")


def explanation_words(one: Explanation, verdict: Verdict) -> str:
    """Return what would explain a disagreement, and how well."""
    titles = {comparison.key: comparison.title.split(",")[0] for comparison in verdict.comparisons}
    text = f"{one.words[:1].upper()}{one.words[1:]}: would explain it (E_n {one.normalised_error:.2f})"
    if len(verdict.failing) > 1:
        text += f"; settles {len(one.settles)} of {len(verdict.failing)} disagreements"
    if one.upsets:
        follow = " and ".join(titles[key] for key in one.upsets)
        text += f"; what agrees now ({follow}) would then rest on the same slip"
    return f"{text}."


def chance_words(verdict: Verdict) -> str:
    """Return how often the usual slips would fit figures picked at random; empty where nothing disagrees."""
    shares = [share for key, share in verdict.chance.items() if key not in verdict.unexplained()]
    if not shares:
        return ""
    return (
        f"Of random figures (1/100 to 100 times the right one) a usual slip would fit {100 * max(shares):.0f} %."
        " An explanation is a question to ask, not a proof."
    )


def gap_words(verdict: Verdict) -> list[str]:
    """Return what could not be compared, and what it takes."""
    part, claims = verdict.part, verdict.claims
    found = []
    if part is not None and part.form is not None:
        if claims.area is not None and claims.faces is not None and part.area(claims.faces) is None:
            found.append(
                f"The area of {WORDS[claims.faces]} could not be compared: of this part is known what was measured, "
                f"{part.words}; measure again with those faces."
            )
    elif part is not None and part.thickness is None and claims.area is not None:
        found.append(
            "The area all over could not be compared, because the thickness of the part is not known: "
            "measure again with its thickness, or edges may pass for another slip."
        )
    if claims.metal is not None:
        return [*found, *_unused_words(verdict)]
    if claims.mass is not None and claims.density is None:
        found.append("The mass was not compared with area, thickness or charge, because no metal was named.")
    elif claims.density is not None and (claims.charge is not None or claims.current is not None):
        found.append("The charge was not compared with a mass, because no metal was named.")
    elif claims.density is not None and claims.factor is not None:
        found.append("The plating factor was not compared with Faraday's law, because no metal was named.")
    return found or _unused_words(verdict)


def _unused_words(verdict: Verdict) -> list[str]:
    """Return which figures had nothing to be compared with: what agrees is said of the others only."""
    names = [name.replace("_", " ") for name in verdict.unused]
    if not names:
        return []
    listed = " and ".join([", ".join(names[:-1]), names[-1]] if names[1:] else names)
    return [f"Not compared with anything: {listed}. Give the figures that go with {'them' if names[1:] else 'it'}."]


def floor_words(floor: Floor) -> str:
    """Return what the floor says, plainly."""
    needed, claimed = show(floor.needed, "mg"), show(floor.claimed, "mg")
    product = f"area ({floor.area_words}) × minimum thickness × density = {needed}"
    start = f"The minimum of metal is {product}; the {floor.source}"
    if floor.misses:
        return f"{start} is {claimed}. That misses the requirement."
    if floor.undecided:
        return f"{start} is {claimed}: below it, but within the uncertainty, so it cannot be told."
    return f"{start} is {claimed}. That is enough, if it is spread evenly enough."


def claim_words(claims: Claims) -> list[str]:
    """Return what was claimed, one figure a line, as far as it is not in the comparisons for all to see."""
    of = f"the lot of {claims.pieces}" if claims.per == "lot" else "one piece"
    lines = [f"faces: {WORDS[claims.faces]}"] if claims.faces else []
    if claims.bath is not None:
        lines.append(f"metal: {claims.bath.title}")
    for name, quantity, unit in (
        ("thickness", claims.thickness, "um"),
        ("minimum thickness asked for", claims.required, "um"),
        ("charge", claims.charge, "A.min"),
        ("current", claims.current, "A"),
        ("time", claims.time, "min"),
        ("current density", claims.current_density, "A/dm2"),
        ("footprint", claims.footprint, "cm2"),
        ("efficiency", claims.efficiency, "%"),
        ("density", claims.density, "g/cm3"),
    ):
        if quantity is not None:
            kind = f", {claims.thickness_is}" if name == "thickness" and claims.thickness_is else ""
            lines.append(f"{name}: {show(in_unit(quantity, unit))}{kind}")
    if claims.thickness_is == "minimum" and claims.allowance is not None:
        lines.append(f"mean over minimum thickness: {show(claims.allowance)}")
    if claims.mass is not None or claims.metal_line is not None or claims.charge is not None:
        lines.append(f"mass, charge and cost are of {of}")
    return lines


def value_words(one: Comparison) -> tuple[str, str]:
    """Return claimed and expected with unit and expanded uncertainty."""
    return quantity_words(one, claimed=True), quantity_words(one, claimed=False)


def quantity_words(one: Comparison, *, claimed: bool) -> str:
    """Return one side of a comparison as people read it."""
    quantity = one.claimed if claimed else one.expected
    if quantity.unit == "C/m3":
        from areakit.units import si_factor

        scale = si_factor("A.h/in3")
        return f"{quantity.value / scale:.3g} ± {quantity.expanded_uncertainty / scale:.2g} A·h/in³"
    if quantity.unit == "1":
        return f"{100 * quantity.value:.3g} ± {100 * quantity.expanded_uncertainty:.2g} %"
    if quantity.unit in _UNITS:
        return show(in_unit(quantity, _UNITS[quantity.unit]))
    step = step_of(quantity.expanded_uncertainty, Decimal("0.01"))
    value, spread = (rounded(as_decimal(x), step) for x in (quantity.value, quantity.expanded_uncertainty))
    return f"{value:f} ± {spread:f} {quantity.unit}"
