"""The computer that serves rings at the target, once it is reached and no longer than somebody needs to come."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from areakit.cli.main import group
from areakit.service.desk import Desk
from areakit.web.alarm import Alarm
from areakit.web.app import make_app
from areakit.web.settings import Address

HERE = "http://127.0.0.1:8137"
PLAN = {
    "process": "nickel-brush",
    "layers": {"nickel": "3 um"},
    "area": "45 cm2",
    "area_uncertainty": "1 cm2",
    "efficiency": {"nickel": "60 % ± 5 %"},
    "shop": "none",
}


class Bench:
    """A server in this process with an alarm whose clock the test sets."""

    def __init__(self, journal: Path) -> None:
        self.now, self.said, self.rings = time.time(), [], 0
        self.alarm = Alarm(self.said.append, self._ring, clock=lambda: self.now)
        self.desk = lambda who: Desk(path=journal, who=who or "bench", now=datetime.now(UTC))
        app = make_app(address=Address(port=8137), desk=self.desk, alarm=self.alarm)
        self.api = TestClient(app, base_url=HERE, client=("127.0.0.1", 50_000))

    def _ring(self) -> None:
        self.rings += 1

    def begin(self) -> tuple[str, int, float]:
        """Open a job, begin its plating step, and return its number, the run, and its charge in A.min."""
        plan = self.api.post("/api/plan", json=PLAN)
        assert plan.status_code == 200, plan.text
        number = self.api.post("/api/jobs", json={"part": "plate", "quantity": 1}).json()["number"]
        self.api.post(f"/api/jobs/{number}/entries/planned", json={"document": plan.json()})
        step = next(one["number"] for one in plan.json()["steps"] if one["charge_set"])
        made = self.api.post(f"/api/jobs/{number}/entries/step", json={"step": step}).json()
        return number, made["entry"], made["run"]["target"]["value"]

    def read(self, number: str, run: int, **body: object) -> None:
        answer = self.api.post(f"/api/jobs/{number}/entries/reading", json={"run": run, **body})
        assert answer.status_code == 201, answer.text

    def after(self, seconds: float) -> int:
        """Ring as at this many seconds from now, and tell how often it has rung in all."""
        self.now = time.time() + seconds
        self.alarm.look()
        return self.rings


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "shop.sqlite")


def test_it_rings_when_the_charge_is_run_and_not_before(bench: Bench) -> None:
    number, run, target = bench.begin()
    bench.read(number, run, current="10 A")
    seconds = target / 10 * 60  # charge = current x time
    assert bench.after(seconds - 5) == 0
    assert bench.after(seconds + 5) == 1
    assert bench.said == [f"Job {number}, Plate nickel: the target is reached. Cut the current, then record it."]


def test_it_stops_after_half_a_minute_or_when_the_current_is_off(bench: Bench) -> None:
    number, run, target = bench.begin()
    bench.read(number, run, current="10 A")
    for _ in range(40):
        bench.after(target / 10 * 60 + 5)
    assert bench.rings == 30
    bench.read(number, run, current="5 A")
    assert bench.after(target / 10 * 60 + 5) == 30, "half the current takes twice the time"
    bench.read(number, run, stop=True)
    assert bench.after(1e6) == 30


def test_a_server_that_was_started_again_knows_what_runs(bench: Bench, tmp_path: Path) -> None:
    number, run, _ = bench.begin()
    bench.read(number, run, current="10 A")
    again = Bench(tmp_path / "shop.sqlite")
    again.alarm.begin(again.desk(None))
    assert again.after(1e6) == 1
    nothing = Bench(tmp_path / "none.sqlite")
    nothing.alarm.begin(nothing.desk(None))
    assert nothing.after(1e6) == 0


@pytest.mark.thorough
def test_the_terminal_of_areakit_serve_rings(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "shop.sqlite")
    number, run, _ = bench.begin()
    bench.read(number, run, current="9999 A")
    environment = {**os.environ, "AREAKIT_JOURNAL": str(tmp_path / "shop.sqlite")}
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-u", "-m", "areakit", "serve", "--port", str(port)]
    with subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, text=True) as server:
        assert server.stdout is not None
        heard = ""
        while "\a" not in heard:
            piece = server.stdout.read(1)
            assert piece, f"the server ended: {heard}"
            heard += piece
        server.terminate()
    assert f"Job {number}, Plate nickel: the target is reached" in heard


def test_libraries_of_a_server_use_one_thread_unless_told_otherwise(monkeypatch: pytest.MonkeyPatch) -> None:
    """Their threads wait by spinning, which took two thirds of the time of a frame of the camera."""
    for name in ("OPENCV_FOR_THREADS_NUM", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
        monkeypatch.setenv(name, "2")
    monkeypatch.delenv("OPENBLAS_NUM_THREADS")
    held: list[str] = []
    names = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS")
    monkeypatch.setattr("areakit.web.server.serve", lambda **_: held.extend(os.environ[name] for name in names))
    result = CliRunner().invoke(group, ["serve"])
    assert result.exit_code == 0, result.output
    assert held == ["1", "2"]
