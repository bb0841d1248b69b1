"""Three times and a third of every named constant of a module, one at a time: which do its room's tests miss?

    python tests/mutate_constants.py areakit/imaging/budget.py
    python tests/mutate_constants.py areakit/imaging/marks/coin.py --tests tests/imaging/marks/test_coin_mark.py
    python tests/mutate_constants.py areakit/imaging/walls.py --only WALL_SHADE

Works in a copy of the tree, prints one line a change ("seen" or "SURVIVES"), and returns the number of survivors. The
tests are those of the room unless they are named; they run in the order given and stop at the first failure, so quick
ones go first.
"""

import argparse
import ast
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
CHANGES = {"times 3": lambda value: value * 3, "by 3": lambda value: value / 3}


def constants(source: str) -> Iterator[tuple[str, ast.Constant]]:
    """Yield name and number of each module-level constant; those of a tuple or a call one by one."""
    for node in ast.parse(source).body:
        if isinstance(node, ast.Assign):
            names, value = [ast.unparse(target) for target in node.targets], node.value
        elif isinstance(node, ast.AnnAssign) and node.value is not None:
            names, value = [ast.unparse(node.target)], node.value
        else:
            continue
        name = names[0]
        if name.strip("()").split(",")[0].isupper():
            numbers = [n for n in ast.walk(value) if isinstance(n, ast.Constant) and type(n.value) in (int, float)]
            for i, number in enumerate(numbers):
                yield (name if len(numbers) == 1 else f"{name}[{i}]"), number


def changed(source: str, number: ast.Constant, text: str) -> str:
    lines = source.splitlines(keepends=True)
    line = lines[number.lineno - 1].encode()
    before, after = line[: number.col_offset], line[number.end_col_offset :]
    lines[number.lineno - 1] = (before + f"({text})".encode() + after).decode()
    return "".join(lines)


def copy_tree(target: Path) -> None:
    for name in ("areakit", "tests"):
        shutil.copytree(ROOT / name, target / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "README.md", "DEVELOPERS.md", "calibration", "demo_images"):
        (target / name).symlink_to(ROOT / name)


def tests_fail(tree: Path, tests: list[str]) -> bool:
    command = [sys.executable, "-B", "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", *tests]
    environment = {**os.environ, "PYTHONPATH": str(tree), "OMP_NUM_THREADS": "1"}
    return subprocess.run(command, cwd=tree, env=environment, capture_output=True, check=False).returncode != 0


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("modules", nargs="+")
    parser.add_argument("--tests", nargs="+", help="files or folders of tests; the room's own unless given")
    parser.add_argument("--only", help="constants whose name starts with this")
    given = parser.parse_args()
    survivors = 0
    with tempfile.TemporaryDirectory() as folder:
        tree = Path(folder)
        copy_tree(tree)
        for module in given.modules:
            source = (ROOT / module).read_text(encoding="utf-8")
            tests = given.tests or [f"tests/{Path(module).parts[1]}"]
            if tests_fail(tree, tests):
                sys.exit(f"The tests fail as the tree stands, so they would say nothing of {module}.")
            for name, number in constants(source):
                if given.only and not name.startswith(given.only):
                    continue
                for how, change in CHANGES.items():
                    value = change(number.value)
                    value = max(round(value), 1) if isinstance(number.value, int) else value
                    if value == number.value:
                        continue
                    (tree / module).write_text(changed(source, number, repr(value)), encoding="utf-8")
                    survives = not tests_fail(tree, tests)
                    survivors += survives
                    print(f"{'SURVIVES' if survives else 'seen':8} {module} {name} {how}", flush=True)
            (tree / module).write_text(source, encoding="utf-8")
    return survivors


if __name__ == "__main__":
    sys.exit(main())
