"""The certificate of conformance of a released job over HTTP, and whether one agrees with the record."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from areakit.errors import InputError
from areakit.service.certificate import certify, verify
from areakit.web.bench import desk_of, figures, query_of


def file_name(number: str) -> str:
    """Return a job's number with only what every system takes in the name of a file."""
    return "".join(letter for letter in number if letter.isascii() and (letter.isalnum() or letter in "-_")) or "job"


async def certificate_route(request: Request) -> Response:
    """``POST /api/jobs/NUMBER/certificate``: the certificate as PDF; 409 with what is missing for a job not released.

    It is a POST, since the record keeps that a certificate was written.
    """
    number, desk = request.path_params["number"], desk_of(request)
    paper = query_of(request, ("paper",)).get("paper", "a4")
    made = await figures(request, lambda: certify(desk, number, paper=paper))
    headers = {"content-disposition": f'attachment; filename="certificate-{file_name(number)}.pdf"'}
    return Response(made.content, media_type="application/pdf", headers=headers)


async def verify_route(request: Request) -> Response:
    """``GET /api/jobs/NUMBER/verify``: what the certificate of ``code`` states, where the record bears it out."""
    number, desk = request.path_params["number"], desk_of(request)
    code = query_of(request, ("code",)).get("code")
    if code is None:
        raise InputError("There is no code.", remedy="Give the code that stands on the certificate.")
    found = await figures(request, lambda: verify(desk, number, code))
    return JSONResponse({"code": str(found.code), **found.statement})
