"""A server on a port of its own, as little patient as a test wants it."""

import contextlib
import socket
import threading
import time
from collections.abc import Iterator
from typing import Any

import uvicorn

from areakit.web.app import make_app
from areakit.web.certificate import Certificate
from areakit.web.patience import PatientProtocol
from areakit.web.settings import Address, Limits


@contextlib.contextmanager
def running(
    limits: Limits, *, seconds: float, keep_alive: int, log_level: str = "error", tls: Certificate | None = None
) -> Iterator[int]:
    """Yield the port of a server that lets a silent client go after ``seconds``."""
    hasty: Any = type("Hasty", (PatientProtocol,), {"seconds": seconds, "limits": limits})
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        number = int(listener.getsockname()[1])
        app = make_app(address=Address(port=number), limits=limits)
        files = {"ssl_certfile": tls.chain, "ssl_keyfile": tls.key} if tls else {}
        server = uvicorn.Server(
            uvicorn.Config(app, http=hasty, log_level=log_level, lifespan="off", timeout_keep_alive=keep_alive, **files)
        )
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
        thread.start()
        while not server.started:
            time.sleep(0.01)
        yield number
        server.should_exit = True
        thread.join(5)
