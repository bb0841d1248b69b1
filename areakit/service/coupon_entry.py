"""A weighed coupon as it is written down: volts, passes, area, gain, time."""

from __future__ import annotations

import re
from collections.abc import Mapping

from areakit.errors import InputError
from areakit.plating.coupon import USUAL_REPEAT, Coupon
from areakit.service.entries import read_quantity
from areakit.uncertainty import COVERAGE_FACTOR, Measured
from areakit.units import in_unit

NEEDED = ("volts", "passes", "area", "gain", "time")
OPTIONAL = ("name", "brush", "solution", "repeat")
_KINDS = {"area": ("area", "m2"), "gain": ("mass", "kg"), "time": ("time", "s"), "volts": ("voltage", "V")}


def read_coupon(said: Mapping[str, str], metal: str) -> Coupon:
    """Return a coupon from text with units; InputError if an entry is missing, unknown, or not what it must be."""
    name = str(said.get("name") or metal)
    missing = [key for key in NEEDED if not said.get(key)]
    strange = [key for key in said if key not in (*NEEDED, *OPTIONAL)]
    if missing or strange:
        wrong = f"lacks {', '.join(missing)}" if missing else f"has an entry {strange[0][:30]!r} that is not known"
        raise InputError(
            f"The coupon {name} {wrong}.", remedy=f"Give {', '.join(NEEDED)}; and repeat where you know it."
        )
    if not re.fullmatch(r"[1-9]\d{0,6}", str(said["passes"]).strip()):
        raise InputError(
            f"The coupon {name} has {said['passes'][:20]!r} passes.", remedy="Give a whole number above zero."
        )
    return Coupon(
        name=name,
        brush=str(said.get("brush", "")),
        volts=_read(said, "volts", name).value,
        passes=int(said["passes"]),
        area=_read(said, "area", name),
        gain=_read(said, "gain", name),
        time=_read(said, "time", name),
        repeat=_repeat(said.get("repeat"), name),
    )


def _read(said: Mapping[str, str], key: str, name: str) -> Measured:
    kind, unit = _KINDS[key]
    return in_unit(read_quantity(said[key], kind, f"coupon {name} {key}"), unit)


def _repeat(text: str | None, name: str) -> float:
    """Return the standard deviation between equal coupons from its ±, which is expanded."""
    if not text:
        return USUAL_REPEAT
    return read_quantity(text, "ratio", f"coupon {name} repeat").value / COVERAGE_FACTOR
