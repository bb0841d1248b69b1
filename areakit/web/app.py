"""The application: routes, guard, and the page's own files."""

from __future__ import annotations

from importlib.resources import as_file, files

from pydantic import ValidationError
from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import FileResponse, HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from areakit.datafiles import data_dir
from areakit.errors import AreakitError
from areakit.service.demo import DEFAULT_DEMO
from areakit.web import answers, draft_routes, record_routes, routes, shop_routes
from areakit.web.alarm import Alarm
from areakit.web.bench import Bench, DeskOf, bench_of
from areakit.web.calls import CALLS
from areakit.web.entry import code_svg, entry_page
from areakit.web.guard import PASS_COOKIE, PASS_SECONDS, Guard, Passes, is_here
from areakit.web.openapi import openapi
from areakit.web.settings import Address, Limits
from areakit.web.work import read_body


def make_app(
    *,
    address: Address,
    limits: Limits | None = None,
    passes: Passes | None = None,
    desk: DeskOf | None = None,
    alarm: Alarm | None = None,
) -> Starlette:
    """Return the application.

    ``passes`` is None where only this machine is served, ``desk`` where nothing is kept, ``alarm`` where nothing rings.
    """
    with as_file(files("areakit.web") / "static") as folder:
        static = StaticFiles(directory=folder)
        index = folder / "index.html"

    async def page(_: Request) -> Response:
        return FileResponse(index, media_type="text/html; charset=utf-8")

    app = Starlette(
        routes=[
            Route("/", page),
            Route("/favicon.ico", _favicon),
            Route("/enter", _enter, methods=["GET", "POST"]),
            Route("/api/openapi.json", _described),
            Route("/api/measure", routes.measure_route, methods=["POST"]),
            Route("/api/aim", routes.aim_route, methods=["POST"]),
            Route("/api/preview", routes.preview_route, methods=["POST"]),
            Route("/api/notes", routes.notes_route, methods=["POST"]),
            *(call.route for call in CALLS),
            *_record_paths(),
            Route("/api/rates", routes.rates_route, methods=["GET", "POST"]),
            Route("/api/sheets/{name}", routes.sheet_route),
            Route("/api/shop", shop_routes.shop_route, methods=["GET", "PUT"]),
            Route("/api/shop/rates", shop_routes.shop_rates_route, methods=["GET", "PUT"]),
            Route("/api/example", _example),
            Route("/api/invite", _invite),
            Route("/api/about", routes.about_route),
            Route("/api/{name}", routes.choices_route),
            Mount("/static", static),
        ],
        middleware=[Middleware(Guard, address=address, passes=passes)],
        exception_handlers={
            AreakitError: answers.on_areakit_error,
            answers.Refusal: answers.on_refusal,
            ValidationError: answers.on_wrong_fields,
            404: answers.on_not_found,
            405: answers.on_wrong_method,
        },
    )
    app.state.bench = Bench(limits or Limits(), desk, alarm)
    app.state.passes = passes
    app.state.address = address
    return app


def _record_paths() -> list[Route]:
    """Return the paths of the record; a job's number may hold slashes."""
    job = "/api/jobs/{number:path}"
    return [
        Route("/api/jobs", record_routes.jobs_route),
        Route("/api/jobs", record_routes.open_route, methods=["POST"]),
        Route(f"{job}/entries", record_routes.entries_route, methods=["POST"]),
        Route(f"{job}/entries/{{kind}}", record_routes.entry_route, methods=["POST"]),
        Route(f"{job}/run", record_routes.run_route),
        Route(f"{job}/traveller", record_routes.traveller_route),
        Route(f"{job}/certificate", record_routes.certificate_route, methods=["POST"]),
        Route(f"{job}/verify", record_routes.verify_route),
        Route(job, record_routes.job_route),
        Route("/api/drafts/{name}", draft_routes.draft_route, methods=["GET", "PUT", "DELETE"]),
        Route("/api/drafts/{name}/photos", draft_routes.draft_photo_route, methods=["POST"]),
        Route("/api/drafts/{name}/photos/{digest}", draft_routes.kept_photo_route),
        Route("/api/bottles", record_routes.bottles_route),
        Route("/api/bottles/{label:path}/factor", record_routes.factor_route),
        Route("/api/bottles/{label:path}/coupon", record_routes.coupon_route, methods=["POST"]),
        Route("/api/sheet-copies", record_routes.copies_route),
        Route("/api/sheet-copies", record_routes.keep_copy_route, methods=["POST"]),
    ]


async def _favicon(_: Request) -> Response:
    return RedirectResponse("/static/mark.svg", 308)


async def _example(_: Request) -> Response:
    return FileResponse(data_dir("demo_images") / f"{DEFAULT_DEMO}.jpg", media_type="image/jpeg")


async def _described(_: Request) -> Response:
    return JSONResponse(openapi())


async def _invite(request: Request) -> Response:
    """``GET /api/invite``: the one-time link for the next device, and its code; told to this machine alone."""
    passes: Passes | None = request.app.state.passes
    if passes is None or not is_here(request.scope, request.headers.get("host", "")):
        raise answers.Refusal(
            404,
            code="NO_LAN",
            message="No other device is let in here.",
            remedy="Start the server with --lan, and ask on the machine that it runs on.",
        )
    link = f"{request.app.state.address.lan_url}enter?key={passes.key}"
    return JSONResponse({"link": link, "svg": code_svg(link)})


async def _enter(request: Request) -> Response:
    """Show a button to whoever holds the key; the button trades it for a pass, so that a preview does not use it up."""
    passes: Passes | None = request.app.state.passes
    if passes is None:
        return RedirectResponse("/", 303)
    if request.method == "GET":
        key = request.query_params.get("key", "")
        return HTMLResponse(entry_page(key if passes.fits(key) else None), 200 if passes.fits(key) else 401)
    bench = bench_of(request)
    body = await read_body(request, bench.arriving, bench.limits, largest=200)
    device = passes.trade(body.decode("ascii", "replace").removeprefix("key="))
    if device is None:
        return HTMLResponse(entry_page(None), 401)
    answer = RedirectResponse("/", 303)
    answer.set_cookie(
        PASS_COOKIE,
        device,
        max_age=PASS_SECONDS,
        httponly=True,
        samesite="strict",
        path="/",
        secure=request.url.scheme == "https",
    )
    return answer
