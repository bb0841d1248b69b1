"""From claims to findings: what agrees, what does not and by how much, which slips would explain it, and the floor."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

from areakit.costing.claims import Claims
from areakit.costing.consistency import Comparison, agreeing, area_used, compare
from areakit.costing.measured_part import WORDS, MeasuredPart
from areakit.costing.slips import Slip, slips
from areakit.plating.allowance import default_allowance
from areakit.uncertainty import Measured, propagate

FIGURES = (
    "area", "faces", "thickness", "required", "mass", "charge", "current", "time", "current_density", "footprint",
    "factor", "efficiency", "price", "metal_line",
)  # fmt: skip
"""Claims of which each says something by itself; density, valence and usual allowance come with the metal."""
RANGE = 100.0
"""Random figures are thought of as even on a log scale, from the right one over this to the right one times this."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Explanation:
    """A slip (or two) that would explain disagreements.

    ``settles`` are the comparisons that agree once it is undone, ``upsets`` those that agree only with it.
    """

    slips: tuple[Slip, ...]
    settles: tuple[str, ...]
    upsets: tuple[str, ...]
    normalised_error: float

    @property
    def words(self) -> str:
        """The slip in words."""
        return "; and ".join(slip.words for slip in self.slips)

    @property
    def keys(self) -> tuple[str, ...]:
        """The stable names of its slips."""
        return tuple(slip.key for slip in self.slips)


@dataclass(frozen=True, slots=True, kw_only=True)
class Floor:
    """Least metal that the requirement needs, beside the metal that was claimed or is paid for. [kg]"""

    needed: Measured
    claimed: Measured
    source: str
    area_words: str

    @property
    def misses(self) -> bool:
        """Whether the claim lies below the floor by more than the uncertainty."""
        return self.claimed.value < self.needed.value and not self.undecided

    @property
    def undecided(self) -> bool:
        """Whether the claim lies below the floor, but within the uncertainty."""
        spread = math.hypot(self.claimed.expanded_uncertainty, self.needed.expanded_uncertainty)
        return self.needed.value - spread <= self.claimed.value < self.needed.value


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """Everything that was found about one set of claims.

    ``explanations`` are ordered, most economical first; ``tried`` are all slips that were looked at.
    """

    claims: Claims
    part: MeasuredPart | None
    comparisons: tuple[Comparison, ...]
    agreement: dict[str, bool]
    explanations: tuple[Explanation, ...]
    tried: tuple[Slip, ...]
    floor: Floor | None

    @property
    def failing(self) -> tuple[str, ...]:
        """Keys of the comparisons that do not agree."""
        return tuple(key for key, agrees in self.agreement.items() if not agrees)

    @property
    def chance(self) -> dict[str, float]:
        """For each comparison that does not agree, the share of random figures that one of the slips would fit."""
        return {
            key: _chance(key, comparisons=self.comparisons, tried=self.tried, part=self.part) for key in self.failing
        }

    @property
    def agrees(self) -> bool:
        """Whether nothing disagrees and the floor is not missed."""
        return not self.failing and (self.floor is None or not self.floor.misses)

    @property
    def unused(self) -> tuple[str, ...]:
        """Names of the claimed figures without which every comparison and the floor would be the same."""
        bare = self.part is None or self.claims.area is None  # else the faces say what the area is compared with
        said = [name for name in FIGURES if getattr(self.claims, name) is not None and (bare or name != "faces")]
        return tuple(name for name in said if self._same_without(name))

    def _same_without(self, name: str) -> bool:
        gone: dict[str, Any] = {name: None}
        claims = replace(self.claims, **gone)
        return (compare(claims, self.part), _floor(claims, self.part)) == (self.comparisons, self.floor)

    def unexplained(self) -> tuple[str, ...]:
        """Return the comparisons that no usual slip settles."""
        settled = {key for explanation in self.explanations for key in explanation.settles}
        return tuple(key for key in self.failing if key not in settled)


def check_claims(claims: Claims, part: MeasuredPart | None = None, *, two_slips: bool = False) -> Verdict:
    """Return the verdict on claims, with the measured part where there is one.

    - ``claims``: what was said.
    - ``part``: what was measured.
    - ``two_slips``: whether to try two slips together where no single one helps. That fits random figures far more
      often.
    """
    claims = _with_allowance(claims)
    comparisons = compare(claims, part)
    state = agreeing(comparisons)
    tried = slips(claims, part)
    found = [one for slip in tried if (one := _try((slip,), state, part)) is not None]
    if two_slips and not found and not all(state.values()):
        found = _pairs(tried, state, part)
    return Verdict(
        claims=claims,
        part=part,
        comparisons=comparisons,
        agreement=state,
        explanations=_ordered(found),
        tried=tried,
        floor=_floor(claims, part),
    )


def _with_allowance(claims: Claims) -> Claims:
    """Give a thickness that has no distribution allowance the usual one of flat brush work."""
    if claims.thickness is None or claims.allowance is not None or claims.metal is None:
        return claims
    return replace(claims, allowance=default_allowance("brush", claims.metal).quantity)


def _try(undone: tuple[Slip, ...], state: dict[str, bool], part: MeasuredPart | None) -> Explanation | None:
    comparisons = compare(undone[-1].corrected, part)
    after = agreeing(comparisons)
    settles = tuple(key for key, agrees in state.items() if not agrees and after.get(key, False))
    if not settles:
        return None
    upsets = tuple(key for key, agrees in state.items() if agrees and not after.get(key, True))
    errors = [abs(one.normalised_error) for one in comparisons if one.decides and one.agrees and one.key in settles]
    return Explanation(slips=undone, settles=settles, upsets=upsets, normalised_error=min(errors))


def _pairs(tried: tuple[Slip, ...], state: dict[str, bool], part: MeasuredPart | None) -> list[Explanation]:
    """Try every two slips together, each pair once."""
    place = {slip.key: number for number, slip in enumerate(tried)}
    found = []
    for first in tried:
        for second in slips(first.corrected, part):
            if place[first.key] < place.get(second.key, -1):
                explanation = _try((first, second), state, part)
                if explanation is not None:
                    found.append(explanation)
    return found


def _ordered(found: list[Explanation]) -> tuple[Explanation, ...]:
    """Put first what settles most with fewest slips and upsets least; then what fits best."""
    return tuple(
        sorted(
            found,
            key=lambda one: (len(one.slips), len(one.upsets) - len(one.settles), one.normalised_error),
        )
    )


def _chance(
    key: str, *, comparisons: tuple[Comparison, ...], tried: tuple[Slip, ...], part: MeasuredPart | None
) -> float:
    """Return the share of random figures that one of the slips would explain.

    Each slip fits figures in a band round its own ratio, as wide as the uncertainty allows. The share is the length of
    all bands together over that of the range from 1/100 to 100, on a log scale.
    """
    before = {one.choice: one for one in comparisons if one.key == key and one.decides}
    bands = []
    for slip in tried:
        for after in compare(slip.corrected, part):
            one = before.get(after.choice)
            if after.key != key or one is None or not after.decides or one.ratio == after.ratio:
                continue
            shift = math.log(one.ratio / after.ratio)
            reach = math.hypot(
                after.claimed.relative_expanded_uncertainty, after.expected.relative_expanded_uncertainty
            )
            bands.append((shift - reach, shift + reach))
    return _covered(bands) / (2.0 * math.log(RANGE))


def _covered(bands: list[tuple[float, float]]) -> float:
    """Return the length that bands cover within the range, counted once where they overlap."""
    end, total = -math.log(RANGE), 0.0
    for low, high in sorted(bands):
        low, high = max(low, end), min(high, math.log(RANGE))
        if high > low:
            total, end = total + high - low, high
    return total


def _floor(claims: Claims, part: MeasuredPart | None) -> Floor | None:
    """Return the floor where area, required thickness and a mass, or a metal line with its price, are known."""
    minimum = claims.required or (claims.thickness if claims.thickness_is == "minimum" else None)
    area, words = _floor_area(claims, part)
    metal, source = _metal_claimed(claims)
    if minimum is None or area is None or claims.density is None or metal is None:
        return None
    lot = claims.lot
    needed = propagate(lambda a, t, rho: lot * a * t * rho, area, minimum, claims.density, unit="kg")
    return Floor(needed=needed, claimed=metal, source=source, area_words=words)


def _floor_area(claims: Claims, part: MeasuredPart | None) -> tuple[Measured | None, str]:
    if part is not None:
        choice = claims.faces or part.faces
        measured = part.area("given" if choice == part.faces and part.masked else choice)
        if measured is not None:
            return measured, f"measured, {WORDS[choice]}"
    area, _ = area_used(claims, None)
    return area, "as claimed"


def _metal_claimed(claims: Claims) -> tuple[Measured | None, str]:
    if claims.mass is not None:
        return claims.mass, "claimed metal mass"
    if claims.metal_line is not None and claims.price is not None:
        paid = propagate(lambda line, price: line / price, claims.metal_line, claims.price, unit="kg")
        return paid, "metal that the metal line pays for"
    return None, ""
