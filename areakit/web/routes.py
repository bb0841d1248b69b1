"""The routes from a photo to a price: parse, call the service, show."""

from __future__ import annotations

import functools
from base64 import b64encode
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from areakit import __version__
from areakit.costing.rates_form import rates_file, rates_form, rates_values
from areakit.errors import InputError
from areakit.records.codec import as_json, error_json, flag_from_json, picked
from areakit.reports.notes import notes
from areakit.reports.overlay import jpeg_bytes
from areakit.service.aim import aim
from areakit.service.asked import asked_of
from areakit.service.measure import measure_bytes, result_json
from areakit.service.measure_request import MeasureRequest
from areakit.service.picture import overlay_json, preview_jpeg
from areakit.service.side_photo import with_rise
from areakit.service.trust import copy_check, copy_json
from areakit.web import bodies, choices
from areakit.web.answers import status_of
from areakit.web.bench import (
    bench_of,
    desk_of,
    fields_of,
    figures,
    kept_beside,
    lenses_of,
    photo_name,
    photo_of,
    query_of,
    timed,
)
from areakit.web.work import read_body, work

PREVIEW_PX = (64, 4000)
FRAME_BYTES = 2_000_000


async def measure_route(request: Request) -> Response:
    """``POST /api/measure``: the bytes of a photo, and what to do with it in the query."""
    asked = asked_of(MeasureRequest)
    single, many = (tuple(one.key for one in asked.values() if one.many is several) for several in (False, True))
    query = query_of(request, (*single, "sheet_copy", "side", "preview_px"), many)
    fields: dict[str, Any] = {
        name: tuple(request.query_params.getlist(one.key)) if one.many else query[one.key]
        for name, one in asked.items()
        if one.many or one.key in query
    }
    known, told = None, ()
    if "sheet_copy" in query and "check_lengths" not in query:
        desk, copy_name = desk_of(request), query["sheet_copy"]
        known, told = await figures(request, lambda: copy_check(desk, copy_name))
    lenses = await figures(request, lambda: lenses_of(bench_of(request)))
    wanted = MeasureRequest(**fields, reading=known.reading if known else None, lenses=lenses)
    name = photo_name(request.query_params.get("name", ""))
    preview_px = _longest(query["preview_px"]) if "preview_px" in query else None
    content, side = await photo_of(request), await kept_beside(request, query.get("side"))
    largest = bench_of(request).limits.pixels

    def run() -> tuple[dict[str, Any], int]:
        asked_for = wanted if side is None else with_rise(content, side, wanted, largest_pixels=largest)
        result = measure_bytes(content, asked_for, name=name, largest_pixels=largest)
        if known is not None and result.found is not None:
            known.check_sheet(result.found.scale.sheet)
        body = {**result_json(result), **overlay_json(result, mark=wanted.mark)}
        body["sheet_copy"] = {**copy_json(known), "flags": as_json(told)} if known else None
        if preview_px is not None and result.photo is not None:
            body["preview"] = b64encode(jpeg_bytes(result.photo.pixels, longest_px=preview_px)).decode()
        if result.error is None:
            return body, 200
        return {**error_json(result.error), **body}, status_of(result.error)

    body, status = await timed(f"measure {name}", request, run)
    return JSONResponse(body, status)


async def aim_route(request: Request) -> Response:
    """``POST /api/aim``: a small frame of a camera; the answer says what to do until a photo is worth taking."""
    bench = bench_of(request)
    content = await read_body(request, bench.arriving, bench.limits, largest=FRAME_BYTES)
    return JSONResponse(await work(bench.figures, bench.limits.work_seconds, lambda: aim(content)))


async def preview_route(request: Request) -> Response:
    """``POST /api/preview``: the bytes of a photo; the answer is a JPEG that every browser shows."""
    longest = _longest(request.query_params.get("longest_px", "2400"))
    name = photo_name(request.query_params.get("name", ""))
    content = await photo_of(request)
    pixels = bench_of(request).limits.pixels
    run = functools.partial(preview_jpeg, content, name=name, longest_px=longest, largest_pixels=pixels)
    return Response(await timed(f"preview {name}", request, run), media_type="image/jpeg")


def _longest(given: str) -> int:
    """Return how long the longer side of a picture for the page is to be."""
    longest = int(given) if given.isdigit() and given.isascii() and len(given) < 6 else 0
    if not PREVIEW_PX[0] <= longest <= PREVIEW_PX[1]:
        raise InputError(
            f"A preview of {given[:10]!r} px is outside {PREVIEW_PX[0]} to {PREVIEW_PX[1]}.", remedy="Ask for 2400."
        )
    return longest


async def notes_route(request: Request) -> Response:
    """``POST /api/notes``: flags of parts, as other calls give them; the answer tells each once, with its parts."""
    fields = await fields_of(request, bodies.NOTES)
    told = await figures(request, lambda: notes(flag_from_json(one) for one in fields["flags"]))
    return JSONResponse({"notes": [picked(one, "code", "where", "message", "remedy", "fields") for one in told]})


async def choices_route(request: Request) -> Response:
    """``GET /api/...``: what can be chosen."""
    name = request.path_params["name"]
    make = choices.CHOICES.get(name)
    if make is None:
        raise InputError(
            f"There is no list called {name[:30]!r}.", remedy=f"Ask for one of {', '.join(choices.CHOICES)}."
        )
    return JSONResponse({name: await figures(request, make)})


async def rates_route(request: Request) -> Response:
    """``GET /api/rates``: a shop's rates to be filled in, as a settings file and as a form.

    ``POST``: ``values`` by their paths to the settings file, or its ``text`` to the values.
    """
    if request.method == "POST":
        fields = await fields_of(request, bodies.RATES)
        text, values = fields.get("text"), fields.get("values")
        if (text is None) == (values is None):
            raise InputError("Rates are sent as text or as values.", remedy="Send one of them.")
        if text is not None:
            return JSONResponse({"values": await figures(request, lambda: rates_values(text))})
        return JSONResponse({"rates": await figures(request, lambda: rates_file(values or {}))})
    example = request.query_params.get("example") == "1"
    currency = request.query_params.get("currency", "")
    return JSONResponse({"rates": choices.rates(currency, example=example), "entries": rates_form()})


async def sheet_route(request: Request) -> Response:
    """``GET /api/sheets/NAME``: a scale sheet as PDF; the list of words names them."""
    name = request.path_params["name"]
    content = await figures(request, lambda: choices.sheet(name))
    headers = {"content-disposition": f'attachment; filename="areakit-sheet-{name}.pdf"'}
    return Response(content, media_type="application/pdf", headers=headers)


async def about_route(request: Request) -> Response:
    """``GET /api/about``: the version and the limits."""
    limits = bench_of(request).limits
    return JSONResponse(
        {
            "version": __version__,
            **picked(limits, "photo_bytes", "pixels", "at_once"),
            "lan": request.app.state.passes is not None,
        }
    )
