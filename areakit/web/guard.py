"""Who may ask: Host and Origin are checked, a tablet shows its pass, and every answer carries a strict policy.

A page elsewhere could name this server (DNS rebinding) or post to it (request forgery); both are refused by Host and
Origin. In the local network a device needs a pass, which it gets once from the one-time link.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import logging
import os
import secrets
import time
from collections.abc import Callable
from pathlib import Path
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from areakit.web.answers import Refusal, wants_page
from areakit.web.entry import NO_PASS_PAGE, refusal_page
from areakit.web.settings import Address

logger = logging.getLogger(__name__)

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; connect-src 'self'; "
    "manifest-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "permissions-policy": "geolocation=(), microphone=(), camera=(self)",
}
PASS_COOKIE = "areakit_pass"
PASS_SECONDS = 86_400
"""How long a pass is good for: a day at the bench."""
MOST_DEVICES = 16
OPEN_PATHS = frozenset({"/enter", "/static/bench.css", "/static/mark.svg"})
"""What a device sees before it has a pass."""


class Passes:
    """The one-time key of the link, and the passes of the devices that used it.

    A pass is good for a day. With ``kept``, digests of the passes are kept in that file, never the passes themselves,
    so that a server that was started again knows its devices and a reading that waits on one still gets in.
    """

    def __init__(self, on_new_key: Callable[[str], None] | None = None, *, kept: Path | None = None) -> None:
        self._on_new_key = on_new_key
        self._kept = kept
        self._passes = _read_passes(kept)
        self.key = secrets.token_urlsafe(24)

    def fits(self, key: str) -> bool:
        """Tell whether a key is the one of the link that was not used yet."""
        return hmac.compare_digest(key.encode(), self.key.encode())

    def trade(self, key: str) -> str | None:
        """Return a pass for the key and make a new key; None for any other key."""
        if not self.fits(key):
            return None
        device = secrets.token_urlsafe(32)
        self._passes = dict([*self._valid().items(), (_digest(device), time.time() + PASS_SECONDS)][-MOST_DEVICES:])
        self._keep()
        self.key = secrets.token_urlsafe(24)
        if self._on_new_key is not None:
            self._on_new_key(self.key)
        return device

    def knows(self, device: str) -> bool:
        """Tell whether a pass was given out here within the last day."""
        return any(hmac.compare_digest(_digest(device), one) for one in self._valid())

    def _valid(self) -> dict[str, float]:
        return {one: until for one, until in self._passes.items() if until > time.time()}

    def _keep(self) -> None:
        """Write the digests for their owner only; where that fails, passes end with the server, as they then say."""
        if self._kept is None:
            return
        try:
            self._kept.parent.mkdir(parents=True, exist_ok=True)
            fresh = self._kept.with_name(f"{self._kept.name}.new")
            with open(os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w", encoding="ascii") as file:
                json.dump(self._passes, file)
            fresh.replace(self._kept)
        except OSError as error:
            logger.warning("passes end with this server, %s cannot be written: %s", self._kept, error)


def _digest(device: str) -> str:
    return hashlib.sha256(device.encode()).hexdigest()


def _read_passes(kept: Path | None) -> dict[str, float]:
    """Return the digests that a server before this one kept; a file that is not one of ours counts as none."""
    if kept is None:
        return {}
    try:
        found = json.loads(kept.read_text("ascii"))
        return {str(one): float(until) for one, until in found.items()}
    except (OSError, ValueError, AttributeError, TypeError):
        return {}


class Guard:
    """ASGI middleware: refuse first, then add the headers."""

    def __init__(self, app: ASGIApp, *, address: Address, passes: Passes | None) -> None:
        self.app, self.address, self.passes = app, address, passes

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        with_headers = _adding(send, HEADERS, scope["path"])
        refusal = self._refusal(scope)
        if refusal is not None:
            answer = _page(refusal) if wants_page(Headers(scope=scope)) else refusal.response()
            await answer(scope, receive, with_headers)
            return
        await self.app(scope, receive, with_headers)

    def _refusal(self, scope: Scope) -> Refusal | None:
        headers = Headers(scope=scope)
        if "content-length" in headers and "transfer-encoding" in headers:
            # RFC 9112, 6.1: another server on the way may end the request elsewhere, and read its rest as the next one.
            return Refusal(
                400,
                code="TWO_LENGTHS",
                message="The request states its length in two ways.",
                remedy="Send content-length or transfer-encoding, not both.",
                headers={"connection": "close"},
            )
        host = headers.get("host", "").lower()
        if host not in self.address.hosts:
            return Refusal(
                403,
                code="HOST",
                message=f"This server does not answer to the name {host[:60]!r}.",
                remedy=f"Open {self.address.url}, or the link that areakit serve printed.",
            )
        if not _same_origin(headers, host):
            return Refusal(
                403,
                code="ORIGIN",
                message="The request came from another page.",
                remedy=f"Use the page at {self.address.url} itself.",
            )
        if self.passes is None or scope["path"] in OPEN_PATHS or is_here(scope, host):
            return None
        if self.passes.knows(Request(scope).cookies.get(PASS_COOKIE, "")):
            return None
        return Refusal(
            401,
            code="NO_PASS",
            message="This device has no pass.",
            remedy="Open the one-time link, or scan the code, that areakit serve shows on the machine it runs on.",
        )


def _page(refusal: Refusal) -> Response:
    words = refusal.body
    page = NO_PASS_PAGE if words["code"] == "NO_PASS" else refusal_page(words["message"], words["remedy"])
    return HTMLResponse(page, refusal.status, headers=refusal.headers)


def _same_origin(headers: Headers, host: str) -> bool:
    origin = headers.get("origin")
    if origin is not None and _place_of(origin) != host:
        return False
    return headers.get("sec-fetch-site", "same-origin") in {"same-origin", "none"} or _is_visit(headers)


def _place_of(origin: str) -> str:
    """Return host and port of an origin; nothing where it is no address."""
    try:
        return urlsplit(origin).netloc.lower()
    except ValueError:
        return ""


def _is_visit(headers: Headers) -> bool:
    """A link elsewhere may lead to the page; it may not fetch from it."""
    return headers.get("sec-fetch-mode") == "navigate" and headers.get("sec-fetch-dest") == "document"


def is_here(scope: Scope, host: str) -> bool:
    """Tell whether the request comes from this machine and names it so."""
    client = scope.get("client")
    here = client is not None and client[0] in {"127.0.0.1", "::1"}
    return here and host.rsplit(":", 1)[0] in {"127.0.0.1", "localhost", "[::1]"}


def _adding(send: Send, headers: dict[str, str], path: str) -> Send:
    async def with_headers(message: Message) -> None:
        if message["type"] == "http.response.start":
            answer = MutableHeaders(scope=message)
            for name, value in headers.items():
                answer.setdefault(name, value)
            answer.setdefault("cache-control", "no-store" if path.startswith("/api") else "no-cache")
        await send(message)

    return with_headers
