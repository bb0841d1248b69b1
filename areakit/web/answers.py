"""Answers of the API: JSON, and one shape for every refusal."""

from __future__ import annotations

from typing import Any

from pydantic import ValidationError
from starlette.datastructures import Headers
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from areakit.errors import AreakitError, CertificateError, RecordError
from areakit.plural import counted
from areakit.records.codec import error_json
from areakit.records.wrong_fields import MOST_TOLD, wrong_fields
from areakit.web.entry import refusal_page

UNPROCESSABLE, CONFLICT, TOO_LARGE, BUSY = 422, 409, 413, 503
_STATUS_OF_CODE = {"TOO_MANY_PIXELS": TOO_LARGE, "NO_DRAFT": 404}


class Refusal(Exception):
    """A request that the server itself refuses: not the measurement, but how it was asked for."""

    def __init__(
        self, status: int, *, code: str, message: str, remedy: str, headers: dict[str, str] | None = None
    ) -> None:
        super().__init__(message)
        self.status = status
        self.body = {"code": code, "message": message, "remedy": remedy}
        self.headers = headers or {}

    def response(self) -> Response:
        """Return it as JSON."""
        return JSONResponse(self.body, self.status, headers=self.headers)


def status_of(error: AreakitError) -> int:
    """Return the HTTP status of an error of areakit."""
    if isinstance(error, RecordError | CertificateError):
        return CONFLICT
    return _STATUS_OF_CODE.get(error.code, UNPROCESSABLE)


async def on_areakit_error(_: Request, error: Exception) -> Response:
    """Answer an error of areakit."""
    assert isinstance(error, AreakitError)
    return JSONResponse(error_json(error), status_of(error))


async def on_refusal(_: Request, error: Exception) -> Response:
    """Answer a refusal of the server."""
    assert isinstance(error, Refusal)
    return error.response()


async def on_wrong_fields(_: Request, error: Exception) -> Response:
    """Answer JSON whose fields are wrong: every one of them at once."""
    assert isinstance(error, ValidationError)
    wrong = wrong_fields(error, whole="the body")
    body: dict[str, Any] = {
        "code": "FIELDS",
        "message": f"The request holds {counted(len(wrong), 'wrong field')}: {'; '.join(wrong[:MOST_TOLD])}.",
        "remedy": "See /api/openapi.json for the fields and their types.",
    }
    return JSONResponse(body, UNPROCESSABLE)


def wants_page(headers: Headers) -> bool:
    """Tell whether somebody looks at the answer in a browser, rather than a program that reads JSON."""
    return "text/html" in headers.get("accept", "")


async def on_not_found(request: Request, _: Exception) -> Response:
    """Answer a path that does not exist."""
    message = f"There is nothing at {request.scope['path'][:80]}."
    remedy = "The page is at /, the API is described at /api/openapi.json."
    if wants_page(request.headers):
        return HTMLResponse(refusal_page(message, remedy), 404)
    return Refusal(404, code="NOT_FOUND", message=message, remedy=remedy).response()


async def on_wrong_method(request: Request, _: Exception) -> Response:
    """Answer a method that a path does not take."""
    return Refusal(
        405,
        code="METHOD",
        message=f"{request.scope['path'][:80]} does not take {request.method[:10]}.",
        remedy="See /api/openapi.json.",
    ).response()
