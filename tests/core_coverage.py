"""Which branches of the core no test takes: ``python -m tests.core_coverage``.

A finder of untested code, not a goal: it runs the fast tests and prints each room, and the files with most left over.
Tests of the page and of broken files run the core in processes of their own, where nothing is counted: left out.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
from collections import defaultdict
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
CORE = (
    "errors", "flags", "sources", "units", "uncertainty", "foreign_text", "executors", "geometry", "imaging", "plating",
    "costing", "records",
)  # fmt: skip
UNCOUNTED = ("architecture", "benchmarks", "fuzz", "web")
OTHERS = ("synthetic", "reports", "service", "cli", "web")


def _counted() -> list[str]:
    there = sorted((ROOT / "tests").iterdir())
    folders = [one for one in there if one.is_dir() and one.name not in UNCOUNTED and any(one.rglob("test_*.py"))]
    return [str(one.relative_to(ROOT)) for one in (*folders, *(ROOT / "tests").glob("test_*.py"))]


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--jobs", default="2")
    parser.add_argument("--files", type=int, default=12, help="how many files to name")
    parser.add_argument("--tests", nargs="+", default=_counted(), help="folders of tests to run")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        report = Path(folder) / "coverage.json"
        how = ["-n", given.jobs, "--cov=areakit", "--cov-branch", f"--cov-report=json:{report}"]
        command = [sys.executable, "-m", "pytest", *given.tests, *how, "-p", "no:cacheprovider"]
        tested = subprocess.run(command, cwd=ROOT, check=False, stdout=sys.stderr).returncode
        files = json.loads(report.read_text(encoding="utf-8"))["files"]
    rooms: dict[str, list[int]] = defaultdict(lambda: [0, 0])
    left = []
    for name, found in files.items():
        room = Path(name).relative_to("areakit").parts[0].removesuffix(".py")
        summary = found["summary"]
        taken, there = summary["covered_branches"], summary["num_branches"]
        for key in (room, "core" if room in CORE else "all else"):
            rooms[key][0] += taken
            rooms[key][1] += there
        if room in CORE and there > taken:
            left.append((there - taken, name, found["missing_branches"]))
    print("| room | branches | taken by tests |\n|---|---|---|")
    for room in (*CORE, "core", *OTHERS, "all else"):
        taken, there = rooms[room]
        print(f"| {room} | {there} | {100 * taken / there if there else 100:.1f} % |")
    print("\nMost left over in the core (line → line):\n")
    for count, name, branches in sorted(left, reverse=True)[: given.files]:
        shown = ", ".join(f"{a}→{b}" for a, b in branches[:6])
        print(f"- {name}: {count}: {shown}{', …' if count > 6 else ''}")
    return tested


if __name__ == "__main__":
    raise SystemExit(main())
