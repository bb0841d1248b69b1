"""A value, its unit, and the named shares of its uncertainty.

Propagation is first order (JCGM 100:2008, equation 13), by the chain rule. Every share belongs to a named input of unit
variance, so two results that share an input (the scale of one photo, say) stay correlated.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

from areakit.errors import RangeError

COVERAGE_FACTOR = 2.0
"""Coverage factor for about 95 % (JCGM 100:2008, 6.3.3)."""
_LARGEST_SHARE, _LARGEST_FACTOR = 1e150, 1e6
"""Beyond these a root sum of squares, or its multiple, is no finite number any more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """One measured or computed quantity.

    - ``value``: best estimate, in ``unit``.
    - ``unit``: a unit code of :mod:`areakit.units`, such as ``mm2``; ``1`` for a ratio.
    - ``budget``: input name to signed standard share, in ``unit``. The sign tells how the value moves with the input.
    """

    value: float
    unit: str
    budget: Mapping[str, float] = field(default_factory=dict)
    coverage_factor: float = COVERAGE_FACTOR

    def __post_init__(self) -> None:
        shares_hold = all(abs(share) <= _LARGEST_SHARE for share in self.budget.values())
        if not (math.isfinite(self.value) and shares_hold and 0.0 < self.coverage_factor <= _LARGEST_FACTOR):
            raise RangeError(
                "A quantity came out as not a finite number.", remedy="Check the figures that were entered."
            )
        shares = {name: float(share) for name, share in self.budget.items() if share != 0.0}
        object.__setattr__(self, "budget", MappingProxyType(shares))

    @property
    def standard_uncertainty(self) -> float:
        """Root sum of squares of the shares, in ``unit``."""
        return math.sqrt(math.fsum(share * share for share in self.budget.values()))

    @property
    def expanded_uncertainty(self) -> float:
        """Coverage factor times standard uncertainty, in ``unit``."""
        return self.coverage_factor * self.standard_uncertainty

    @property
    def relative_expanded_uncertainty(self) -> float:
        """Expanded uncertainty over the magnitude of the value; infinite for a value of zero."""
        return self.expanded_uncertainty / abs(self.value) if self.value else math.inf

    def plus_shares(self, **shares: float) -> Measured:
        """Return the same value with further shares, in ``unit``; a name already there is replaced."""
        return Measured(
            value=self.value,
            unit=self.unit,
            budget={**self.budget, **{name.replace("_", " "): share for name, share in shares.items()}},
            coverage_factor=self.coverage_factor,
        )

    def times(self, factor: float, *, unit: str = "") -> Measured:
        """Return the quantity times an exact number, in its own unit unless another is named."""
        budget = {name: share * factor for name, share in self.budget.items()}
        return Measured(value=self.value * factor, unit=unit or self.unit, budget=budget)

    def __reduce__(self) -> tuple[Any, ...]:
        """Pickle by plain values: a mapping proxy cannot cross to a worker process."""
        return _rebuild, (self.value, self.unit, dict(self.budget), self.coverage_factor)


def _rebuild(value: float, unit: str, budget: dict[str, float], coverage_factor: float) -> Measured:
    return Measured(value=value, unit=unit, budget=budget, coverage_factor=coverage_factor)


def exact(value: float, unit: str) -> Measured:
    """Return a quantity without uncertainty."""
    return Measured(value=value, unit=unit)


def propagate(function: Callable[..., Any], *inputs: Measured, unit: str) -> Measured:
    """Return ``function(*inputs)`` with its budget, to first order.

    - ``function``: takes as many numbers as there are inputs, and uses plain arithmetic; powers are plain numbers.
    - ``inputs``: inputs that share a budget name are correlated through it.
    - ``unit``: unit code of the result.

    Source: [gum] JCGM 100:2008, equation 13.
    """
    given = (
        _Sloped(quantity.value, {i: 1.0}) if quantity.budget else quantity.value for i, quantity in enumerate(inputs)
    )
    result = function(*given)
    if not isinstance(result, _Sloped):
        return Measured(value=float(result), unit=unit)
    budget: dict[str, float] = {}
    for i, slope in result.slopes.items():
        for name, share in inputs[i].budget.items():
            budget[name] = budget.get(name, 0.0) + slope * share
    return Measured(value=result.value, unit=unit, budget=budget)


class _Sloped:
    """A number with its slope by each input, carried through plain arithmetic by the chain rule."""

    __slots__ = ("slopes", "value")

    def __init__(self, value: float, slopes: dict[int, float]) -> None:
        self.value, self.slopes = value, slopes

    def _with(self, other: Any, value: float, slope: float, other_slope: float) -> _Sloped:
        slopes = {i: slope * mine for i, mine in self.slopes.items()}
        if isinstance(other, _Sloped):
            for i, theirs in other.slopes.items():
                slopes[i] = slopes.get(i, 0.0) + other_slope * theirs
        return _Sloped(value, slopes)

    def __add__(self, other: Any) -> _Sloped:
        return self._with(other, self.value + _plain(other), 1.0, 1.0)

    def __sub__(self, other: Any) -> _Sloped:
        return self._with(other, self.value - _plain(other), 1.0, -1.0)

    def __rsub__(self, other: Any) -> _Sloped:
        return self._with(other, other - self.value, -1.0, 0.0)

    def __mul__(self, other: Any) -> _Sloped:
        return self._with(other, self.value * _plain(other), _plain(other), self.value)

    def __truediv__(self, other: Any) -> _Sloped:
        value = self.value / _plain(other)
        return self._with(other, value, 1.0 / _plain(other), -value / _plain(other))

    def __rtruediv__(self, other: Any) -> _Sloped:
        return self._with(other, other / self.value, -other / self.value**2, 0.0)

    def __pow__(self, power: float) -> _Sloped:
        return self._with(power, self.value**power, power * self.value ** (power - 1.0), 0.0)

    def __neg__(self) -> _Sloped:
        return self * -1.0

    def __float__(self) -> float:
        raise TypeError("its uncertainty would be lost")

    def __lt__(self, other: Any) -> bool:
        return bool(self.value < _plain(other))

    def __le__(self, other: Any) -> bool:
        return bool(self.value <= _plain(other))

    def __gt__(self, other: Any) -> bool:
        return bool(self.value > _plain(other))

    def __ge__(self, other: Any) -> bool:
        return bool(self.value >= _plain(other))

    __radd__, __rmul__ = __add__, __mul__


def _plain(number: Any) -> float:
    return number.value if isinstance(number, _Sloped) else number


def total(quantities: list[Measured], unit: str) -> Measured:
    """Return the sum of quantities of one unit, correlated through their common inputs; zero for an empty list."""
    budget: dict[str, float] = {}
    for quantity in quantities:
        if quantity.unit != unit:
            raise RangeError(f"A sum in {unit} was given {quantity.unit}.", remedy="Convert the terms first.")
        for name, share in quantity.budget.items():
            budget[name] = budget.get(name, 0.0) + share
    return Measured(value=math.fsum(q.value for q in quantities), unit=unit, budget=budget)


def normalised_error(value: Measured, reference: Measured) -> float:
    r"""Return the normalised error of a value against an independent reference in the same unit.

    .. math:: E_n = \frac{x - X}{\sqrt{U_x^2 + U_X^2}}

    Values of magnitude up to 1 agree.

    Source: [iso13528] E_n score.
    """
    spread = math.hypot(value.expanded_uncertainty, reference.expanded_uncertainty)
    difference = value.value - reference.value
    if spread == 0.0:
        return 0.0 if math.isclose(value.value, reference.value, rel_tol=1e-9) else math.copysign(math.inf, difference)
    return difference / spread


def surer(own: Measured, other: Measured) -> bool:
    """Tell whether a figure is surer than another of the same: smaller relative uncertainty, or the only one."""
    if other.standard_uncertainty == 0.0:
        return True
    return own.relative_expanded_uncertainty < other.relative_expanded_uncertainty
