"""A plan as asked for, completed from the shop profile: the same for Python, the command line, HTTP and the page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

from areakit.service.plan_factors import with_own
from areakit.service.plan_gaps import gaps, refuse_missing
from areakit.service.plan_request import PlanRequest
from areakit.service.shop import NONE, load_shop
from areakit.service.shop_fill import Filled, filled
from areakit.service.shop_profile import Profile
from areakit.service.spread import SpreadRequest

_OWN = ("shop", "brush", "spread", "pictures")


@dataclass(frozen=True, slots=True, kw_only=True)
class FromShop:
    """A request that lacks nothing, and what of it the profile gave."""

    request: PlanRequest
    filled: Filled
    profile: Profile | None


def from_shop(request: PlanRequest) -> FromShop:
    """Return a request completed from the profile that holds, or that it names.

    InputError if there is no such profile or brush; with everything that is still missing, at once.
    """
    profile = load_shop(request.shop)
    typed = entries_of(request)
    found = with_own(filled(typed, profile, brush=request.brush), typed)
    missing = gaps(found.entries, profile)
    if any(gap.needed for gap in missing):
        refuse_missing(found.entries, missing)
    return FromShop(request=request_of(found.entries, pictures=request.spread.pictures), filled=found, profile=profile)


def entries_of(request: PlanRequest) -> dict[str, Any]:
    """Return what was said, by the names of a request and of its spread; None where nobody said."""
    said = {one.name: getattr(request, one.name) for one in fields(request) if one.name not in _OWN}
    more = {one.name: getattr(request.spread, one.name) for one in fields(request.spread) if one.name not in _OWN}
    return {name: None if value in ("", (), {}) else value for name, value in {**said, **more}.items()}


def request_of(entries: Mapping[str, Any], *, pictures: bool = False) -> PlanRequest:
    """Return the request of such entries; it is complete, and no profile is asked again."""
    names = {one.name for one in fields(PlanRequest)} - set(_OWN)
    spread = {one.name for one in fields(SpreadRequest)} - set(_OWN)
    said = {name: value for name, value in entries.items() if value is not None}
    return PlanRequest(
        **{name: value for name, value in said.items() if name in names},
        spread=SpreadRequest(**{name: value for name, value in said.items() if name in spread}, pictures=pictures),
        shop=NONE,
    )
