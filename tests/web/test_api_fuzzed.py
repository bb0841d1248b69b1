"""Whatever is sent to the API, it answers as its own description says, and never with a fault of its own."""

from __future__ import annotations

import tempfile
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, settings

from areakit.service.desk import Desk
from areakit.web.app import make_app
from areakit.web.settings import Address

schemathesis = pytest.importorskip("schemathesis", reason="schemathesis is not installed")
from schemathesis import checks as known  # noqa: E402

HOST = {"host": "127.0.0.1:80"}
FOLDER = tempfile.TemporaryDirectory()
CHECKS = [
    schemathesis.checks.not_a_server_error,
    known.status_code_conformance,
    known.content_type_conformance,
    known.response_schema_conformance,
]


def desk(who: str | None) -> Desk:
    return Desk(path=Path(FOLDER.name) / "shop.sqlite", who=who or "bench", now=datetime.now().astimezone())


app = make_app(address=Address(port=80), desk=desk)
schema = schemathesis.openapi.from_asgi("/api/openapi.json", app, headers=HOST)


@schema.parametrize()
@settings(
    max_examples=6, deadline=None, derandomize=True, database=None, phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)  # fmt: skip
def test_an_answer_is_as_described(case: Any) -> None:
    case.headers = {**(case.headers or {}), **HOST}
    case.call_and_validate(checks=CHECKS)
