"""Fields of the JSON that the API takes: those of the service's requests, strict and without strangers."""

from __future__ import annotations

import dataclasses
import json
from functools import cache
from typing import Annotated, Any, Literal, get_type_hints

from pydantic import AfterValidator, BaseModel, ConfigDict, create_model

from areakit.service.asked import asked_of
from areakit.service.correct import CorrectRequest
from areakit.service.job_entries import KINDS
from areakit.service.record_requests import NewCopyCheck, NewCoupon, NewJob, ReadingRequest, StepRequest

_STRICT = ConfigDict(extra="forbid", strict=True)


def _text(value: Any) -> Any:
    return json.dumps(value, ensure_ascii=False) if isinstance(value, dict) else value


_DOCUMENT = Annotated[str | dict[str, Any], AfterValidator(_text)]
"""What another call returned: as JSON text, or as the object itself, which is made text."""


def _model(name: str, request: type, **more: Any) -> type[BaseModel]:
    """Return the model of a request's fields with what it says of them; documents may come as text or as an object."""
    asked = asked_of(request)
    hints = {name: one.base for name, one in asked.items()} or get_type_hints(request)
    fields: dict[str, Any] = dict(more)
    for one in dataclasses.fields(request):
        about = asked[one.name].about if one.name in asked else None
        if one.name not in hints or (about is not None and about.local):
            continue
        kind: Any = hints[one.name]
        needed = one.default is dataclasses.MISSING and one.default_factory is dataclasses.MISSING
        if dataclasses.is_dataclass(kind) and isinstance(kind, type):
            kind = _nested(kind)
        if about is not None and about.document:
            kind = _DOCUMENT if needed else _DOCUMENT | None
        default = one.default if one.default_factory is dataclasses.MISSING else one.default_factory()
        fields[one.name] = (Annotated[kind, about] if about else kind, ... if needed else default)
    made: type[BaseModel] = create_model(name, __config__=_STRICT, __doc__=request.__doc__, **fields)
    return made


def _nested(kind: type) -> Any:
    """Return a field that holds another request: its fields are checked like the others, then made that request."""
    model = _model(f"{kind.__name__}Fields", kind)

    def made(fields: BaseModel | Any) -> Any:
        return kind(**{name: getattr(fields, name) for name in fields.model_fields_set})

    return Annotated[model, AfterValidator(made)]


_AFTER = (int | None, None)
"""The last entry that the author has seen; 409 if there is a later one."""
_OBJECT = (dict[str, Any], ...)


@cache
def model_of(request: type) -> type[BaseModel]:
    """Return the model of a request's fields; it is named after the request."""
    name = "CorrectedOutlineFields" if request is CorrectRequest else request.__name__.replace("Request", "Fields")
    return _model(name, request)


NOTES = create_model("NotesFields", __config__=_STRICT, flags=(list[dict[str, Any]], ...))
JOB = _model("JobFields", NewJob)
PRINT = _model("CopyFields", NewCopyCheck)
COUPON = _model("CouponFields", NewCoupon)
SHOP = create_model(
    "ShopFields",
    __config__=_STRICT,
    title=(str | None, None),
    invented=(bool, False),
    values=(dict[str, dict[str, Any]] | None, None),
    text=(str | None, None),
)
DRAFT = create_model("DraftFields", __config__=_STRICT, document=_OBJECT)
RATES = create_model("RatesFields", __config__=_STRICT, values=(dict[str, str] | None, None), text=(str | None, None))


def _document(kind: str, what: str, **more: Any) -> type[BaseModel]:
    made: type[BaseModel] = create_model(f"{kind}Fields", __config__=_STRICT, __doc__=what, document=_OBJECT, **more)
    return made


DOCUMENTS: dict[str, type[BaseModel]] = {
    "measured": _document("Measured", "A measurement to keep.", part=(int, 1)),
    "planned": _document("Planned", "A plan to keep."),
    "quoted": _document("Quoted", "A quote to keep."),
}
"""Entries that hold what another call returned."""


class BundledFields(BaseModel):
    """One of several entries that are kept in one write: a document, or a photo by its name and bytes."""

    model_config = _STRICT
    kind: Literal["photographed", "measured", "planned", "quoted"]
    document: dict[str, Any] | None = None
    part: int = 1
    name: str = ""
    base64: str = ""


class BundleFields(BaseModel):
    """Entries that go in as one write; 409 if there is a later one than ``after``."""

    model_config = _STRICT
    entries: list[BundledFields]
    after: int | None = None


ENTRIES: dict[str, type[BaseModel]] = {
    **DOCUMENTS,
    "step": _model("StepFields", StepRequest),
    "reading": _model("ReadingFields", ReadingRequest),
    **{kind: _model(f"{kind.capitalize()}Fields", request, after=_AFTER) for kind, request in KINDS.items()},
}


def read(model: type[BaseModel], body: bytes) -> dict[str, Any]:
    """Return the fields of a body that were given.

    pydantic.ValidationError for a field that is unknown, missing or of another type.
    """
    fields = model.model_validate_json(body)
    return {name: getattr(fields, name) for name in fields.model_fields_set}
