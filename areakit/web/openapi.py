"""The API described as OpenAPI 3.1, put together from the models of the requests and of the measurement."""

from __future__ import annotations

from functools import cache
from typing import Any, get_args

from pydantic import BaseModel

from areakit import __version__
from areakit.geometry.part import Faces
from areakit.imaging.marks.wanted import KNOWN
from areakit.records.schema import PartDocument, PhotoDocument
from areakit.web import bodies, choices

_REF = "#/components/schemas/{model}"
_ERRORS = {
    "401": "No pass (with --lan).",
    "403": "Another host or another page.",
    "408": "The upload took too long.",
    "409": "The store of jobs refuses.",
    "413": "Too many bytes or pixels.",
    "422": "Wrong input, or no trustworthy number: message and remedy say what to do.",
    "503": "Too much is under way; try again after Retry-After seconds.",
}


@cache
def openapi() -> dict[str, Any]:
    """Return the description."""
    schemas: dict[str, Any] = {"Error": _error(), "MeasuredPhoto": _measured()}
    for model in (PhotoDocument, PartDocument, bodies.PLAN, bodies.QUOTE, bodies.CHECK, bodies.SURFACE, bodies.PICTURE):
        _add(schemas, model)
    lists = {f"/api/{name}": {"get": _answer(f"The list of {name}.", {"type": "object"})} for name in choices.CHOICES}
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "areakit",
            "version": __version__,
            "description": "Plated area of small parts from one photo, and what follows from it. Every uncertain "
            "quantity carries its expanded uncertainty (coverage factor 2) and its budget.",
        },
        "paths": {
            "/api/measure": {"post": _photo_call("Measure the parts in a photo.", _measure_query(), "MeasuredPhoto")},
            "/api/preview": {"post": _preview()},
            "/api/surface": {"post": _json_call("Correct a part's outline.", "CorrectedOutlineFields", "PartDocument")},
            "/api/drawing": {"post": _drawing()},
            "/api/plan": {"post": _json_call("Plan from an area.", "PlanFields")},
            "/api/quote": {"post": _json_call("Price a plan.", "QuoteFields")},
            "/api/check": {"post": _json_call("Check claimed figures.", "CheckFields")},
            "/api/rates": {"get": _answer("A settings file for rates, to be filled in.", {"type": "object"})},
            "/api/about": {"get": _answer("Version and limits.", {"type": "object"})},
            **lists,
        },
        "components": {"schemas": schemas},
    }


def _add(schemas: dict[str, Any], model: type[BaseModel]) -> None:
    schema = model.model_json_schema(ref_template=_REF)
    schemas.update(schema.pop("$defs", {}))
    schemas[model.__name__] = schema


def _error() -> dict[str, Any]:
    text = {"type": "string"}
    return {
        "type": "object",
        "required": ["code", "message", "remedy"],
        "properties": {"code": text, "message": text, "remedy": text},
    }


def _measured() -> dict[str, Any]:
    """What the measurement prints, and what is drawn over the photo."""
    point = {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2}
    ring = {"type": "array", "items": point}
    rings = {"type": "array", "items": ring}
    return {
        "allOf": [{"$ref": _REF.format(model="PhotoDocument")}],
        "type": "object",
        "properties": {
            "image": {"type": ["object", "null"], "description": "Size of the upright photo: width_px, height_px."},
            "mark_px": {**rings, "description": "Outer edge and window of the mark, in pixels of the upright photo."},
            "rings_px": {"type": "array", "items": rings, "description": "Rings of each part, outer first."},
            "questions": {"type": "array", "description": "Doubtful regions: part, at (x,y in sheet mm), at_px."},
            "seen": {"type": ["object", "null"], "description": "Of a refused photo: whole_px and crossing_px."},
            "camera": {"type": ["object", "null"], "description": "To be handed back to /api/surface."},
        },
    }


def _measure_query() -> list[dict[str, Any]]:
    points = {"type": "array", "items": {"type": "string"}}
    return [
        _query("thickness", "1.2 mm, or 1.2 ± 0.05 mm", {"type": "string"}),
        _query("faces", "What is plated.", {"type": "string", "enum": list(get_args(Faces)), "default": "one"}),
        _query("mark", "Which scale mark to look for.", {"type": "string", "examples": list(KNOWN), "default": "auto"}),
        _query("check_lengths", "Both check lengths of the sheet: 200.2 x 119.9 mm", {"type": "string"}),
        _query("hole", "x,y of a doubtful region that is a hole, in sheet mm.", points),
        _query("metal", "x,y of a doubtful region that is metal, in sheet mm.", points),
        _query("name", "Name of the photo, for the answer only.", {"type": "string"}),
    ]


def _query(name: str, description: str, schema: dict[str, Any]) -> dict[str, Any]:
    return {"name": name, "in": "query", "required": False, "description": description, "schema": schema}


def _answer(summary: str, schema: dict[str, Any], media: str = "application/json") -> dict[str, Any]:
    error = {"application/json": {"schema": {"$ref": _REF.format(model="Error")}}}
    refused = {status: {"description": words, "content": error} for status, words in _ERRORS.items()}
    done = {"description": "Done.", "content": {media: {"schema": schema}}}
    return {"summary": summary, "responses": {"200": done, **refused}}


def _photo_call(summary: str, query: list[dict[str, Any]], answer: str) -> dict[str, Any]:
    photo = {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}}
    return {
        **_answer(summary, {"$ref": _REF.format(model=answer)}),
        "parameters": query,
        "requestBody": {"required": True, "description": "The bytes of the photo file.", "content": photo},
    }


def _preview() -> dict[str, Any]:
    query = [_query("longest_px", "Longer side of the answer.", {"type": "integer", "default": 2400})]
    image = {"type": "string", "format": "binary"}
    call = _photo_call("Return a photo as an upright JPEG.", query, "Error")
    return {**call, "responses": _answer("", image, "image/jpeg")["responses"]}


def _drawing() -> dict[str, Any]:
    call = _json_call("Draw a part: its areas, or brush lanes.", "PictureFields")
    return {**call, "responses": _answer("", {"type": "string"}, "image/svg+xml")["responses"]}


def _json_call(summary: str, fields: str, answer: str | None = None) -> dict[str, Any]:
    schema = {"$ref": _REF.format(model=answer)} if answer else {"type": "object"}
    body = {"application/json": {"schema": {"$ref": _REF.format(model=fields)}}}
    return {**_answer(summary, schema), "requestBody": {"required": True, "content": body}}
