"""Run the checks that need no test: format, lint, types. The same before a commit and in CI."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
CHECKS = (
    ("format", ["ruff", "format", "--check", "."]),
    ("lint", ["ruff", "check", "."]),
    ("types", ["mypy"]),
)


def main() -> int:
    """Run all checks, say which failed, and return 1 if any did."""
    failed = []
    for name, command in CHECKS:
        sys.stdout.write(f"== {name}\n")
        sys.stdout.flush()
        if subprocess.run([sys.executable, "-m", *command], cwd=ROOT, check=False).returncode:
            failed.append(name)
    sys.stdout.write(f"failed: {', '.join(failed)}\n" if failed else "all checks passed\n")
    return 1 if failed else 0


if __name__ == "__main__":
    raise SystemExit(main())
