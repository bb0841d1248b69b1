"""The shop profile over HTTP: what ``areakit shop --json`` prints, and keeping it."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from areakit.errors import InputError
from areakit.service import shop
from areakit.service.shop_profile import profile_from
from areakit.service.shop_rates import keep_shop_rates, shop_rates
from areakit.web import bodies
from areakit.web.bench import fields_of, figures, query_of


async def shop_route(request: Request) -> Response:
    """``GET /api/shop``: the profile that holds, or that named ``profile``; ``PUT``: keep its text, or its values."""
    name = query_of(request, ("profile",)).get("profile")
    if request.method in ("GET", "HEAD"):
        return JSONResponse(await figures(request, lambda: shop.shop_json(name)))
    fields = await fields_of(request, bodies.SHOP)
    return JSONResponse(await figures(request, lambda: _kept(name, fields)))


async def shop_rates_route(request: Request) -> Response:
    """``GET /api/shop/rates``: the values of the rates that the profile names, null where there are none; ``PUT``."""
    name = query_of(request, ("profile",)).get("profile")
    if request.method in ("GET", "HEAD"):
        return JSONResponse({"values": await figures(request, lambda: shop_rates(name))})
    values = (await fields_of(request, bodies.RATES)).get("values")
    if values is None:
        raise InputError("The rates are missing.", remedy="Send them as values.")
    return JSONResponse({"values": await figures(request, lambda: keep_shop_rates(name, values))})


def _kept(name: str | None, fields: dict[str, Any]) -> dict[str, Any]:
    said = name or shop.chosen_name(None) or shop.DEFAULT
    text, values = fields.get("text"), fields.get("values")
    if (text is None) == (values is None):
        raise InputError("A shop profile is kept as text or as values.", remedy="Send one of them.")
    if text is not None:
        profile_from({}, name=said)  # the name becomes a file's name
        shop.write_shop(text, shop.shop_path(said), name=said)
    else:
        head = {"title": fields.get("title") or said, "invented": bool(fields.get("invented"))}
        shop.save_shop(profile_from({**head, **(values or {})}, name=said))
    return shop.shop_json(said)
