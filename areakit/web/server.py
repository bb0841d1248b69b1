"""Run the server until it is stopped."""

from __future__ import annotations

import contextlib
import socket
from collections.abc import Callable

import uvicorn

from areakit.errors import InputError, RangeError
from areakit.web.app import make_app
from areakit.web.bench import DeskOf
from areakit.web.entry import code_text
from areakit.web.guard import Passes
from areakit.web.patience import PatientProtocol
from areakit.web.settings import Address, Limits

DEFAULT_PORT = 8137
_MOST_CONNECTIONS = 128


def serve(*, port: int, lan: bool, lan_host: str | None, desk: DeskOf, say: Callable[[str], None]) -> None:
    """Serve the page on this machine, or with ``lan`` in the local network too; ``desk`` keeps its records.

    Raises
    ------
    InputError
        If the port is taken, or this machine has no address in a network.
    """
    if not 0 < port < 65_536:
        raise RangeError(f"Port {port} is outside 1 to 65535.", remedy="Choose another --port.")
    address = Address(port=port, lan_host=(lan_host or own_address()) if lan else None)
    listener = _listener("0.0.0.0" if lan else "127.0.0.1", port)
    passes = None
    say(f"The bench is at {address.url}  (stop with Ctrl-C)")
    if lan:
        passes = Passes(lambda key: _say_link(say, address, key, first=False))
        _say_link(say, address, passes.key, first=True)
    config = uvicorn.Config(
        make_app(address=address, limits=Limits(), passes=passes, desk=desk),
        log_level="warning",
        access_log=False,
        server_header=False,
        limit_concurrency=_MOST_CONNECTIONS,
        timeout_keep_alive=20,
        timeout_graceful_shutdown=3,
        http=PatientProtocol,
    )
    with listener, contextlib.suppress(KeyboardInterrupt):
        uvicorn.Server(config).run(sockets=[listener])


def own_address() -> str:
    """Return this machine's address in the local network; nothing is sent for it.

    Raises
    ------
    InputError
        If it has none.
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
    link = f"http://{address.lan_host}:{address.port}/enter?key={key}"
    say("One-time link for a tablet or phone:" if first else "A device was let in. Link for the next one:")
    say(f"{link}\n{code_text(link)}")
    if first:
        say("Whoever is in this network can read what passes: the page is not encrypted. Use a network you trust.")


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
