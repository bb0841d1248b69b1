"""Pieces of an OpenAPI description: a call, its body, its answers."""

from __future__ import annotations

from typing import Any

REF = "#/components/schemas/{model}"
_ERRORS = {
    "401": "No pass (with --lan).",
    "403": "Another host or another page.",
    "404": "There is nothing there, or no journal is kept.",
    "408": "The upload took too long.",
    "409": "The store of jobs refuses.",
    "413": "Too many bytes or pixels.",
    "422": "Wrong input, or no trustworthy number: message and remedy say what to do.",
    "503": "Too much is under way; try again after Retry-After seconds.",
}


def photo_call(summary: str, parameters: list[dict[str, Any]], answered: str) -> dict[str, Any]:
    """Return a call whose body is a photo."""
    photo = {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}}
    return {
        **answer(summary, {"$ref": REF.format(model=answered)}),
        "parameters": parameters,
        "requestBody": {"required": True, "description": "The bytes of the photo file.", "content": photo},
    }


def query(name: str, description: str, schema: dict[str, Any]) -> dict[str, Any]:
    """Return a parameter of the query."""
    return {"name": name, "in": "query", "required": False, "description": description, "schema": schema}


def path_parameter(name: str, description: str) -> dict[str, Any]:
    """Return a parameter that stands in the path."""
    text = {"type": "string", "minLength": 1}
    return {"name": name, "in": "path", "required": True, "description": description, "schema": text}


def answer(summary: str, schema: dict[str, Any], *media: str) -> dict[str, Any]:
    """Return a call with its answers; JSON unless other ``media`` are named."""
    error = {"application/json": {"schema": {"$ref": REF.format(model="Error")}}}
    refused = {status: {"description": words, "content": error} for status, words in _ERRORS.items()}
    done = {"description": "Done.", "content": {one: {"schema": schema} for one in media or ("application/json",)}}
    return {"summary": summary, "responses": {"200": done, **refused}}


def json_call(summary: str, fields: str, answered: str | None = None) -> dict[str, Any]:
    """Return a call whose body holds the fields of a model."""
    schema = {"$ref": REF.format(model=answered)} if answered else {"type": "object"}
    body = {"application/json": {"schema": {"$ref": REF.format(model=fields)}}}
    return {**answer(summary, schema), "requestBody": {"required": True, "content": body}}
