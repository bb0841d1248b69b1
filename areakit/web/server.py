"""Run the server until it is stopped."""

from __future__ import annotations

import asyncio
import contextlib
import socket
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import uvicorn
from starlette.applications import Starlette

from areakit.errors import InputError, RangeError
from areakit.web.alarm import Alarm
from areakit.web.app import make_app
from areakit.web.bench import DeskOf
from areakit.web.certificate import Certificate, certificate_for
from areakit.web.entry import code_text
from areakit.web.guard import Passes
from areakit.web.memory import bound_heaps
from areakit.web.patience import PatientProtocol
from areakit.web.settings import Address, Limits

_MOST_CONNECTIONS = 128


@dataclass(frozen=True, slots=True, kw_only=True)
class Network:
    """How devices in the local network are let in.

    ``host`` is this machine's address there, found where it is None; ``folder`` keeps the certificate and the digests
    of passes; ``plain`` leaves the encryption out.
    """

    folder: Path
    host: str | None = None
    plain: bool = False


def serve(
    *, port: int, network: Network | None, desk: DeskOf, say: Callable[[str], None], ring: Callable[[], None]
) -> None:
    """Serve the page on this machine, and with ``network`` to devices in it too; ``desk`` keeps its records.

    ``ring`` sounds on this machine when a run reaches its target, whatever the page may do.

    This machine is always served without encryption, at its own address that nobody else reaches. InputError if the
    port is taken, or this machine has no address in a network.
    """
    if not 0 < port < 65_536:
        raise RangeError(f"Port {port} is outside 1 to 65535.", remedy="Choose another --port.")
    bound_heaps()
    host = None if network is None else network.host or own_address()
    address = Address(port=port, lan_host=host, encrypted=network is not None and not network.plain)
    with contextlib.ExitStack() as open_listeners:
        here = open_listeners.enter_context(_listener("127.0.0.1", port))
        say(f"The bench is at {address.url}  (stop with Ctrl-C)")
        alarm = Alarm(say, ring)
        alarm.begin(desk(None))
        if network is None or host is None:
            _run(alarm, (_config(make_app(address=address, limits=Limits(), desk=desk, alarm=alarm)), here))
            return
        there = open_listeners.enter_context(_listener(host, port))
        found = None
        if not network.plain:
            found = certificate_for(host, folder=network.folder, now=datetime.now(UTC))
        passes = Passes(
            lambda key: _say_link(say, address, key, first=False), kept=network.folder / "serve-passes.json"
        )
        _say_link(say, address, passes.key, first=True)
        _say_line(say, found)
        app = make_app(address=address, limits=Limits(), passes=passes, desk=desk, alarm=alarm)
        _run(alarm, (_config(app), here), (_config(app, found), there))


def _config(app: Starlette, found: Certificate | None = None) -> uvicorn.Config:
    return uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        limit_concurrency=_MOST_CONNECTIONS,
        timeout_keep_alive=20,
        timeout_graceful_shutdown=3,
        http=PatientProtocol,
        ssl_certfile=found.chain if found else None,
        ssl_keyfile=found.key if found else None,
    )


def _run(alarm: Alarm, *servers: tuple[uvicorn.Config, socket.socket]) -> None:
    """Run servers in one event loop until one is stopped; the signal that stops it is handed on to the next."""

    async def together() -> None:
        watching = asyncio.create_task(alarm.watch())
        await asyncio.gather(*(uvicorn.Server(config).serve(sockets=[listener]) for config, listener in servers))
        watching.cancel()

    with contextlib.suppress(KeyboardInterrupt):
        asyncio.run(together())


def own_address() -> str:
    """Return this machine's address in the local network; nothing is sent for it.

    InputError if it has none.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # a documentation address (RFC 5737): connecting UDP sends no packet
            found = str(probe.getsockname()[0])
        except OSError:
            found = ""
    if not found or found.startswith("127."):
        raise InputError(
            "This machine has no address in a local network.",
            remedy="Connect it to the network, or name its address with --address.",
        )
    return found


def _say_link(say: Callable[[str], None], address: Address, key: str, *, first: bool) -> None:
    link = f"{address.lan_url}enter?key={key}"
    say("One-time link for a tablet or phone:" if first else "A device was let in. Link for the next one:")
    say(f"{link}\n{code_text(link)}")


def _say_line(say: Callable[[str], None], found: Certificate | None) -> None:
    if found is None:
        say("Whoever is in this network can read what passes: the page is not encrypted. Use a network you trust.")
        say("Without encryption a phone keeps no screen awake; its alarm may stay silent.")
        return
    say("The line is encrypted. The device asks once whether to trust this server: it made its certificate itself.")
    say(f"Compare the SHA-256 fingerprint before you say yes:\n{found.fingerprint}")


def _listener(host: str, port: int) -> socket.socket:
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((host, port))
    except OSError as error:
        listener.close()
        raise InputError(
            f"Port {port} cannot be used: {error.strerror}.", remedy="Choose another with --port."
        ) from None
    return listener
