"""The calls of the record described: jobs, their entries, bottles, sheet copies."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel

from areakit.web import bodies
from areakit.web.openapi_calls import answer, json_call, path_parameter, photo_call, query

_TEXT = {"type": "string"}
_WHO = query("who", "Name that stands with the entry; whoever runs the server where it is left out.", _TEXT)
_KEY = {
    "name": "Idempotency-Key",
    "in": "header",
    "required": False,
    "description": "Of this one press: sent again with it, the answer is 200 and nothing is written twice.",
    "schema": {"type": "string", "minLength": 1, "maxLength": 200},
}
_NUMBER = {
    "name": "number",
    "in": "path",
    "required": True,
    "description": "Number of the job.",
    "schema": {"type": "string", "minLength": 1},
}
_LABEL = {**_NUMBER, "name": "label", "description": "Label of the bottle."}
_OBJECT = {"type": "object"}


def record_paths() -> dict[str, Any]:
    """Return the paths of the record."""
    job = "/api/jobs/{number}"
    entries = {f"{job}/entries/{kind}": {"post": _entry(model)} for kind, model in bodies.ENTRIES.items()}
    photo = photo_call("Keep a photo.", [_NUMBER, _WHO, _KEY, query("name", "Its name.", _TEXT)], "Error")
    form = query("form", "pdf or html.", {"type": "string", "enum": ["pdf", "html"], "default": "pdf"})
    paper = query("paper", "Paper of the PDF.", {"type": "string", "enum": ["a4", "letter"], "default": "a4"})
    lanes = query("lanes", "Brush footprint, to draw lanes: 20 x 10 mm", _TEXT)
    brush = query("brush", "With this brush, where it has runs enough.", _TEXT)
    as_plot = query(
        "form", "json, or svg for the plot.", {"type": "string", "enum": ["json", "svg"], "default": "json"}
    )
    return {
        "/api/jobs": {
            "get": {**answer("All jobs.", _OBJECT), "parameters": [query("words", "Only jobs that hold them.", _TEXT)]},
            "post": _kept({**json_call("Open a job.", "JobFields"), "parameters": [_WHO, _KEY]}),
        },
        job: {"get": {**answer("A job as it stands.", _OBJECT), "parameters": [_NUMBER]}},
        f"{job}/run": {
            "get": {
                **answer("Where a run stands.", _OBJECT),
                "parameters": [_NUMBER, query("entry", "Its entry; the last run where left out.", {"type": "integer"})],
            }
        },
        f"{job}/traveller": {
            "get": {
                **answer("The traveller.", {"type": "string", "format": "binary"}, "application/pdf", "text/html"),
                "parameters": [_NUMBER, form, paper, lanes],
            }
        },
        f"{job}/certificate": {
            "post": {
                **answer(
                    "The certificate of conformance of a released job; 409 with what is missing for any other.",
                    {"type": "string", "format": "binary"},
                    "application/pdf",
                ),
                "parameters": [_NUMBER, _WHO, paper],
            }
        },
        f"{job}/verify": {
            "get": {
                **answer("What a certificate states; 409 where the record does not bear it out.", _OBJECT),
                "parameters": [_NUMBER, query("code", "The code that stands on it.", _TEXT)],
            }
        },
        f"{job}/entries": {
            "post": _kept(
                {
                    **json_call("Keep photo, measurement, plan and quote in one write.", "BundleFields"),
                    "parameters": [_NUMBER, _WHO, _KEY],
                }
            )
        },
        f"{job}/entries/photographed": {"post": _kept({**photo, "responses": answer("", _OBJECT)["responses"]})},
        **entries,
        **_drafts(),
        "/api/bottles": {"get": answer("The bottles in use.", _OBJECT)},
        "/api/bottles/{label}/factor": {
            "get": {
                **answer("What a bottle deposits per charge.", {}, "application/json", "image/svg+xml"),
                "parameters": [_LABEL, brush, as_plot],
            }
        },
        "/api/bottles/{label}/coupon": {
            "post": _kept({**json_call("Keep a weighed coupon.", "CouponFields"), "parameters": [_LABEL, _WHO]})
        },
        "/api/sheet-copies": {
            "get": answer("Copies of a scale sheet whose check lengths are kept.", _OBJECT),
            "post": _kept(
                {**json_call("Keep the check lengths of a sheet copy.", "CopyFields"), "parameters": [_WHO, _KEY]}
            ),
        },
    }


def _drafts() -> dict[str, Any]:
    """Return the calls that keep what a page holds before a job does."""
    draft = path_parameter("name", "Name of the draft, 32 hexadecimal digits.")
    photo = photo_call("Keep a photo of a draft.", [draft], "Error")
    digest = path_parameter("digest", "SHA-256 of the photo, in hexadecimal digits.")
    return {
        "/api/drafts/{name}": {
            "get": {**answer("A draft of the page.", _OBJECT), "parameters": [draft]},
            "put": {**json_call("Keep a draft of the page.", "DraftFields"), "parameters": [draft]},
            "delete": {**answer("Throw a draft away.", _OBJECT), "parameters": [draft]},
        },
        "/api/drafts/{name}/photos": {"post": _kept({**photo, "responses": answer("", _OBJECT)["responses"]})},
        "/api/drafts/{name}/photos/{digest}": {
            "get": {
                **answer("A kept photo.", {"type": "string", "format": "binary"}, "application/octet-stream"),
                "parameters": [draft, digest],
            }
        },
    }


def _entry(model: type[BaseModel]) -> dict[str, Any]:
    summary = (model.__doc__ or "").split("\n")[0]
    return _kept({**json_call(summary, model.__name__), "parameters": [_NUMBER, _WHO, _KEY]})


def _kept(call: dict[str, Any]) -> dict[str, Any]:
    """Return a call whose answer says that something is on the disk now."""
    responses = {("201" if status == "200" else status): body for status, body in call["responses"].items()}
    return {**call, "responses": responses}
