"""The calls that take the fields of one request as JSON: each is said once, for its route and for its description."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import KW_ONLY, dataclass
from typing import Any

from pydantic import BaseModel
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from areakit.costing.words import headline
from areakit.records.check_json import verdict_json
from areakit.records.plan_json import plan_json
from areakit.records.quote_json import quote_json
from areakit.service.check import CheckRequest, check
from areakit.service.correct import CorrectRequest, PlaceRequest, correct, places_mm
from areakit.service.deposit import DepositRequest, deposit, deposit_as_json
from areakit.service.faces import FacesRequest, with_faces
from areakit.service.picture import PictureRequest, part_picture
from areakit.service.plan import pictured, plan
from areakit.service.plan_request import PlanRequest
from areakit.service.quote import QuoteRequest, quote
from areakit.web import bodies
from areakit.web.bench import fields_of, figures, journal_of
from areakit.web.openapi_calls import answer, json_call

SVG = "image/svg+xml"


@dataclass(frozen=True, slots=True)
class Call:
    """``POST /api/PATH``: the fields of a request in; out comes JSON, or a picture as SVG text.

    ``answered`` is the schema of the JSON, where it has one.
    """

    path: str
    request: type
    summary: str
    _: KW_ONLY
    answer: Callable[[Any], Any]
    picture: bool = False
    answered: str | None = None

    @property
    def model(self) -> type[BaseModel]:
        """The model that checks the fields."""
        return bodies.model_of(self.request)

    @property
    def route(self) -> Route:
        """The route that answers it; a plan asks the journal of this server for own factors."""

        async def answer_it(request: Request) -> Response:
            fields = await fields_of(request, self.model)
            if self.request is PlanRequest:
                fields["journal"] = journal_of(request)
            found = await figures(request, lambda: self.answer(self.request(**fields)))
            return Response(found, media_type=SVG) if self.picture else JSONResponse(found)

        return Route(f"/api/{self.path}", answer_it, methods=["POST"])

    @property
    def described(self) -> dict[str, Any]:
        """The call as OpenAPI describes it."""
        call = json_call(self.summary, self.model.__name__, self.answered)
        drawn = answer("", {"type": "string"}, SVG)["responses"]
        return {**call, "responses": drawn} if self.picture else call


def _quoted(asked: QuoteRequest) -> dict[str, Any]:
    found = quote(asked)
    return quote_json(found.quote, found.part)


def _checked(asked: CheckRequest) -> dict[str, Any]:
    return {"verdicts": [{**verdict_json(one), "headline": headline(one)} for one in check(asked)]}


CALLS = (
    Call("surface", CorrectRequest, "Correct a part's outline.", answer=correct, answered="PartDocument"),
    Call(
        "faces", FacesRequest, "Plate other faces of measured parts.",
        answer=lambda asked: {"parts": with_faces(asked)},
    ),
    Call(
        "place", PlaceRequest, "Where points of the photo lie on a part.",
        answer=lambda asked: {"points_mm": places_mm(asked)},
    ),
    Call("drawing", PictureRequest, "Draw a part's surfaces with their areas.", answer=part_picture, picture=True),
    Call("plan", PlanRequest, "Plan from an area.", answer=lambda asked: plan_json(plan(asked))),
    Call(
        "map", PlanRequest, "Draw the thickness or dose that a plan predicts.",
        answer=lambda asked: pictured(asked, "map"), picture=True,
    ),
    Call(
        "lanes", PlanRequest, "Draw the lanes of the brush that a plan lays.",
        answer=lambda asked: pictured(asked, "lanes"), picture=True,
    ),
    Call(
        "strokes", PlanRequest, "The lanes of the brush that a plan lays, to be played.",
        answer=lambda asked: pictured(asked, "strokes"),
    ),
    Call(
        "deposit", DepositRequest, "What a charge, or a weight gain, says.",
        answer=lambda asked: deposit_as_json(deposit(asked)),
    ),
    Call("quote", QuoteRequest, "Price a plan.", answer=_quoted),
    Call("check", CheckRequest, "Check claimed figures.", answer=_checked),
)  # fmt: skip
