"""The routes of the API: parse, call the service, show."""

from __future__ import annotations

import functools
import logging
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import PurePosixPath, PureWindowsPath
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from areakit import __version__
from areakit.costing.words import headline
from areakit.errors import InputError
from areakit.imaging.lens import Lens
from areakit.records.check_json import verdict_json
from areakit.records.plan_json import plan_json
from areakit.records.quote_json import quote_json
from areakit.service.check import CheckRequest, check
from areakit.service.correct import CorrectRequest, correct
from areakit.service.measure import MeasureRequest, measure_bytes, result_json
from areakit.service.part_picture import PictureRequest, part_picture
from areakit.service.picture import overlay_json, preview_jpeg
from areakit.service.plan import PlanRequest, plan
from areakit.service.quote import QuoteRequest, quote
from areakit.web import bodies, choices
from areakit.web.answers import error_body, status_of
from areakit.web.settings import Limits
from areakit.web.work import Room, read_body, work

logger = logging.getLogger(__name__)

MEASURE_QUERY = ("thickness", "faces", "mark", "check_lengths")
ANSWERS_QUERY = ("hole", "metal")
"""Points in doubtful regions, ``x,y`` in sheet millimetres; each may be given several times."""
PREVIEW_PX = (64, 4000)


@dataclass(slots=True)
class Bench:
    """What all requests share: the limits, the stored lenses as they are at that moment, and the places for work."""

    limits: Limits
    lenses: Callable[[], tuple[Lens, ...]] = tuple
    photos: Room = field(init=False)
    figures: Room = field(init=False)
    arriving: Room = field(init=False)

    def __post_init__(self) -> None:
        self.photos = Room(self.limits.at_once, what="measurements")
        self.figures = Room(4 * self.limits.at_once, what="calculations")
        self.arriving = Room(self.limits.receiving_at_once, what="uploads")


async def measure_route(request: Request) -> Response:
    """``POST /api/measure``: the bytes of a photo, and what to do with it in the query."""
    bench: Bench = request.app.state.bench
    query = _query(request, MEASURE_QUERY)
    asked = MeasureRequest(
        thickness=query.get("thickness"),
        faces=query.get("faces", "one"),
        mark=query.get("mark", "auto"),
        check_lengths=query.get("check_lengths"),
        holes=tuple(request.query_params.getlist("hole")),
        metal=tuple(request.query_params.getlist("metal")),
        lenses=bench.lenses(),
    )
    name = photo_name(request.query_params.get("name", ""))
    content = await _photo(request)

    def run() -> tuple[dict[str, Any], int]:
        result = measure_bytes(content, asked, name=name, largest_pixels=bench.limits.pixels)
        body = {**result_json(result), **overlay_json(result, mark=asked.mark)}
        if result.error is None:
            return body, 200
        return {**error_body(result.error), **body}, status_of(result.error)

    body, status = await _timed(f"measure {name}", bench, run)
    return JSONResponse(body, status)


async def preview_route(request: Request) -> Response:
    """``POST /api/preview``: the bytes of a photo; the answer is a JPEG that every browser shows."""
    bench: Bench = request.app.state.bench
    given = request.query_params.get("longest_px", "2400")
    longest = int(given) if given.isdigit() and len(given) < 6 else 0
    if not PREVIEW_PX[0] <= longest <= PREVIEW_PX[1]:
        raise InputError(
            f"A preview of {given[:10]!r} px is outside {PREVIEW_PX[0]} to {PREVIEW_PX[1]}.", remedy="Ask for 2400."
        )
    name = photo_name(request.query_params.get("name", ""))
    content = await _photo(request)
    pixels = bench.limits.pixels
    run = functools.partial(preview_jpeg, content, name=name, longest_px=longest, largest_pixels=pixels)
    return Response(await _timed(f"preview {name}", bench, run), media_type="image/jpeg")


async def plan_route(request: Request) -> Response:
    """``POST /api/plan``: the fields of a plan request; the answer is what ``areakit plan --json`` prints."""
    fields = await _fields(request, bodies.PLAN, ("measured",))
    return JSONResponse(await _figures(request, lambda: plan_json(plan(PlanRequest(**fields)))))


async def quote_route(request: Request) -> Response:
    """``POST /api/quote``: the fields of a quote request; the answer is what ``areakit quote --json`` prints."""
    fields = await _fields(request, bodies.QUOTE, ("plan", "part"))

    def run() -> dict[str, Any]:
        found = quote(QuoteRequest(**fields))
        return quote_json(found.quote, found.part)

    return JSONResponse(await _figures(request, run))


async def check_route(request: Request) -> Response:
    """``POST /api/check``: claims; the answer holds one verdict a row, as ``areakit check --json`` prints them."""
    fields = await _fields(request, bodies.CHECK, ("part",))

    def run() -> dict[str, Any]:
        verdicts = check(CheckRequest(**fields))
        return {"verdicts": [{**verdict_json(one), "headline": headline(one)} for one in verdicts]}

    return JSONResponse(await _figures(request, run))


async def surface_route(request: Request) -> Response:
    """``POST /api/surface``: a measured part and its corrected rings; the answer is the part, computed anew."""
    fields = await _fields(request, bodies.SURFACE, ())
    return JSONResponse(await _figures(request, lambda: correct(CorrectRequest(**fields))))


async def drawing_route(request: Request) -> Response:
    """``POST /api/drawing``: a measured part; the answer is an SVG picture of its areas, or of brush lanes."""
    fields = await _fields(request, bodies.PICTURE, ())
    drawn = await _figures(request, lambda: part_picture(PictureRequest(**fields)))
    return Response(drawn, media_type="image/svg+xml")


async def choices_route(request: Request) -> Response:
    """``GET /api/...``: what can be chosen."""
    name = request.path_params["name"]
    make = choices.CHOICES.get(name)
    if make is None:
        raise InputError(
            f"There is no list called {name[:30]!r}.", remedy=f"Ask for one of {', '.join(choices.CHOICES)}."
        )
    return JSONResponse({name: await _figures(request, make)})


async def rates_route(request: Request) -> Response:
    """``GET /api/rates``: a settings file for a shop's rates, to be filled in."""
    example = request.query_params.get("example") == "1"
    currency = request.query_params.get("currency", "")
    return JSONResponse({"rates": choices.rates(currency, example=example)})


async def about_route(request: Request) -> Response:
    """``GET /api/about``: the version and the limits."""
    limits = request.app.state.bench.limits
    return JSONResponse(
        {"version": __version__, "photo_bytes": limits.photo_bytes, "pixels": limits.pixels, "at_once": limits.at_once}
    )


def photo_name(text: str) -> str:
    """Return a name to show, without any folder and of moderate length; it is never used to open a file."""
    plain = PureWindowsPath(PurePosixPath(text).name).name
    shown = "".join(letter for letter in plain if letter.isprintable())[:120].strip()
    return shown or "photo"


def _query(request: Request, names: tuple[str, ...]) -> dict[str, str]:
    given = {name: text for name, text in request.query_params.items() if text.strip()}
    strange = sorted(set(given) - {*names, *ANSWERS_QUERY, "name"})
    if strange:
        raise InputError(
            f"There is no parameter {strange[0][:30]!r}.", remedy=f"Known: name, {', '.join((*names, *ANSWERS_QUERY))}."
        )
    return {name: given[name] for name in names if name in given}


async def _photo(request: Request) -> bytes:
    bench: Bench = request.app.state.bench
    return await read_body(request, bench.arriving, bench.limits, largest=bench.limits.photo_bytes)


async def _fields(request: Request, model: Any, documents: tuple[str, ...]) -> dict[str, Any]:
    bench: Bench = request.app.state.bench
    body = await read_body(request, bench.arriving, bench.limits, largest=bench.limits.json_bytes)
    return dict(bodies.read(model, body, documents))


async def _figures(request: Request, run: Callable[[], Any]) -> Any:
    bench: Bench = request.app.state.bench
    return await work(bench.figures, bench.limits.work_seconds, run)


async def _timed(what: str, bench: Bench, run: Callable[[], Any]) -> Any:
    started = time.monotonic()
    result = await work(bench.photos, bench.limits.work_seconds, run)
    logger.info("%s: %.2f s", what, time.monotonic() - started)
    return result
