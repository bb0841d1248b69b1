"""What all requests share: the limits, the places for work, the desk that keeps records; and how a body is read."""

from __future__ import annotations

import logging
import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import PurePosixPath, PureWindowsPath
from typing import Any

from starlette.requests import Request

from areakit.errors import InputError, RecordError
from areakit.imaging.lens import Lens
from areakit.service.desk import Desk
from areakit.service.draft import Drafts
from areakit.service.lens import stored_lenses
from areakit.service.plan_factors import NONE
from areakit.web import bodies
from areakit.web.alarm import Alarm
from areakit.web.answers import Refusal
from areakit.web.settings import Limits
from areakit.web.work import Room, read_body, work

logger = logging.getLogger(__name__)

DeskOf = Callable[[str | None], Desk]
"""Returns the desk at this moment for the name of who writes; None is whoever runs the server."""
_NAME_LENGTH = 60
KEY_HEADER = "idempotency-key"
"""A request sent again with its key is answered, and writes nothing (named as in the IETF draft of that header)."""


@dataclass(slots=True)
class Bench:
    """The limits, and the places for work; ``desk`` is None where no journal is kept, ``alarm`` where nothing rings."""

    limits: Limits
    desk: DeskOf | None = None
    alarm: Alarm | None = None
    photos: Room = field(init=False)
    figures: Room = field(init=False)
    arriving: Room = field(init=False)

    def __post_init__(self) -> None:
        self.photos = Room(self.limits.at_once, what="measurements")
        self.figures = Room(4 * self.limits.at_once, what="calculations")
        self.arriving = Room(self.limits.receiving_at_once, what="uploads")


def bench_of(request: Request) -> Bench:
    """Return the bench of the server."""
    found: Bench = request.app.state.bench
    return found


def desk_of(request: Request) -> Desk:
    """Return the desk of the person named in the query, at this moment.

    Raises
    ------
    Refusal
        If this server keeps no journal.
    """
    desk = bench_of(request).desk
    if desk is None:
        raise Refusal(404, code="NO_JOURNAL", message="This server keeps no journal.", remedy="Start areakit serve.")
    who = "".join(letter for letter in request.query_params.get("who", "") if letter.isprintable()).strip()
    return replace(desk(who[:_NAME_LENGTH] or None), key=request.headers.get(KEY_HEADER))


def drafts_of(request: Request) -> Drafts:
    """Return where drafts are kept: beside the journal."""
    return Drafts(folder=desk_of(request).path.parent / "drafts")


def journal_of(request: Request) -> str:
    """Return the journal that a plan asks for own factors; ``none`` where this server keeps none, or not yet."""
    desk = bench_of(request).desk
    path = None if desk is None else desk(None).path
    return str(path) if path is not None and path.is_file() else NONE


def lenses_of(bench: Bench) -> tuple[Lens, ...]:
    """Return the stored lenses at this moment; a journal that cannot be read stops no measurement."""
    if bench.desk is None:
        return ()
    try:
        return stored_lenses(bench.desk(None))
    except RecordError as error:
        logger.warning("no stored lens can be used: %s", error)
        return ()


def query_of(request: Request, names: tuple[str, ...], many: tuple[str, ...] = ()) -> dict[str, str]:
    """Return the named parameters that were given; InputError for one that is not known.

    ``many`` may be given several times, and are only checked here; ``name``, ``who``, ``draft`` and ``kept`` are always
    known.
    """
    given = {name: text for name, text in request.query_params.items() if text.strip()}
    known = ("name", "draft", "kept", *names, *many)
    strange = sorted(set(given) - {*known, "who"})
    if strange:
        raise InputError(f"There is no parameter {strange[0][:30]!r}.", remedy=f"Known: {', '.join(known)}.")
    return {name: given[name] for name in names if name in given}


def photo_name(text: str) -> str:
    """Return a name to show, without any folder and of moderate length; it is never used to open a file."""
    plain = PureWindowsPath(PurePosixPath(text).name).name
    shown = "".join(letter for letter in plain if letter.isprintable())[:120].strip()
    return shown or "photo"


async def photo_of(request: Request) -> bytes:
    """Return the photo in the body, or that which the query names as ``draft`` and ``kept``."""
    bench = bench_of(request)
    draft, kept = (request.query_params.get(name, "") for name in ("draft", "kept"))
    if draft and kept:
        drafts = drafts_of(request)
        return bytes(await figures(request, lambda: drafts.photo(draft, kept)))
    return await read_body(request, bench.arriving, bench.limits, largest=bench.limits.photo_bytes)


async def kept_beside(request: Request, digest: str | None) -> bytes | None:
    """Return another photo of the draft that the query names, by its digest; None where none was asked for.

    Raises
    ------
    InputError
        If the query names no draft.
    """
    if digest is None:
        return None
    draft = request.query_params.get("draft", "")
    if not draft:
        raise InputError(
            "A second photo is one of a draft, and no draft was named.",
            remedy="Keep both photos in one draft, and name it with draft, the first with kept, the second with side.",
        )
    drafts = drafts_of(request)
    return bytes(await figures(request, lambda: drafts.photo(draft, digest)))


async def fields_of(request: Request, model: Any, *, with_photo: bool = False) -> dict[str, Any]:
    """Return the fields of the JSON in the body; ``with_photo`` leaves room for one."""
    bench = bench_of(request)
    room = bench.limits.json_bytes + (bench.limits.photo_bytes * 4 // 3 if with_photo else 0)
    body = await read_body(request, bench.arriving, bench.limits, largest=room)
    return bodies.read(model, body)


async def figures(request: Request, run: Callable[[], Any]) -> Any:
    """Return what a calculation gives."""
    bench = bench_of(request)
    return await work(bench.figures, bench.limits.work_seconds, run)


async def timed(what: str, request: Request, run: Callable[[], Any]) -> Any:
    """Return what a measurement gives, and log how long it took."""
    bench = bench_of(request)
    started = time.monotonic()
    result = await work(bench.photos, bench.limits.work_seconds, run)
    logger.info("%s: %.2f s", what, time.monotonic() - started)
    return result
