"""The page in Firefox, driven by its own remote protocol (Marionette), which needs no driver beside the browser."""

from __future__ import annotations

import contextlib
import json
import shutil
import socket
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from bench_page import PATIENCE, PHOTO, Server, plain
from click.testing import CliRunner

from areakit.cli.main import group

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.timeout(300)]
NOTED = "const { dataset } = document.body; dataset.wrong = `${dataset.wrong || ''}${one.message || one.reason};`"
BINARY = shutil.which("firefox") or shutil.which("firefox-esr")


class Firefox:
    """One window: scripts that answer, and files for its inputs. A message is its length, a colon and JSON."""

    def __init__(self, port: int) -> None:
        self._socket = _connected(port)
        self._socket.settimeout(PATIENCE)
        self._read()
        self._count = 0
        self.ask("WebDriver:NewSession", strictFileInteractability=False)
        self.ask("WebDriver:SetTimeouts", script=1000 * int(PATIENCE))

    def close(self) -> None:
        self._socket.close()

    def ask(self, command: str, **parameters: Any) -> Any:
        self._count += 1
        body = json.dumps([0, self._count, command, parameters]).encode()
        self._socket.sendall(b"%d:%s" % (len(body), body))
        _, _, error, result = self._read()
        assert error is None, error
        return result

    def run(self, script: str) -> Any:
        """Run a script that may await, and return what it returns."""
        wrapped = (
            f"const end = arguments[0]; (async () => {{ {script} }})().then(end, (error) => end(`bad: ${{error}}`))"
        )
        found = self.ask("WebDriver:ExecuteAsyncScript", script=wrapped, args=[])["value"]
        assert not str(found).startswith("bad: "), found
        return found

    def wait(self, condition: str) -> Any:
        """Return the first value of an expression that is something."""
        return self.run(
            "for (;;) { let found = null; try { found = " + condition + "; } catch { } if (found) return found;"
            " await new Promise((done) => setTimeout(done, 100)); }"
        )

    def type(self, where: str, text: str) -> None:
        self.ask("WebDriver:ElementSendKeys", id=self._element(where), text=text)

    def press(self, where: str) -> None:
        self.run(f"document.querySelector({json.dumps(where)}).click()")

    def _element(self, where: str) -> str:
        found = self.ask("WebDriver:FindElement", using="css selector", value=where)["value"]
        return str(next(iter(found.values())))

    def _read(self) -> Any:
        head = b""
        while not head.endswith(b":"):
            head += self._socket.recv(1)
        body = b""
        while len(body) < int(head[:-1]):
            body += self._socket.recv(int(head[:-1]) - len(body))
        return json.loads(body)


def _connected(port: int) -> socket.socket:
    deadline = time.monotonic() + PATIENCE
    while True:
        try:
            return socket.create_connection(("127.0.0.1", port), 1.0)
        except OSError:
            assert time.monotonic() < deadline, "Firefox did not start"
            time.sleep(0.2)


@pytest.fixture
def firefox(tmp_path: Path) -> Iterator[Firefox]:
    if BINARY is None:
        pytest.skip("Firefox is not installed (apt-get install firefox-esr)")
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    (tmp_path / "user.js").write_text(f'user_pref("marionette.port", {port});\n', encoding="ascii")
    command = [BINARY, "--marionette", "--headless", "--no-remote", "--profile", str(tmp_path)]
    running = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        with contextlib.closing(Firefox(port)) as window:
            yield window
    finally:
        running.terminate()
        running.wait(PATIENCE)


def test_from_a_photo_to_a_reading_in_firefox(firefox: Firefox, server: Server) -> None:
    firefox.ask("WebDriver:Navigate", url=server.url)
    firefox.wait("document.querySelector('#process option')")
    firefox.run(f"for (const kind of ['error', 'unhandledrejection']) addEventListener(kind, (one) => {{ {NOTED} }})")
    firefox.type("#files", str(PHOTO))
    figure = firefox.wait("document.querySelector('#area .figure:not(.stale):not(.quiet)').innerText")
    measured = CliRunner().invoke(group, ["measure", str(PHOTO)])
    assert plain(figure) in plain(measured.stdout)
    assert firefox.wait("document.querySelector('#photo').naturalWidth > 1000")

    firefox.type("#thickness", "1.2\ue007")  # and Enter (W3C WebDriver, keyboard actions)
    for metal, thickness in (("nickel", "3"), ("gold", "0.5")):
        firefox.wait("!document.querySelector('#area .figure.stale')")
        firefox.type(f"[data-metal={metal}]", thickness)
    firefox.press("#plan-go")
    firefox.wait("document.querySelectorAll('#plan-out .layer')[1]?.innerText")
    firefox.press("#job-open")
    firefox.wait("document.querySelector('#begin')?.offsetParent && 'there'")
    firefox.press("#begin")
    firefox.wait("document.querySelector('#panel[open]') && 'open'")
    firefox.type("#current", "800 mA\ue007")
    assert "at 0.8 A" in firefox.wait("document.querySelector('#charge-to-go').innerText.match(/.*at 0.8 A/)?.[0]")
    firefox.wait("localStorage.getItem('areakit.outbox') === '[]'")
    firefox.press("#current-off")
    firefox.wait("document.querySelector('#panel[data-live=no]') && localStorage.getItem('areakit.outbox') === '[]'")
    job = firefox.run("return await (await fetch(`/api/jobs/${localStorage.getItem('areakit.job')}`)).json()")
    kinds = [one["kind"] for one in job["entries"]]
    assert (kinds.count("planned"), kinds.count("reading")) == (1, 2)
    firefox.run("dispatchEvent(new ErrorEvent('error', { message: 'the last one' }))")
    assert firefox.run("return document.body.dataset.wrong") == "the last one;", "nothing went wrong before"
