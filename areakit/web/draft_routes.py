"""Drafts over HTTP: what a page holds before a job does; a reload, or a phone that slept, loses nothing."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from areakit.web import bodies
from areakit.web.bench import drafts_of, fields_of, figures, photo_of


async def draft_route(request: Request) -> Response:
    """``GET /api/drafts/NAME``: the document of a draft; ``PUT``: keep it; ``DELETE``: throw it away."""
    name, drafts = request.path_params["name"], drafts_of(request)
    if request.method in ("GET", "HEAD"):
        return JSONResponse({"document": await figures(request, lambda: drafts.read(name))})
    if request.method == "DELETE":
        await figures(request, lambda: drafts.forget(name))
        return JSONResponse({"forgotten": name})
    fields = await fields_of(request, bodies.DRAFT)
    await figures(request, lambda: drafts.write(name, fields["document"]))
    return JSONResponse({"kept": name})


async def draft_photo_route(request: Request) -> Response:
    """``POST /api/drafts/NAME/photos``: keep the bytes of a photo; the answer is its digest."""
    name, drafts = request.path_params["name"], drafts_of(request)
    content = await photo_of(request)
    return JSONResponse({"photo": await figures(request, lambda: drafts.keep_photo(name, content))}, 201)


async def kept_photo_route(request: Request) -> Response:
    """``GET /api/drafts/NAME/photos/DIGEST``: the bytes of a kept photo."""
    name, digest, drafts = request.path_params["name"], request.path_params["digest"], drafts_of(request)
    content = await figures(request, lambda: drafts.photo(name, digest))
    return Response(content, media_type="application/octet-stream")
