"""What a command costs does not grow with the record beyond what it prints: counted in steps of SQLite, not in time."""

import sqlite3
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from areakit.records import bottles
from areakit.records import journal as journal_module
from areakit.records.entries import checked
from areakit.records.journal import Journal
from areakit.service.bottle import NewBottle, add_bottle, show_bottle
from areakit.service.desk import Desk
from areakit.service.job import NewJob, add, open_job, release_points, show_job
from areakit.service.job_run import StepRequest, begin_step
from areakit.service.lens import stored_lenses
from areakit.service.own_factor import bottle_factor
from areakit.service.plan_factors import own_factors

AT = "2026-03-14T09:30:00+01:00"
NOW = datetime.fromisoformat(AT)
STEPS = 20
"""Instructions of SQLite's machine between two counts."""


def record(path: Path, jobs: int) -> Desk:
    """A record with so many jobs of ten entries each, as many bottles, checks, and names of the user's own."""
    desk = Desk(path=path, who="Ana", now=NOW)
    opened = checked("opened", {"date": "2026-03-14", "part": "bracket", "quantity": 3, "customer": "", "base": ""})
    drew = bottles.checked("drew", {"charge": None, "metal_mass": None, "volume": None, "remarks": "for trial"})
    add_bottle(desk, NewBottle(label="G", solution="my-gold", metal="gold", volume="1 L"))
    filled = dict(show_bottle(desk, "G").history[0].doc)
    with Journal(path) as journal, journal.writing() as writer:
        for n in range(jobs):
            number = f"2026-{n + 1:04d}"
            writer.append("job", number, "opened", at=AT, who="Ana", doc=opened)
            for _ in range(8):
                writer.append("job", number, "remarked", at=AT, who="Ana", doc={"text": "wiped again"})
            writer.append("check", f"verify {n}", "verified", at=AT, who="Ana", doc={"n": n})
            writer.append("bottle", f"B{n}", "filled", at=AT, who="Ana", doc=filled)
            writer.append("bottle", f"B{n}", "drew", at=AT, who="Ana", doc=drew)
    return desk


def counted(monkeypatch: pytest.MonkeyPatch, action: Callable[[], object]) -> int:
    steps = 0
    real = sqlite3.connect

    def step() -> int:
        nonlocal steps
        steps += 1
        return 0

    def connect(*arguments: Any, **named: Any) -> sqlite3.Connection:
        database = real(*arguments, **named)
        database.set_progress_handler(step, STEPS)
        return database

    with monkeypatch.context() as patch:
        patch.setattr(journal_module.sqlite3, "connect", connect)
        action()
    return steps


ACTIONS: dict[str, Callable[[Desk], object]] = {
    "open a job": lambda desk: open_job(desk, NewJob(part="clip")),
    "open a job of a name": lambda desk: open_job(desk, NewJob(part="clip", number="own name")),
    "add to a job": lambda desk: add(desk, "2026-0007", "remarked", doc={"text": "good"}),
    "show a job": lambda desk: show_job(desk, "2026-0007"),
    "what is open before a release": lambda desk: release_points(desk, plated(desk)),
    "show a bottle": lambda desk: show_bottle(desk, "B7"),
    "open a bottle": lambda desk: add_bottle(desk, NewBottle(label="N", solution="s", metal="gold", volume="1 L")),
    "stored lenses": lambda desk: stored_lenses(desk),
    "own factor of a bottle": lambda desk: bottle_factor(desk, "B7"),
    "own factors for a plan": lambda desk: own_factors(desk.path, solutions={"gold": ("my-gold",)}, bottles={}),
}


def plated(desk: Desk) -> str:
    """A job with a step from a bottle of the record; opened once."""
    with desk.to_read() as journal:
        if journal.holds("job", "plated"):
            return "plated"
    open_job(desk, NewJob(part="clip", number="plated"))
    begin_step(desk, "plated", StepRequest(title="gold", metal="gold", bottle="B7"))
    return "plated"


@pytest.fixture(scope="module")
def desks(tmp_path_factory: pytest.TempPathFactory) -> tuple[Desk, Desk]:
    folder = tmp_path_factory.mktemp("records")
    return record(folder / "short.sqlite", 20), record(folder / "long.sqlite", 400)


@pytest.mark.parametrize("name", ACTIONS)
def test_the_cost_does_not_grow(name: str, desks: tuple[Desk, Desk], monkeypatch: pytest.MonkeyPatch) -> None:
    short, long = (counted(monkeypatch, lambda desk=desk: ACTIONS[name](desk)) for desk in desks)  # type: ignore[misc]
    assert long <= 1.3 * short + 10


def test_the_count_does_see_a_scan(desks: tuple[Desk, Desk], monkeypatch: pytest.MonkeyPatch) -> None:
    def scan(desk: Desk) -> None:
        with desk.to_read() as journal:
            journal.keys("job")

    short, long = (counted(monkeypatch, lambda desk=desk: scan(desk)) for desk in desks)  # type: ignore[misc]
    assert long > 5 * short


@pytest.mark.parametrize(
    ("taken", "following"),
    [
        ([], "2026-0001"),
        (["2026-0001", "2026-0002"], "2026-0003"),
        (["2026-0007"], "2026-0008"),
        (["2026-0002", "2026-copper", "2026-9", "2026-77x", "2025-0900"], "2026-0003"),
        (["2026-9999"], "2026-10000"),
        (["2026-9999", "2026-10000", "2026-10041"], "2026-10042"),
    ],
)
def test_the_next_number_of_the_year(taken: list[str], following: str, tmp_path: Path) -> None:
    desk = Desk(path=tmp_path / "j.sqlite", who="Ana", now=NOW)
    for number in taken:
        open_job(desk, NewJob(part="clip", number=number))
    assert open_job(desk, NewJob(part="clip", date="2026-03-14")).number == following
