"""What each command costs in a long record: ``python -m tests.benchmarks.record``.

Two records are written, one of a twentieth of the jobs, twelve entries for each; every command is run in both. Counted
are steps of SQLite's machine, in hundreds, and bytes printed or written; processor time is told beside them.
"""

from __future__ import annotations

import argparse
import os
import sqlite3
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from unittest.mock import patch

from click.testing import CliRunner

from areakit.cli.main import group
from areakit.datafiles import data_dir
from areakit.records import damage as damage_module
from areakit.records import journal as journal_module
from tests.service.test_cost_of_a_long_record import record

STEPS = 100
JOB, OTHER = "2026-0001", "2026-0002"


@dataclass(slots=True)
class Cost:
    """Steps of SQLite in hundreds, bytes given out, seconds of the processor."""

    steps: int = 0
    given: int = 0
    seconds: float = 0.0


def documents(folder: Path) -> dict[str, str]:
    """A measurement, its plan and its quote, as commands print them."""
    kept = {name: str(folder / f"{name}.json") for name in ("area", "plan", "quote")}
    rates = str(folder / "rates.toml")
    layer = ("--process", "nickel-tank", "--layer", "nickel=5 um", "--efficiency", "nickel=95%", "--shop", "none")
    for command in (
        ("surface", "--shape", "disk 30 mm", "--thickness", "1 mm", "--save", kept["area"]),
        ("plan", "--from", kept["area"], *layer, "--base", "brass", "--save", kept["plan"]),
        ("rates", "--example", "--output", rates),
        ("quote", "--plan", kept["plan"], "--rates", rates, "--save", kept["quote"]),
    ):
        done = CliRunner().invoke(group, list(command))
        if done.exit_code:
            raise SystemExit(f"{command}: {done.output} {done.exception}")
    return kept


def commands(folder: Path) -> dict[str, Sequence[str]]:
    """Each ``areakit job`` command, those that need what others wrote behind them."""
    kept, photo = documents(folder), str(data_dir("demo_images") / "wire-hook.jpg")
    out = {name: str(folder / name) for name in ("c.pdf", "r.pdf", "one.jsonl", "all.jsonl", "copy.sqlite", "saved")}
    return {
        "new": ("new", "clip"),
        "new --like": ("new", "--like", JOB, "--quantity", "2"),
        "photo": ("photo", JOB, photo),
        "measured": ("measured", JOB, kept["area"]),
        "require": ("require", JOB, "bright all over"),
        "plan": ("plan", JOB, kept["plan"]),
        "quote": ("quote", JOB, kept["quote"]),
        "step": ("step", JOB, "--step", "1"),
        "log": ("log", JOB, "0.4 A"),
        "log --stop": ("log", JOB, "--stop"),
        "weigh": ("weigh", JOB, "before", "41.2 g"),
        "test": ("test", JOB, "tape", "pass", "--place", "front"),
        "defect": ("defect", JOB, "pit", "--at", "1", "1"),
        "rework": ("rework", JOB, "polished"),
        "remark": ("remark", JOB, "wiped"),
        "correct": ("correct", JOB, "2", "--set", "text=wiped twice", "--reason", "slip"),
        "sign": ("sign", JOB, "Released", "--role", "inspector", "--despite", "a trial"),
        "certificate": ("certificate", JOB, "--output", out["c.pdf"]),
        "report": ("report", JOB, "--output", out["r.pdf"]),
        "show": ("show", JOB),
        "history": ("history", JOB),
        "verify": ("verify", JOB, out["c.pdf"]),
        "export of one": ("export", OTHER, "--output", out["one.jsonl"]),
        "import of one": ("import", out["one.jsonl"]),
        "list": ("list",),
        "list WORDS": ("list", "clip"),
        "export of all": ("export", "--output", out["all.jsonl"]),
        "backup": ("backup", out["copy.sqlite"]),
        "check": ("check",),
        "salvage": ("salvage", out["saved"]),
    }


def measured(action: Callable[[], Any], folder: Path) -> tuple[Any, Cost]:
    """Run an action; return what it gives and what it cost."""
    cost, real = Cost(), sqlite3.connect

    def step() -> int:
        cost.steps += 1
        return 0

    def connect(*arguments: Any, **named: Any) -> sqlite3.Connection:
        database = real(*arguments, **named)
        database.set_progress_handler(step, STEPS)
        return database

    before, started = written(folder), time.process_time()
    with (
        patch.object(journal_module.sqlite3, "connect", connect),
        patch.object(damage_module.sqlite3, "connect", connect),
    ):
        given = action()
    cost.seconds = time.process_time() - started
    cost.given = written(folder) - before
    return given, cost


def written(folder: Path) -> int:
    return sum(one.stat().st_size for one in folder.rglob("*") if one.is_file() and "sqlite" not in one.name)


def costs(folder: Path, jobs: int) -> dict[str, tuple[str, Cost]]:
    """Write a record and run every command in it; a command that is refused says so beside its cost."""
    record(folder / "j.sqlite", jobs)
    os.environ.update({"AREAKIT_JOURNAL": str(folder / "j.sqlite"), "AREAKIT_WHO": "Ana", "AREAKIT_SHOP": "none"})
    found = {}
    for name, command in commands(folder).items():
        done, cost = measured(lambda command=command: CliRunner().invoke(group, ["job", *command]), folder)
        cost.given += len(done.output)
        why = f"{done.exception}" if done.exit_code else ""
        found[name] = (why[:90] or " ", cost)
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--jobs", type=int, default=8400)
    jobs = parser.parse_args().jobs
    with tempfile.TemporaryDirectory() as first, tempfile.TemporaryDirectory() as second:
        short, long = costs(Path(first), jobs // 20), costs(Path(second), jobs)
    print(f"| command | hundred steps of SQLite: {12 * (jobs // 20)} entries | {12 * jobs} entries | bytes given |"
          " bytes | processor, s | s | refused |\n|---|---|---|---|---|---|---|---|")  # fmt: skip
    for name, (why, one) in short.items():
        other = long[name][1]
        figures = (one.steps, other.steps, one.given, other.given, f"{one.seconds:.2f}", f"{other.seconds:.2f}", why)
        print(f"| {name} | {' | '.join(map(str, figures))} |", flush=True)


if __name__ == "__main__":
    main()
