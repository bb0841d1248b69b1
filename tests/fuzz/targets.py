"""Every reader of areakit by name: what is broken for it, and how it is asked."""

from __future__ import annotations

import asyncio
import hashlib
import json
import random
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from areakit.errors import AreakitError
from tests.fuzz import photo_seeds as photo
from tests.fuzz import text_seeds as text

Random = random.Random
OK = "answer"

_SVG_WORDS = (
    b"<g>",
    b"</g>",
    b"<use href='#a'/>",
    b"<path d='M0 0",
    b"A1 1 0 1 1",
    b"&e;",
    b"<!DOCTYPE",
    b"1e400mm",
    b"%",
    b"NaN",
)
_DXF_WORDS = (
    b"\n0\nINSERT\n",
    b"\n0\nLINE\n",
    b"\n0\nENDSEC\n",
    b"\n70\n99999\n",
    b"\n40\n1e300\n",
    b"\n0\nEOF\n",
    b"\n999\n",
)
_PDF_WORDS = (
    b"/F Do ",
    b"obj",
    b"endobj",
    b"stream\n",
    b"/Filter/FlateDecode",
    b"1 0 R",
    b"<<",
    b">>",
    b" q ",
    b" cm ",
    b"/Encrypt",
)
_JSON_WORDS = (
    b"null",
    b"true",
    b"[]",
    b"{}",
    b'""',
    b"1e999",
    b"NaN",
    b"-Infinity",
    b'"\\ud800"',
    b'"\\u0000"',
    b"9" * 400,
)
_TOML_WORDS = (
    b"[a]",
    b"[[a]]",
    b"=",
    b"'''",
    b'"""',
    b"1979-05-27",
    b"inf",
    b"nan",
    b"{}",
    b"\xef\xbb\xbf",
    b"a.b.c=1",
)
_CSV_WORDS = (b",,,", b";", b'"', b"\t", b"\r", b"\x00", b"=1+1", b"\xef\xbb\xbf", b"mass,", b"1 000,5 mm")
_HTTP_WORDS = (*_JSON_WORDS, b"%00", b"..", b"%2e%2e%2f", b"\r\nX: y")
_WKT_WORDS = (b"EMPTY", b"POLYGON", b"Z M", b"((", b"))", b"nan", b"1e400", b",", b"MULTISURFACE(")


@dataclass(frozen=True, slots=True, kw_only=True)
class Reader:
    """One reader: sound inputs, words of its format, bombs, and a call that answers or raises an AreakitError.

    ``seconds`` is the processor time that one case may take.
    """

    seeds: Callable[[], Sequence[bytes]]
    read: Callable[[bytes], Any]
    tokens: Sequence[bytes] = ()
    bombs: Sequence[Callable[[Random], bytes]] = ()
    seconds: float = 2.0
    warm: bool = True


def read_photo(data: bytes) -> None:
    from areakit.imaging.photo import read_photo as read

    found = read(data)
    assert found.pixels.ndim == 3
    assert found.pixels.shape[2] == 3


def measure(data: bytes) -> str:
    """Return what a broken copy gives: nothing may be told apart from the sound photo beyond its own uncertainty."""
    from areakit.service.measure import MeasureRequest, measure_bytes

    request = MeasureRequest(thickness="1.2 mm", check_lengths="150.1 x 90 mm")
    if not _SOUND:
        sound = measure_bytes(photo.measured(), request, name="sound")
        _SOUND.append(sound.parts[0].surface.face.value)
    found = measure_bytes(data, request, name="broken")
    if found.error is not None:
        raise found.error
    areas = [part.surface.face for part in found.parts]
    right = len(areas) == 1 and abs(areas[0].value - _SOUND[0]) <= areas[0].expanded_uncertainty
    return OK if right else "other area"


_SOUND: list[float] = []


def drawing(name: str) -> Callable[[bytes], None]:
    def read(data: bytes) -> None:
        from areakit.geometry.drawing import read_drawing

        read_drawing(data, name, unit="mm")

    return read


def _plain(data: bytes) -> str:
    return data.decode("utf-8", "replace")


def solutions(data: bytes) -> None:
    from areakit.plating.solutions import read_solutions

    read_solutions(_plain(data))


def rates(data: bytes) -> None:
    from areakit.costing.rates import read_rates

    read_rates(_plain(data))


def processes(data: bytes) -> None:
    from areakit.service.plan import PlanRequest, plan

    plan(PlanRequest(**{**text.plan_request(), "processes": _plain(data), "process": "own"}))  # type: ignore[arg-type]


def claims(data: bytes) -> None:
    from areakit.service.check import CheckRequest, check

    check(CheckRequest(file=_plain(data)))


def measured_json(data: bytes) -> None:
    from areakit.records.measured_parts import read_measured_parts
    from areakit.service.plan import PlanRequest, plan

    request = {**text.plan_request(), "area": None, "footprint": None, "measured": _plain(data)}
    plan(PlanRequest(**request))  # type: ignore[arg-type]
    read_measured_parts(_plain(data))


def planned_json(data: bytes) -> None:
    from areakit.service.quote import QuoteRequest, quote

    prices = {"gold": "75 EUR/g"}
    request = QuoteRequest(
        plan=_plain(data), rates=text.rates().decode(), faces="all", metal_prices=prices, price_date="2024-01-02"
    )
    quote(request)


def journal_export(data: bytes) -> None:
    from areakit.records.exchange import read_export

    read_export(_plain(data))


def batch_log(data: bytes) -> None:
    from areakit.records.batch_log import BatchLog
    from areakit.records.batch_table import summary_csv

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "results.jsonl"
        path.write_bytes(data)
        summary_csv(BatchLog(path).rows())


def http(data: bytes) -> None:
    """Send one broken request through the whole application, without a socket."""
    status, body = asyncio.run(_ask(data))
    assert status < 500, f"HTTP {status}"
    if status >= 400:
        told = json.loads(body)
        assert {"code", "message", "remedy"} <= set(told)
        assert "Traceback" not in told["message"]
        raise AreakitError(told["message"], remedy=told["remedy"])


def correction(data: bytes) -> None:
    """Send one broken correction of an outline, or the same as a point to be placed."""
    path = b"place" if data.count(b"points_px") else b"surface"
    http(b"POST /api/" + path + b"\n" + _HOST + b"\n" + data)


async def _ask(data: bytes) -> tuple[int, bytes]:
    from areakit.web.app import make_app
    from areakit.web.settings import Address

    head, _, body = data.partition(b"\n\n")
    first, *rows = head.split(b"\n")
    method, _, target = first.partition(b" ")
    path, _, query = target.partition(b"?")
    headers = [(name.strip().lower(), value.strip()) for name, _, value in (row.partition(b":") for row in rows)]
    scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method.decode("latin-1") or "GET",
        "scheme": "http", "path": path.decode("latin-1") or "/", "raw_path": path, "query_string": query,
        "root_path": "", "headers": headers, "client": ("127.0.0.1", 50_000), "server": ("127.0.0.1", 8137),
    }  # fmt: skip
    if not _APP:
        _APP.append(make_app(address=Address(port=8137)))
    status, answer, sent = 0, b"", False

    async def receive() -> dict[str, Any]:
        nonlocal sent
        if sent:
            return {"type": "http.disconnect"}
        sent = True
        return {"type": "http.request", "body": body, "more_body": False}

    async def send(message: Any) -> None:
        nonlocal status, answer
        status = message.get("status", status)
        answer += message.get("body", b"")

    await _APP[0](scope, receive, send)
    return status, answer


_APP: list[Any] = []
_HOST = b"host: 127.0.0.1:8137\ncontent-type: application/json\n"


def _corrections() -> list[bytes]:
    moved = json.loads(text.correction())
    placed = {name: moved[name] for name in ("part", "before_px", "camera")} | {"points_px": [[1900.0, 1450.0]]}
    return [json.dumps(body).encode() for body in (moved, placed)]


def _requests() -> list[bytes]:
    bodies = {
        b"plan": json.dumps(text.plan_request()).encode(),
        b"check": b'{"claims": {"metal": "gold", "area": "12.5 cm2", "thickness": "0.5 um", "mass": "12.06 mg"}}',
        b"quote": b'{"plan": ' + text.planned_json() + b', "rates": ""}',
    }
    posts = [b"POST /api/%s HTTP\n%s\n" % (name, _HOST) + b"\n" + body for name, body in bodies.items()]
    gets = [
        b"GET %s HTTP\n%s\n\n" % (path, _HOST)
        for path in (b"/", b"/api/about", b"/static/main.js", b"/api/baths", b"/enter?key=x")
    ]
    query = b"thickness=1.2%20mm&faces=all&mark=coin:eur-1&hole=1,2&name=x.jpg"
    photo_post = b"POST /api/measure?%s HTTP\n%s\n\n" % (query, _HOST) + b"\xff\xd8\xff\xe0" + bytes(300)
    return [one.replace(b" HTTP\n", b"\n") for one in (*posts, *gets, photo_post)]


def _log() -> bytes:
    from areakit.records.batch_log import SCHEMA, BatchRow

    answer = json.loads(text.measured_json())
    row = {
        "photo": "x.jpg",
        "sha256": "0" * 64,
        "settings": "0" * 64,
        "overlay": "x-overlay.jpg",
        "exit_code": 0,
        "pieces": 1,
    }
    body = {"schema": SCHEMA, **row, "answer": {"photo": "x.jpg", "status": "measured", **answer}}
    assert set(body) == {"schema", *BatchRow.__dataclass_fields__}
    return json.dumps(body).encode() + b"\n"


def _export() -> list[bytes]:
    from areakit.records.event import Event, digest_of, event_json, to_row
    from areakit.records.exchange import to_csv

    event = {"id": "1", "subject": "job", "key": "J1", "sequence": 1, "at": "2024-01-01T00:00:00+00:00", "who": "me",
             "kind": "new", "doc": {"title": "x"}, "previous": ""}  # fmt: skip
    made = Event(**event, digest="")  # type: ignore[arg-type]
    sound = replace(made, digest=digest_of(to_row(made)[:-1]))
    content = {"sha256": hashlib.sha256(bytes(3)).hexdigest(), "name": "x", "media": "y", "base64": "AAAA"}
    lines = [{"schema": "areakit.journal/1"}, {"file": content}, {"event": event_json(sound)}]
    return ["\n".join(map(json.dumps, lines)).encode(), to_csv([sound]).encode()]


PROCESS = b"""[processes.own]
title = "Own"
method = "brush"
steps = ["degrease", "rinse", "activate", "rinse", "plate-nickel", "rinse", "strike-gold", "plate-gold", "inspect"]
"""

READERS: dict[str, Reader] = {
    "photo": Reader(seeds=photo.photos, read=read_photo, bombs=photo.BOMBS),
    "HEIC": Reader(seeds=photo.heics, read=read_photo),
    "measured photo": Reader(seeds=lambda: [photo.measured()], read=measure, seconds=10.0),
    "SVG": Reader(
        seeds=lambda: [text.SVG], read=drawing("svg"), tokens=_SVG_WORDS,
        bombs=(text.nested_svg, text.entities_svg, text.using_svg, text.long_svg),
    ),
    "DXF": Reader(seeds=lambda: [text.dxf()], read=drawing("dxf"), tokens=_DXF_WORDS, bombs=(text.long_dxf,)),
    "PDF": Reader(seeds=text.pdfs, read=drawing("pdf"), tokens=_PDF_WORDS, bombs=(text.folded_pdf,)),
    "GeoJSON": Reader(seeds=lambda: [text.GEOJSON], read=drawing("geojson"), tokens=_JSON_WORDS, bombs=(text.nested,)),
    "WKT": Reader(seeds=lambda: [text.WKT], read=drawing("wkt"), tokens=_WKT_WORDS, bombs=(text.wide_wkt,)),
    "solutions TOML": Reader(
        seeds=lambda: [text.SOLUTIONS], read=solutions, tokens=_TOML_WORDS, bombs=(text.nested_toml,)
    ),
    "rates TOML": Reader(seeds=lambda: [text.rates()], read=rates, tokens=_TOML_WORDS, bombs=(text.nested_toml,)),
    "process TOML": Reader(seeds=lambda: [PROCESS], read=processes, tokens=_TOML_WORDS, bombs=(text.nested_toml,)),
    "claims CSV": Reader(
        seeds=lambda: [text.CLAIMS_CSV, text.CLAIMS_JSON], read=claims, tokens=(*_CSV_WORDS, *_JSON_WORDS),
        bombs=(text.long_csv, text.nested),
    ),
    "measured JSON": Reader(
        seeds=lambda: [text.measured_json()], read=measured_json, tokens=_JSON_WORDS, bombs=(text.nested,)
    ),
    "corrected outline": Reader(
        seeds=_corrections, read=correction, tokens=_JSON_WORDS, bombs=(text.nested,)
    ),
    "plan JSON": Reader(
        seeds=lambda: [text.planned_json()], read=planned_json, tokens=_JSON_WORDS, bombs=(text.nested,)
    ),
    "journal export": Reader(
        seeds=_export, read=journal_export, tokens=(*_JSON_WORDS, *_CSV_WORDS), bombs=(text.nested, text.long_csv)
    ),
    "batch log": Reader(seeds=lambda: [_log()], read=batch_log, tokens=_JSON_WORDS, bombs=(text.nested,)),
    "HTTP": Reader(seeds=_requests, read=http, tokens=_HTTP_WORDS, bombs=(text.nested,)),
}  # fmt: skip
