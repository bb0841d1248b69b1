"""Attack every reader with broken input and print a table: ``python -m tests.fuzz.attack --cases 10000``.

Case n of a reader is the same on every run; ``--reader SVG --case 4711 --save FILE`` writes one to look at.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

from tests.fuzz.isolation import MEMORY, Findings, attack, case
from tests.fuzz.targets import READERS

HEAD = (
    "| reader | cases | answered | refused | other | defects | "
    f"slowest, s (limit) | memory, MB (limit {MEMORY / 1e6:.0f}) |"
)


def row(name: str, found: Findings) -> str:
    known = {"answer", "refused", "defect"}
    other = sum(count for outcome, count in found.outcomes.items() if outcome not in known)
    return (
        f"| {name} | {found.cases} | {found.outcomes['answer']} | {found.outcomes['refused']} | {other} | "
        f"{len(found.defects)} | {found.slowest:.2f} ({READERS[name].seconds:g}) | {found.peak_bytes / 1e6:.0f} |"
    )


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=10_000)
    parser.add_argument("--reader", action="append", choices=list(READERS))
    parser.add_argument("--start", type=int, default=0)
    parser.add_argument("--case", type=int)
    parser.add_argument("--save", type=Path)
    given = parser.parse_args()
    names = given.reader or list(READERS)
    if given.case is not None and given.save is not None:
        given.save.write_bytes(case(names[0], given.case))
        return 0
    print(HEAD + "\n|---|---|---|---|---|---|---|---|", flush=True)
    failed = 0
    for name in names:
        started = time.monotonic()
        found = attack(name, range(given.start, given.start + given.cases))
        print(row(name, found), flush=True)
        kinds: dict[str, list[int]] = {}
        for number, why in found.defects.items():
            kinds.setdefault(why, []).append(number)
        for why, numbers in list(kinds.items())[:20]:
            print(f"    {name}: {why}; {len(numbers)} case(s): {numbers[:8]}", file=sys.stderr, flush=True)
        print(f"    {name}: {time.monotonic() - started:.0f} s", file=sys.stderr, flush=True)
        failed += len(found.defects)
    return 1 if failed else 0


if __name__ == "__main__":
    raise SystemExit(main())
