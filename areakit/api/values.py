"""Figures that go in and come out: text or pint quantities in, values with their uncertainty out."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, TypeAlias, Union

from areakit.errors import UnitError
from areakit.uncertainty import COVERAGE_FACTOR, Measured
from areakit.units import as_quantity, dimension, from_quantity, in_quantity, in_unit, show

if TYPE_CHECKING:
    from areakit.units import Quantity

Entry: TypeAlias = Union[str, "Quantity", "UncertainValue"]
"""What a verb takes for a figure: text such as ``1.2 ± 0.05 mm``, a pint quantity, or an earlier answer."""

Spread = Literal["expanded", "limit"]
"""What ± means for an entry: an expanded uncertainty (k = 2), or the limit of a rectangular distribution."""


@dataclass(frozen=True, slots=True)
class UncertainValue:
    """A value with its uncertainty, as every answer gives its figures.

    ``measured`` holds the value in the unit that areakit shows, and the signed standard share of each input.

    Examples
    --------
    >>> import areakit
    >>> face = areakit.plated_surface(shape="disk 30 mm ± 0.1 mm").parts[0].face
    >>> print(face)
    7.069 ± 0.054 cm²
    >>> print(f"{face.value:~.1f}, {face.standard_uncertainty:~.2f}")
    706.9 mm ** 2, 2.72 mm ** 2
    >>> round(face.value.m_as("cm**2"), 3)
    7.069
    """

    measured: Measured

    @property
    def value(self) -> Quantity:
        """The best estimate, as a pint quantity."""
        return as_quantity(self.measured)

    @property
    def expanded_uncertainty(self) -> Quantity:
        """Coverage factor times standard uncertainty, as a pint quantity: the ± that is printed."""
        return in_quantity(self.measured.expanded_uncertainty, self.measured.unit)

    @property
    def standard_uncertainty(self) -> Quantity:
        """Root sum of squares of the shares (JCGM 100:2008, equation 13), as a pint quantity."""
        return in_quantity(self.measured.standard_uncertainty, self.measured.unit)

    @property
    def coverage_factor(self) -> float:
        """Expanded over standard uncertainty. [1]"""
        return self.measured.coverage_factor

    @property
    def budget(self) -> Mapping[str, Quantity]:
        """Each input with its signed standard share, largest first, as pint quantities."""
        shares = sorted(self.measured.budget.items(), key=lambda item: -abs(item[1]))
        return {name: in_quantity(share, self.measured.unit) for name, share in shares}

    def show(self, unit: str | None = None) -> str:
        """Return ``value ± expanded uncertainty unit``.

        Parameters
        ----------
        unit : str, optional
            A unit as on the command line, such as ``in2`` or ``A.min``; by default the one that areakit prints.

        Raises
        ------
        UnitError
            If the unit is not known, or of another kind.
        """
        chosen = unit or {"mm2": "cm2"}.get(self.measured.unit, self.measured.unit)
        try:
            dimension(chosen)
        except KeyError:
            raise UnitError(
                f"{chosen[:20]!r} is not a unit.", remedy="Write it as cm2, in2, um, mg or A.min."
            ) from None
        return show(self.measured, chosen)

    def __str__(self) -> str:
        return self.show()

    def __repr__(self) -> str:
        return f"<{self.show()}>"


def entry_text(entry: Entry, kind: str, *, spread: Spread = "expanded") -> str:
    """Return an entry as it would be typed on the command line.

    Parameters
    ----------
    entry : str, pint quantity or UncertainValue
        A quantity whose magnitude has a standard deviation (``plus_minus``) hands it on, and so does an answer.
    kind : str
        Its dimension, such as ``length``.
    spread : str
        What ± will be read as; the standard uncertainty is multiplied by 2, or by the square root of 3.

    Raises
    ------
    UnitError
        If it is a bare number, or a quantity of another kind.

    Sources
    -------
    [gum] 4.3.7, rectangular distribution; 6.2.1, expanded uncertainty.
    """
    if isinstance(entry, str):
        return entry
    factor = math.sqrt(3.0) if spread == "limit" else COVERAGE_FACTOR
    if isinstance(entry, UncertainValue):
        number, code = from_quantity(entry.value, kind)
        standard = in_unit(entry.measured, code).standard_uncertainty
    elif hasattr(entry, "units") and hasattr(entry, "magnitude"):
        estimate = getattr(entry.magnitude, "nominal_value", entry.magnitude)
        number, code = from_quantity(_with_units_of(entry, estimate), kind)
        deviation = float(getattr(entry.magnitude, "std_dev", 0.0))
        standard = from_quantity(_with_units_of(entry, deviation), kind)[0] if deviation else 0.0
    else:
        raise UnitError(
            f"{str(entry)[:40]} has no unit.",
            remedy='Write it as text with its unit, or as a quantity: areakit.ureg.Quantity(1.2, "mm").',
        )
    if kind == "ratio":
        number, standard, code = 100.0 * _plain_ratio(number, code), 100.0 * _plain_ratio(standard, code), "%"
    if standard == 0.0:
        return f"{number:.15g} {code}"
    return f"{number:.15g} ± {factor * standard:.9g} {code}"


def plain_json(body: dict[str, Any]) -> dict[str, Any]:
    """Return a body as it is after printing and reading: lists in place of tuples."""
    found: dict[str, Any] = json.loads(json.dumps(body))
    return found


def _with_units_of(quantity: Quantity, number: Any) -> Quantity:
    """Return a number in the units of a quantity; pint keeps them apart from its magnitude."""
    found: Quantity = number * quantity.units
    return found


def _plain_ratio(number: float, code: str) -> float:
    """Return a ratio as a plain number. [1]"""
    return in_unit(Measured(value=number, unit=code), "1").value
