"""Compares every pair of claims that physics ties together, and each with the measured part."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from areakit.costing.claims import Claims
from areakit.costing.measured_part import WORDS, Choice, MeasuredPart
from areakit.plating.faraday import FARADAY_CONSTANT
from areakit.plating.metals import find_figure
from areakit.uncertainty import Measured, exact, normalised_error, propagate

LOWEST_EFFICIENCY = 0.05
"""Below this a cathode efficiency is doubted. Common practice, no source."""
WHOLE = exact(1.0, "1")


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """One claim beside what it should be, in SI.

    ``claimed`` and ``expected`` are independent; ``uses`` names the claims on both sides. ``choice`` is set where the
    area is compared for one choice of faces, and ``decides`` is False for choices that were not claimed.
    """

    key: str
    title: str
    claimed: Measured
    expected: Measured
    uses: tuple[str, ...]
    note: str = ""
    choice: Choice | None = None
    decides: bool = True

    @property
    def ratio(self) -> float:
        """Claimed over expected."""
        return self.claimed.value / self.expected.value

    @property
    def normalised_error(self) -> float:
        """E_n, the difference over the expanded uncertainty of the difference; infinite where both are exact."""
        return normalised_error(self.claimed, self.expected)

    @property
    def agrees(self) -> bool:
        """Whether the two agree within their expanded uncertainties."""
        return abs(self.normalised_error) <= 1.0


def compare(claims: Claims, part: MeasuredPart | None = None) -> tuple[Comparison, ...]:
    """Return every comparison that these claims, and the measured part if there is one, allow."""
    found: list[Comparison] = [*_areas(claims, part)]
    for relation in _RELATIONS:
        comparison = relation(claims, part)
        if comparison is not None:
            found.append(comparison)
    return tuple(found)


def agreeing(comparisons: tuple[Comparison, ...]) -> dict[str, bool]:
    """Return for each key whether it agrees; the area agrees if any choice of faces that decides does."""
    state: dict[str, bool] = {}
    for comparison in comparisons:
        if comparison.decides:
            state[comparison.key] = state.get(comparison.key, False) or comparison.agrees
    return state


def _areas(claims: Claims, part: MeasuredPart | None) -> Iterator[Comparison]:
    """Give the claimed area against the outline for each choice of faces."""
    if part is None or claims.area is None:
        return
    choices: list[Choice] = ["one", "both", "all"]
    if claims.faces is not None and claims.faces not in choices:
        choices.append(claims.faces)
    if part.masked and "given" not in choices:
        choices.append("given")
    for choice in choices:
        expected = part.area(choice)
        if expected is not None:
            yield Comparison(
                key="area",
                title=f"area, {WORDS[choice]}",
                claimed=claims.area,
                expected=expected,
                uses=("area",),
                choice=choice,
                decides=claims.faces is None or claims.faces == choice,
            )


def area_used(claims: Claims, part: MeasuredPart | None) -> tuple[Measured | None, str]:
    """Return the claimed area, or that of the part for the claimed faces, and the claim that it comes from. [m2]"""
    if claims.area is not None:
        return claims.area, "area"
    if part is not None:
        return part.area(claims.faces or part.faces), "faces"
    return None, ""


def _charge(claims: Claims) -> tuple[Measured | None, tuple[str, ...]]:
    """Return the claimed charge, or current times time. [C]"""
    if claims.charge is not None:
        return claims.charge, ("charge",)
    if claims.current is not None and claims.time is not None:
        return propagate(lambda i, t: i * t, claims.current, claims.time, unit="C"), ("current", "time")
    return None, ()


def _volume(claims: Claims, part: MeasuredPart | None) -> tuple[Measured | None, tuple[str, ...]]:
    """Return area times mean thickness for as many pieces as the claims stand for. [m3]"""
    area, where = area_used(claims, part)
    if area is None or claims.thickness is None:
        return None, ()
    lot = claims.lot
    mean = claims.allowance if claims.thickness_is == "minimum" and claims.allowance is not None else WHOLE
    volume = propagate(lambda a, t, k: lot * a * t * k, area, claims.thickness, mean, unit="m3")
    return volume, (where, "thickness")


def _mass_of_layer(claims: Claims, part: MeasuredPart | None) -> tuple[Measured | None, tuple[str, ...]]:
    volume, uses = _volume(claims, part)
    if volume is None or claims.density is None:
        return None, ()
    return propagate(lambda v, rho: v * rho, volume, claims.density, unit="kg"), uses


def layer_words(claims: Claims) -> str:
    """Return how the mass of the layer comes about, in words."""
    if claims.thickness_is == "minimum" and claims.allowance is not None:
        return f"area × minimum thickness ×  {claims.allowance.value:.3g} × density"
    return "area × thickness × density"


def _mass_against_layer(claims: Claims, part: MeasuredPart | None) -> Comparison | None:
    expected, uses = _mass_of_layer(claims, part)
    if expected is None or claims.mass is None:
        return None
    return Comparison(
        key="mass-thickness",
        title=f"metal mass against {layer_words(claims)}",
        claimed=claims.mass,
        expected=expected,
        uses=("mass", *uses),
    )


def _mass_against_charge(claims: Claims, part: MeasuredPart | None) -> Comparison | None:
    charge, uses = _charge(claims)
    if charge is None or claims.mass is None or claims.bath is None:
        return None
    return _by_faraday(claims, "mass-charge", words="metal mass", mass=claims.mass, charge=charge, uses=("mass", *uses))


def _charge_against_layer(claims: Claims, part: MeasuredPart | None) -> Comparison | None:
    charge, uses = _charge(claims)
    mass, others = _mass_of_layer(claims, part)
    if charge is None or mass is None or claims.bath is None or claims.mass is not None or claims.factor is not None:
        return None
    return _by_faraday(
        claims, "layer-charge", words=layer_words(claims), mass=mass, charge=charge, uses=(*others, *uses)
    )


def _by_faraday(
    claims: Claims, key: str, *, words: str, mass: Measured, charge: Measured, uses: tuple[str, ...]
) -> Comparison:
    """Compare a mass with what Faraday's law gives; without an efficiency, compare the one that they imply."""
    per_coulomb = _equivalent(claims)
    if claims.efficiency is not None:
        expected = propagate(lambda q, e: q * e * per_coulomb, charge, claims.efficiency, unit="kg")
        title = f"{words} against charge × efficiency (Faraday)"
        return Comparison(key=key, title=title, claimed=mass, expected=expected, uses=(*uses, "efficiency"))
    implied = propagate(lambda m, q: m / (q * per_coulomb), mass, charge, unit="1")
    return _implied(claims, key, title=f"efficiency that {words} and charge imply", implied=implied, uses=uses)


def _implied(claims: Claims, key: str, *, title: str, implied: Measured, uses: tuple[str, ...]) -> Comparison:
    """Compare an implied efficiency with the nearest possible one: anything from 5 to 100 % is possible."""
    nearest = min(max(implied.value, LOWEST_EFFICIENCY), 1.0)
    note = f"implies a cathode efficiency of {implied.value * 100:.3g} %{_usual(claims)}"
    return Comparison(key=key, title=title, claimed=implied, expected=exact(nearest, "1"), uses=uses, note=note)


def _usual(claims: Claims) -> str:
    assert claims.bath is not None
    low, high = (find_figure(claims.bath.key, f"cathode_efficiency_{end}") for end in ("low", "high"))
    if low is None or high is None:
        return ""
    doubt = ", working figures" if low.kind == "unverified" else ""
    return f" (usual for this bath: {low.value:g} to {high.value:g} %{doubt})"


def _equivalent(claims: Claims) -> float:
    """Return the electrochemical equivalent of the claimed bath. [kg/C] Source: [si]."""
    assert claims.molar_mass is not None
    assert claims.electrons is not None
    return claims.molar_mass / (claims.electrons * FARADAY_CONSTANT)


def _charge_against_current(claims: Claims, part: MeasuredPart | None) -> Comparison | None:
    if claims.charge is None or claims.current is None or claims.time is None:
        return None
    return Comparison(
        key="charge-time",
        title="charge against current × time",
        claimed=claims.charge,
        expected=propagate(lambda i, t: i * t, claims.current, claims.time, unit="C"),
        uses=("charge", "current", "time"),
    )


def _current_against_density(claims: Claims, part: MeasuredPart | None) -> Comparison | None:
    """Compare a current with current density times what carries it: the footprint of a brush, or the area in a tank."""
    if claims.current is None or claims.current_density is None:
        return None
    area, where = (claims.footprint, "footprint") if claims.footprint is not None else area_used(claims, part)
    if area is None or (claims.footprint is None and claims.bath is not None and claims.bath.for_brush):
        return None
    lot = 1 if claims.footprint is not None else claims.lot
    return Comparison(
        key="current-density",
        title=f"current against current density × {'footprint' if claims.footprint is not None else 'area'}",
        claimed=claims.current,
        expected=propagate(lambda j, a: lot * j * a, claims.current_density, area, unit="A"),
        uses=("current", "current_density", where),
    )


def _charge_against_factor(claims: Claims, part: MeasuredPart | None) -> Comparison | None:
    charge, uses = _charge(claims)
    volume, others = _volume(claims, part)
    if charge is None or volume is None or claims.factor is None:
        return None
    return Comparison(
        key="charge-factor",
        title="charge against plating factor × area × thickness",
        claimed=charge,
        expected=propagate(lambda f, v: f * v, claims.factor, volume, unit="C"),
        uses=(*uses, *others, "factor"),
    )


def _factor_against_faraday(claims: Claims, part: MeasuredPart | None) -> Comparison | None:
    if claims.factor is None or claims.density is None or claims.bath is None:
        return None
    per_coulomb = _equivalent(claims)
    if claims.efficiency is None:
        implied = propagate(lambda f, rho: rho / (f * per_coulomb), claims.factor, claims.density, unit="1")
        return _implied(
            claims, "factor", title="efficiency that the plating factor implies", implied=implied, uses=("factor",)
        )
    return Comparison(
        key="factor",
        title="plating factor against density and efficiency (Faraday)",
        claimed=claims.factor,
        expected=propagate(lambda rho, e: rho / (e * per_coulomb), claims.density, claims.efficiency, unit="C/m3"),
        uses=("factor", "efficiency"),
    )


def _line_against_mass(claims: Claims, part: MeasuredPart | None) -> Comparison | None:
    if claims.metal_line is None or claims.price is None:
        return None
    layer, found = _mass_of_layer(claims, part)
    mass = claims.mass or layer
    if mass is None:
        return None
    uses, words = (("mass",), "metal mass") if claims.mass else (found, layer_words(claims))
    return Comparison(
        key="metal-line",
        title=f"metal line against {words} × price",
        claimed=claims.metal_line,
        expected=propagate(lambda m, p: m * p, mass, claims.price, unit=claims.metal_line.unit),
        uses=("metal_line", *uses, "price"),
    )


def _thickness_against_requirement(claims: Claims, part: MeasuredPart | None) -> Comparison | None:
    """Compare the minimum thickness with what was asked for: anything from that upwards agrees."""
    if claims.thickness is None or claims.required is None:
        return None
    mean_over_minimum = claims.allowance if claims.thickness_is != "minimum" and claims.allowance else WHOLE
    minimum = propagate(lambda t, k: t / k, claims.thickness, mean_over_minimum, unit="m")
    met = minimum.value >= claims.required.value
    return Comparison(
        key="requirement",
        title="minimum thickness against what was asked for",
        claimed=minimum,
        expected=exact(minimum.value, "m") if met else claims.required,
        uses=("thickness", "required"),
        note="meets it" if met else "",
    )


_RELATIONS: tuple[Callable[[Claims, MeasuredPart | None], Comparison | None], ...] = (
    _thickness_against_requirement,
    _mass_against_layer,
    _mass_against_charge,
    _charge_against_layer,
    _charge_against_current,
    _current_against_density,
    _charge_against_factor,
    _factor_against_faraday,
    _line_against_mass,
)
