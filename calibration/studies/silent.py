"""Is any area wrong without a word? Scenes of every kind of trap, measured as a user would.

    python -m calibration.studies.silent [--kinds paint mirrored] [--first 2000] [--scenes 20] [--jobs 2] [--out DIR]

Every kind is a function from a seed to a `Case`: the bytes of a photo, what the user enters, the true areas, and the
codes of flags or refusals that name the trap. The CSV grows row by row; rows made by the same code are not made twice
(``--keep`` takes older ones too). The table is written beside it.
"""

from __future__ import annotations

import argparse
import csv
import hashlib
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass, field, fields
from functools import partial
from math import nan
from pathlib import Path
from typing import Any

from areakit.errors import AreakitError
from areakit.flags import place_asked
from areakit.imaging.outlines import FoundParts, find_outlines
from areakit.imaging.photo import read_photo
from calibration.studies.accuracy import one_thread

HERE = Path(__file__).resolve().parent
ROWS, RESULTS = "silent_rows.csv", "silent_results.md"
JUDGED = 2000
"""First seed that is judged; on those below the checks were set."""
OUTCOMES = ("caught", "asked", "holds", "sum holds", "told", "silent", "crash")


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One trap.

    Parameters
    ----------
    photo : bytes
    request : mapping
        What the user enters: keyword arguments of `find_outlines`, ``thickness`` among them.
    areas_mm2 : tuple of float
        True area of the face of each part.
    causes : frozenset of str
        Codes of flags that name the trap: with one of them a wrong area is not silent.
    asks : frozenset of str
        Codes of flags that put a question which the user must answer before the number counts.
    words : str
        What the scene is, for the row.
    """

    photo: bytes
    request: Mapping[str, Any]
    areas_mm2: tuple[float, ...]
    causes: frozenset[str]
    asks: frozenset[str] = frozenset()
    words: str = ""


Draw = Callable[[int], Case]
"""From a seed, 0 and up, to the case; equal seeds give equal cases."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One case as it was judged: areas in cm2, errors in % of the true area."""

    kind: str
    seed: int
    outcome: str
    codes: str = ""
    parts_true: int = 0
    parts_found: int = 0
    area_cm2: float = nan
    error: float = nan
    expanded: float = nan
    words: str = ""
    seconds: float = nan
    code: str = field(default="")


def kinds() -> dict[str, Draw]:
    """Return every kind of trap, by name."""
    from calibration.studies import silent_part, silent_sheet

    return {**silent_sheet.KINDS, **silent_part.KINDS}


def judge(kind: str, seed: int, draw: Draw, code: str = "") -> Row:
    """Return the row of one case; whatever goes wrong becomes part of the row."""
    case = draw(seed)
    facts = {
        "kind": kind, "seed": seed, "code": code, "words": case.words, "parts_true": len(case.areas_mm2),
        "area_cm2": sum(case.areas_mm2) / 100.0,
    }  # fmt: skip
    start = time.perf_counter()
    try:
        found = find_outlines(read_photo(case.photo), **case.request)
    except AreakitError as error:
        return Row(**facts, outcome="caught", codes=error.code, seconds=time.perf_counter() - start)
    except Exception as error:  # one case must not stop the study; the table counts these apart
        return Row(**facts, outcome="crash", codes=type(error).__name__)
    return Row(**facts, **_outcome(case, found), seconds=time.perf_counter() - start)


def _outcome(case: Case, found: FoundParts) -> dict[str, Any]:
    flags = [*found.flags, *(flag for part in found.parts for flag in part.outline.flags)]
    codes = {flag.code for flag in flags}
    asked = bool(case.asks & codes) or any(place_asked(flag) for flag in flags)
    measured = sorted((part.outline.area for part in found.parts), key=lambda area: area.value)
    true = sorted(case.areas_mm2)
    total, whole = sum(area.value for area in measured), sum(true)
    expanded = sum(area.expanded_uncertainty for area in measured)
    held = len(measured) == len(true) and all(
        abs(area.value - one) <= area.expanded_uncertainty for area, one in zip(measured, true, strict=True)
    )
    named = bool(case.causes & codes)
    outcome = "asked" if asked else "holds" if held else "told" if named else "silent"
    if outcome == "silent" and len(measured) != len(true) and abs(total - whole) <= expanded:
        outcome = "sum holds"
    return {
        "outcome": outcome,
        "codes": ";".join(sorted(codes)),
        "parts_found": len(measured),
        "error": 100.0 * (total / whole - 1.0),
        "expanded": 100.0 * expanded / whole,
    }


def fingerprint() -> str:
    """Return a hash of all code that makes a row, so that rows of older code are made again."""
    root = HERE.parents[1]
    rooms = ("imaging", "synthetic", "geometry")
    judged = [path for room in rooms for path in (root / "areakit" / room).rglob("*.py")]
    judged += [root / "areakit" / "flags.py", *HERE.glob("silent*.py"), *HERE.glob("accuracy*.py")]
    return hashlib.sha256(b"".join(path.read_bytes() for path in sorted(judged))).hexdigest()[:12]


def read_rows(path: Path) -> dict[tuple[str, int], Row]:
    """Return the rows of a CSV by kind and seed; a line cut short by a stop is left out."""
    if not path.exists():
        return {}
    reads = {"int": int, "float": float, "str": str}
    with path.open(encoding="utf-8", newline="") as file:
        lines = [line for line in csv.DictReader(file) if None not in line.values()]
    rows = [Row(**{f.name: reads[str(f.type)](line[f.name]) for f in fields(Row)}) for line in lines]
    return {(row.kind, row.seed): row for row in rows}


def write_rows(path: Path, rows: Mapping[tuple[str, int], Row]) -> None:
    """Write all rows to a CSV, replacing it."""
    with path.open("w", encoding="utf-8", newline="") as file:
        table = csv.DictWriter(file, [f.name for f in fields(Row)], lineterminator="\n")
        table.writeheader()
        for place in sorted(rows):
            table.writerow({k: f"{v:.6g}" if isinstance(v, float) else v for k, v in asdict(rows[place]).items()})


def _judged(place: tuple[str, int], code: str) -> Row:
    kind, seed = place
    return judge(kind, seed, kinds()[kind], code)


def run(chosen: Sequence[str], *, seeds: Sequence[int], folder: Path, keep: bool, jobs: int) -> Iterator[Row]:
    """Judge every case that has no row of this code yet, and yield its row; the CSV is renewed after each."""
    folder.mkdir(parents=True, exist_ok=True)
    path, code = folder / ROWS, fingerprint()
    rows = read_rows(path)
    asked = [(kind, seed) for seed in seeds for kind in chosen]
    missing = [place for place in asked if place not in rows or not (keep or rows[place].code == code)]
    with ProcessPoolExecutor(jobs, initializer=one_thread) as pool:
        for row in pool.map(partial(_judged, code=code), missing):
            rows[row.kind, row.seed] = row
            write_rows(path, rows)
            yield row


def table(rows: Mapping[tuple[str, int], Row]) -> str:
    """Return the results as a Markdown page."""
    lines = [
        "# Is any area wrong without a word?",
        "",
        "Drawn photos of known truth with one trap each, measured as a user would",
        "(`python -m calibration.studies.silent`). Caught: refused with a sentence. Asked: a question stands",
        "beside the number. Holds: the truth lies inside the ±.",
        "Told: it does not, but a note names the cause. Silent: it does not, and nothing names the cause. Sum holds:",
        "another number of parts was found, without a word, and the ± holds their whole area.",
        "",
        "| trap | scenes | caught | asked | ± holds | sum holds | told | silent | largest error held, % | caught by |",
        "|---|---|---|---|---|---|---|---|---|---|",
    ]
    for kind in sorted({row.kind for row in rows.values()}):
        own = [row for row in rows.values() if row.kind == kind]
        count = {outcome: sum(row.outcome == outcome for row in own) for outcome in OUTCOMES}
        errors = [abs(row.error) for row in own if row.outcome == "holds"]
        worst = f"{max(errors):.2f}" if errors else ""
        silent = count["silent"] + count["crash"]
        codes = Counter(row.codes for row in own if row.outcome == "caught")
        by = ", ".join(f"`{code}` {times}" for code, times in codes.most_common())
        lines.append(
            f"| {kind} | {len(own)} | {count['caught']} | {count['asked']} | {count['holds']} | {count['sum holds']} "
            f"| {count['told']} "
            f"| {silent} | {worst} | {by} |"
        )
    return "\n".join(lines) + "\n"


def main() -> None:
    known = sorted(kinds())
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--kinds", nargs="*", choices=known, default=known)
    options.add_argument("--first", type=int, default=JUDGED, help="first seed; checks were set on those below")
    options.add_argument("--scenes", type=int, default=20)
    options.add_argument("--jobs", type=int, default=2)
    options.add_argument("--out", type=Path, default=HERE, help="folder of the CSV and the table")
    options.add_argument("--keep", action="store_true", help="keep rows that other code made")
    chosen = options.parse_args()
    seeds = range(chosen.first, chosen.first + chosen.scenes)
    for row in run(chosen.kinds, seeds=seeds, folder=chosen.out, keep=chosen.keep, jobs=chosen.jobs):
        sys.stdout.write(
            f"{row.kind} {row.seed}: {row.outcome} {row.error:+.2f} % of ± {row.expanded:.2f} % "
            f"{row.codes} ({row.words})\n"
        )
        sys.stdout.flush()
    (chosen.out / RESULTS).write_text(table(read_rows(chosen.out / ROWS)), encoding="utf-8")


if __name__ == "__main__":
    main()
