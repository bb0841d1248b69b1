"""Whatever is sent to the API, it answers as its own description says, and never with a fault of its own.

A few requests a path are in the fast tests. ``AREAKIT_EXAMPLES=480 pytest tests/web/test_api_fuzzed.py -s`` sends more
than ten thousand, other ones on each run, and prints how many of each answer came back.
"""

from __future__ import annotations

import os
import tempfile
from collections import Counter
from collections.abc import Iterator
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


_MANY = os.environ.get("AREAKIT_EXAMPLES")
ANSWERS: Counter[int] = Counter()
app = make_app(address=Address(port=80), desk=desk)
schema = schemathesis.openapi.from_asgi("/api/openapi.json", app, headers=HOST)


@pytest.fixture(scope="module", autouse=True)
def told() -> Iterator[None]:
    """Print the answers when all are there, and look that none of them left a file behind."""
    before = set(os.listdir(tempfile.gettempdir()))
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("AREAKIT_SHOPS", str(Path(FOLDER.name) / "shops"))
        yield
    print(
        f"\n{ANSWERS.total()} requests: "
        + ", ".join(f"{times} x {status}" for status, times in sorted(ANSWERS.items()))
    )
    left = {name for name in set(os.listdir(tempfile.gettempdir())) - before if name.startswith("tmp")}
    assert _MANY is None or not left


@pytest.mark.thorough
@schema.parametrize()
@settings(
    max_examples=int(_MANY or 6), deadline=None, derandomize=_MANY is None, database=None,
    phases=[Phase.explicit, Phase.generate], suppress_health_check=list(HealthCheck),
)  # fmt: skip
def test_an_answer_is_as_described(case: Any) -> None:
    case.headers = {**(case.headers or {}), **HOST}
    answer = case.call_and_validate(checks=CHECKS)
    ANSWERS[answer.status_code] += 1
