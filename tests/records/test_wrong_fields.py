"""Wrong fields are named in plain words: what each has to be, and none of the words of the library that finds them."""

import json
import random
from typing import Any

import pytest
from pydantic import BaseModel, ValidationError

from areakit.errors import InputError
from areakit.records import bottles, entries
from areakit.records.wrong_fields import wrong_fields
from areakit.service.plan_request import PlanRequest
from areakit.service.quote_request import QuoteRequest
from areakit.web import bodies
from areakit.web.calls import CALLS

DAY = "2026-03-14"


@pytest.mark.parametrize(
    ("kind", "doc", "said"),
    [
        ("opened", {}, "date is missing; part is missing"),
        ("opened", {"date": DAY, "part": "a", "frob": 1}, "frob is not known"),
        ("opened", {"date": "soon", "part": "a"}, "date must be a date such as 2026-03-14"),
        ("opened", {"date": DAY, "part": ""}, "part must have at least 1 letter"),
        ("opened", {"date": DAY, "part": "a" * 201}, "part must have at most 200 letters"),
        ("opened", {"date": DAY, "part": 5}, "part must be text"),
        ("opened", {"date": DAY, "part": "a", "quantity": 0}, "quantity must be at least 1"),
        ("opened", {"date": DAY, "part": "a", "quantity": 1.5}, "quantity must be a whole number"),
        ("step", {"title": "a", "at": "noon"}, "at must be a time such as 2026-03-14T09:30:00+01:00"),
        ("weighed", {"when": "now", "mass": 3}, "when must be 'before' or 'after'; mass must be an object"),
        ("weighed", {"when": "after", "mass": {"value": 1, "unit": "furlong"}},
         "mass cannot be taken, for a quantity in the JSON lacks its value, budget or a known unit"),
        ("tested", {"method": "a", "result": "pass", "place_mm": [1, 2, 3]}, "place_mm must have at most 2 items"),
        ("signed", {"statement": "a", "open_points": "x"}, "open_points must be a list"),
        ("photographed", {"sha256": "z", "name": "a", "media": "b"}, "sha256 must be a SHA-256 hash in 64 letters"),
    ],
)  # fmt: skip
def test_a_wrong_field_of_an_entry_is_named_with_what_it_has_to_be(kind: str, doc: dict[str, Any], said: str) -> None:
    with pytest.raises(InputError) as told:
        entries.checked(kind, doc)
    assert told.value.message == f"This entry ({kind}) cannot be kept: {said}."


def told_of(model: type[BaseModel], body: bytes) -> list[str]:
    try:
        bodies.read(model, body)
    except ValidationError as error:
        return wrong_fields(error, whole="the body")
    return []


def test_a_field_of_several_kinds_is_told_once() -> None:
    assert told_of(bodies.model_of(QuoteRequest), b'{"plan":5,"rates":"x"}') == ["plan must be text or an object"]
    assert told_of(bodies.model_of(QuoteRequest), b'{"plan":"{}","rates":"x"}') == []
    assert told_of(bodies.model_of(PlanRequest), b'{"layers":{"gold":5}}')[-1] == "layers.gold must be text"
    assert told_of(bodies.model_of(PlanRequest), b"{") == ["the body is not JSON"]
    assert told_of(bodies.model_of(PlanRequest), b"[]") == ["the body must be an object"]


LIBRARY = ("input", "field required", "extra", "valid ", "type=", "pydantic", "as it is")
ODD = ("", "x" * 5000, 0, -1, 1e300, 1.5, True, None, [], [1], {}, {"value": 1}, "2026-03-14", "nan", [[1, 2], "x"])


@pytest.mark.parametrize("seed", range(50))
def test_no_word_of_the_library_comes_through(seed: int) -> None:
    """Every model, every field filled with something odd: each phrase names a field and what it has to be."""
    rng = random.Random(seed)
    models = [*entries.KINDS.values(), *bottles.KINDS.values(), *bodies.ENTRIES.values(),
              *(call.model for call in CALLS), bodies.BundleFields, bodies.SHOP, bodies.RATES]  # fmt: skip
    for model in models:
        body = {name: rng.choice(ODD) for name in [*model.model_fields, "stranger"] if rng.random() < 0.8}
        for phrase in told_of(model, json.dumps(body).encode()):
            words = phrase.lower()
            assert not any(word in words.partition(" ")[2] for word in LIBRARY), phrase
            assert any(word in words for word in ("must ", "is missing", "is not known", "cannot be taken, for")), (
                phrase
            )
