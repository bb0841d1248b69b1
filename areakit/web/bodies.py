"""Fields of the JSON that the API takes: those of the service's requests, strict and without strangers."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Mapping
from typing import Any, get_type_hints

from pydantic import BaseModel, ConfigDict, create_model

from areakit.service.check import CheckRequest
from areakit.service.correct import CorrectRequest
from areakit.service.part_picture import PictureRequest
from areakit.service.plan import PlanRequest
from areakit.service.quote import QuoteRequest

_STRICT = ConfigDict(extra="forbid", strict=True)
_DOCUMENT = str | dict[str, Any]
"""What another call returned: as JSON text, or as the object itself."""


def _model(name: str, request: type, documents: tuple[str, ...], left_out: tuple[str, ...] = ()) -> type[BaseModel]:
    """Return the model of a request's fields; ``documents`` may come as text or as an object."""
    hints = get_type_hints(request)
    fields: dict[str, Any] = {}
    for one in dataclasses.fields(request):
        if one.name in left_out:
            continue
        kind: Any = hints[one.name]
        needed = one.default is dataclasses.MISSING and one.default_factory is dataclasses.MISSING
        if one.name in documents:
            kind = _DOCUMENT if needed else _DOCUMENT | None
        default = one.default if one.default_factory is dataclasses.MISSING else one.default_factory()
        fields[one.name] = (kind, ... if needed else default)
    made: type[BaseModel] = create_model(name, __config__=_STRICT, **fields)
    return made


PLAN = _model("PlanFields", PlanRequest, ("measured",))
QUOTE = _model("QuoteFields", QuoteRequest, ("plan", "part"), left_out=("quoted_on",))
CHECK = _model("CheckFields", CheckRequest, ("part",))
PICTURE = _model("PictureFields", PictureRequest, ())
SURFACE = _model("CorrectedOutlineFields", CorrectRequest, ())


def read(model: type[BaseModel], body: bytes, documents: tuple[str, ...] = ()) -> Mapping[str, Any]:
    """Return the fields of a body that were given, documents as JSON text.

    Raises
    ------
    pydantic.ValidationError
        For a field that is unknown, missing or of another type.
    """
    fields = model.model_validate_json(body)
    given = {name: getattr(fields, name) for name in fields.model_fields_set}
    return {name: _text(value) if name in documents else value for name, value in given.items()}


def _text(value: Any) -> Any:
    return json.dumps(value, ensure_ascii=False) if isinstance(value, dict) else value
