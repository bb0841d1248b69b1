"""The API described as OpenAPI 3.1, put together from the models of the requests and of the measurement."""

from __future__ import annotations

from functools import cache
from typing import Any

from pydantic import BaseModel

from areakit import __version__
from areakit.records.schema import PartDocument, PhotoDocument
from areakit.service.asked import Asked, asked_of
from areakit.service.measure_request import MeasureRequest
from areakit.web import bodies, choices
from areakit.web.calls import CALLS
from areakit.web.openapi_calls import REF, answer, json_call, path_parameter, photo_call, query
from areakit.web.openapi_record import record_paths

_OBJECT = {"type": "object"}


@cache
def openapi() -> dict[str, Any]:
    """Return the description."""
    schemas: dict[str, Any] = {"Error": _error(), "MeasuredPhoto": _measured()}
    models: list[type[BaseModel]] = [
        PhotoDocument,
        PartDocument,
        *(call.model for call in CALLS),
        *(bodies.NOTES, bodies.DRAFT, bodies.RATES, bodies.JOB, bodies.PRINT, bodies.COUPON, bodies.SHOP),
        bodies.BundleFields,
        *bodies.ENTRIES.values(),
    ]
    for model in models:
        _add(schemas, model)
    lists = {f"/api/{name}": {"get": answer(f"The list of {name}.", _OBJECT)} for name in choices.CHOICES}
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "areakit",
            "version": __version__,
            "description": "Plated area of small parts from one photo, and what follows from it. Every uncertain "
            "quantity carries its expanded uncertainty (coverage factor 2) and its budget.",
        },
        "paths": {
            "/api/measure": {"post": photo_call("Measure the parts in a photo.", _measure_query(), "MeasuredPhoto")},
            "/api/aim": {
                "post": _answering(
                    photo_call("Judge a small frame of a camera while somebody aims.", [], "Error"), _OBJECT
                )
            },
            "/api/preview": {"post": _preview()},
            **{f"/api/{call.path}": {"post": call.described} for call in CALLS},
            "/api/notes": {"post": json_call("Tell the flags of several parts as one.", "NotesFields")},
            "/api/rates": {
                "get": answer("A shop's rates to be filled in, as a settings file and as a form.", _OBJECT),
                "post": json_call("Rates from the form to the settings file, or back.", "RatesFields"),
            },
            "/api/sheets/{name}": {
                "get": {
                    **answer("A scale sheet to print.", {"type": "string", "format": "binary"}, "application/pdf"),
                    "parameters": [path_parameter("name", "Name of the sheet, as the list of words has it.")],
                }
            },
            **_shop(),
            "/api/invite": {"get": answer("The one-time link for the next device, and its code.", _OBJECT)},
            "/api/about": {"get": answer("Version and limits.", _OBJECT)},
            **lists,
            **record_paths(),
        },
        "components": {"schemas": schemas},
    }


def _shop() -> dict[str, Any]:
    named = query("profile", "Name of the profile; that which holds where it is left out.", {"type": "string"})

    def kept(read: str, keep: str, fields: str) -> dict[str, Any]:
        calls = {"get": answer(read, _OBJECT), "put": json_call(keep, fields)}
        return {method: {**call, "parameters": [named]} for method, call in calls.items()}

    rates = "The rates that the profile names, as values.", "Keep rates, and name them in the profile.", "RatesFields"
    return {
        "/api/shop": kept("The shop profile, and what each entry means.", "Keep the shop profile.", "ShopFields"),
        "/api/shop/rates": kept(*rates),
    }


def _add(schemas: dict[str, Any], model: type[BaseModel]) -> None:
    schema = model.model_json_schema(ref_template=REF)
    schemas.update(schema.pop("$defs", {}))
    schemas[model.__name__] = schema


def _error() -> dict[str, Any]:
    text = {"type": "string"}
    return {
        "type": "object",
        "required": ["code", "message", "remedy"],
        "properties": {
            "code": text,
            "message": text,
            "remedy": text,
            "fields": {"type": "object", "additionalProperties": text},
        },
    }


def _measured() -> dict[str, Any]:
    """What the measurement prints, and what is drawn over the photo."""
    point = {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2}
    ring = {"type": "array", "items": point}
    rings = {"type": "array", "items": ring}
    return {
        "allOf": [{"$ref": REF.format(model="PhotoDocument")}],
        "type": "object",
        "properties": {
            "image": {"type": ["object", "null"], "description": "Size of the upright photo: width_px, height_px."},
            "mark_px": {**rings, "description": "Outer edge and field of the mark, in pixels of the upright photo."},
            "rings_px": {"type": "array", "items": rings, "description": "Rings of each part, outer first."},
            "regions_px": {
                "type": "array",
                "description": "Stop-offs as said, a list a part: kind, sides, at, ring.",
            },
            "questions": {
                "type": "array",
                "description": "Doubtful regions: part, about, at (x,y in sheet mm), at_px; of stop-offs ring.",
            },
            "seen": {"type": ["object", "null"], "description": "Of a refused photo: whole_px and crossing_px."},
            "camera": {"type": ["object", "null"], "description": "To be handed back to /api/surface."},
        },
    }


def _measure_query() -> list[dict[str, Any]]:
    return [
        *(query(one.key, **_schema(one)) for one in asked_of(MeasureRequest).values()),
        query("sheet_copy", "Name of a sheet copy whose check lengths are kept.", {"type": "string"}),
        query(
            "preview_px",
            "Longer side of a JPEG to be sent along as preview, in base64, for browsers that show no such file.",
            {"type": "integer"},
        ),
        query("side", "Digest of a second photo in the draft, of a dome on its edge.", {"type": "string"}),
        query("draft", "Draft that holds the photo, in place of its bytes.", {"type": "string"}),
        query("kept", "Digest of that photo.", {"type": "string"}),
        query("name", "Name of the photo, for the answer only.", {"type": "string"}),
    ]


def _schema(one: Asked) -> dict[str, Any]:
    """Return description and schema of a parameter; one of several values is a list of texts."""
    schema = {"type": "string", **one.about.schema()}
    described = {"description": schema.pop("description")}
    return {**described, "schema": {"type": "array", "items": {"type": "string"}} if one.many else schema}


def _answering(call: dict[str, Any], schema: dict[str, Any], *media: str) -> dict[str, Any]:
    return {**call, "responses": answer("", schema, *media)["responses"]}


def _preview() -> dict[str, Any]:
    parameters = [query("longest_px", "Longer side of the answer.", {"type": "integer", "default": 2400})]
    image = {"type": "string", "format": "binary"}
    call = photo_call("Return a photo as an upright JPEG.", parameters, "Error")
    return _answering(call, image, "image/jpeg")
