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
from areakit.web.openapi_calls import REF, answer, json_call, path_parameter, photo_call, query
from areakit.web.openapi_record import record_paths

_FIELDS: tuple[type[BaseModel], ...] = (
    bodies.PLAN,
    bodies.DEPOSIT,
    bodies.QUOTE,
    bodies.CHECK,
    bodies.SURFACE,
    bodies.PLACE,
    bodies.FACES,
    bodies.NOTES,
    bodies.DRAFT,
    bodies.RATES,
    bodies.PICTURE,
    bodies.JOB,
    bodies.PRINT,
    bodies.COUPON,
    bodies.SHOP,
)


@cache
def openapi() -> dict[str, Any]:
    """Return the description."""
    schemas: dict[str, Any] = {"Error": _error(), "MeasuredPhoto": _measured()}
    models: list[type[BaseModel]] = [
        PhotoDocument,
        PartDocument,
        *_FIELDS,
        bodies.BundleFields,
        *bodies.ENTRIES.values(),
    ]
    for model in models:
        _add(schemas, model)
    lists = {f"/api/{name}": {"get": answer(f"The list of {name}.", {"type": "object"})} for name in choices.CHOICES}
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
            "/api/aim": {"post": _aimed()},
            "/api/preview": {"post": _preview()},
            "/api/surface": {"post": json_call("Correct a part's outline.", "CorrectedOutlineFields", "PartDocument")},
            "/api/faces": {"post": json_call("Plate other faces of measured parts.", "FacesFields")},
            "/api/notes": {"post": json_call("Tell the flags of several parts as one.", "NotesFields")},
            "/api/place": {"post": json_call("Where points of the photo lie on a part.", "PlaceFields")},
            "/api/drawing": {"post": _picture("Draw a part's surfaces with their areas.", "PictureFields")},
            "/api/plan": {"post": json_call("Plan from an area.", "PlanFields")},
            "/api/map": {"post": _picture("Draw the thickness or dose that a plan predicts.", "PlanFields")},
            "/api/lanes": {"post": _picture("Draw the lanes of the brush that a plan lays.", "PlanFields")},
            "/api/strokes": {"post": json_call("The lanes of the brush that a plan lays, to be played.", "PlanFields")},
            "/api/deposit": {"post": json_call("What a charge, or a weight gain, says.", "DepositFields")},
            "/api/quote": {"post": json_call("Price a plan.", "QuoteFields")},
            "/api/check": {"post": json_call("Check claimed figures.", "CheckFields")},
            "/api/rates": {
                "get": answer("A shop's rates to be filled in, as a settings file and as a form.", {"type": "object"}),
                "post": json_call("Rates from the form to the settings file, or back.", "RatesFields"),
            },
            "/api/sheets/{name}": {
                "get": {
                    **answer("A scale sheet to print.", {"type": "string", "format": "binary"}, "application/pdf"),
                    "parameters": [path_parameter("name", "Name of the sheet, as the list of words has it.")],
                }
            },
            "/api/shop": _shop(),
            "/api/shop/rates": _shop_rates(),
            "/api/invite": {"get": answer("The one-time link for the next device, and its code.", {"type": "object"})},
            "/api/about": {"get": answer("Version and limits.", {"type": "object"})},
            **lists,
            **record_paths(),
        },
        "components": {"schemas": schemas},
    }


def _shop() -> dict[str, Any]:
    named = query("profile", "Name of the profile; that which holds where it is left out.", {"type": "string"})
    return {
        "get": {**answer("The shop profile, and what each entry means.", {"type": "object"}), "parameters": [named]},
        "put": {**json_call("Keep the shop profile.", "ShopFields"), "parameters": [named]},
    }


def _shop_rates() -> dict[str, Any]:
    named = query("profile", "Name of the profile; that which holds where it is left out.", {"type": "string"})
    return {
        "get": {**answer("The rates that the profile names, as values.", {"type": "object"}), "parameters": [named]},
        "put": {**json_call("Keep rates, and name them in the profile.", "RatesFields"), "parameters": [named]},
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


def _aimed() -> dict[str, Any]:
    call = photo_call("Judge a small frame of a camera while somebody aims.", [], "Error")
    return {**call, "responses": answer("", {"type": "object"})["responses"]}


def _preview() -> dict[str, Any]:
    parameters = [query("longest_px", "Longer side of the answer.", {"type": "integer", "default": 2400})]
    image = {"type": "string", "format": "binary"}
    call = photo_call("Return a photo as an upright JPEG.", parameters, "Error")
    return {**call, "responses": answer("", image, "image/jpeg")["responses"]}


def _picture(summary: str, fields: str) -> dict[str, Any]:
    call = json_call(summary, fields)
    return {**call, "responses": answer("", {"type": "string"}, "image/svg+xml")["responses"]}
