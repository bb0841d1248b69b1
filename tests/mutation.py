"""Change the code by one small thing at a time: do the tests of its own room notice?

    python -m tests.mutation areakit/units.py areakit/plating --each 25
    python -m tests.mutation areakit/imaging/lens_fit.py --scale --tests tests/imaging/test_lens_fit.py

Each mutant differs in one operator, comparison, condition, number or returned value. ``--scale`` takes instead three
times and a third of every number. Only tests of the room that reach the changed line are run, the quick ones first,
until one fails or ``--limit`` is over, which counts as noticed; that is processor time, so other work does not count.
Left out: words and how much of a foreign text they quote, decorators, annotations, ``zip(strict=)``.
Prints the survivors and a table, and returns the number of survivors.
"""

from __future__ import annotations

import argparse
import ast
import functools
import gc
import importlib.abc
import importlib.machinery
import importlib.util
import json
import os
import random
import resource
import sys
import tempfile
import time
import types
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import coverage
import pytest

ROOT = Path(__file__).resolve().parents[1]
OWN = {
    "units": ["tests/test_units.py", "tests/properties/test_units_properties.py"],
    "uncertainty": ["tests/test_uncertainty.py", "tests/properties/test_propagation_properties.py"],
}
"""Tests of a room that is no folder; of one that is, the folder of the same name."""

EDGE = {ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt}
CONTRARY = {
    ast.Lt: ast.GtE, ast.LtE: ast.Gt, ast.Gt: ast.LtE, ast.GtE: ast.Lt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
OTHER = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.FloorDiv: ast.Mult, ast.Mod: ast.Mult,
    ast.Pow: ast.Mult, ast.And: ast.Or, ast.Or: ast.And,
}  # fmt: skip

BROKEN = 77
"""Exit status of a child that could not try its mutant."""

WAITS = 20
"""So many times the limit, by the clock, ends a mutant that waits for ever."""

Change = Callable[[], None]


def changes(node: ast.AST, *, scale: bool) -> Iterator[Change]:
    """Yield what can be done to one node, each to be done once, in place."""

    def put(field: str, value: object) -> Change:
        return lambda: setattr(node, field, value)

    if isinstance(node, ast.Constant):
        yield from (put("value", to) for to in _other_values(node.value, scale=scale))
    elif scale:
        return
    elif isinstance(node, ast.Compare):
        for i, op in enumerate(node.ops):
            others = [table[type(op)]() for table in (EDGE, CONTRARY) if type(op) in table]
            yield from (put("ops", [*node.ops[:i], other, *node.ops[i + 1 :]]) for other in others)
    elif isinstance(node, ast.BinOp | ast.AugAssign | ast.BoolOp) and type(node.op) in OTHER:
        yield put("op", OTHER[type(node.op)]())
    elif isinstance(node, ast.UnaryOp):
        minus, denied = isinstance(node.op, ast.USub), ast.UnaryOp(ast.Not(), node.operand)
        yield put("op", ast.UAdd()) if minus else put("operand", denied)
    elif isinstance(node, ast.If | ast.IfExp | ast.While) and isinstance(
        node.test, ast.Name | ast.Attribute | ast.Call
    ):
        yield put("test", ast.UnaryOp(ast.Not(), node.test))
    elif isinstance(node, ast.Return) and not (node.value is None or ast.unparse(node.value) == "None"):
        yield put("value", ast.Constant(None))


def _other_values(value: object, *, scale: bool) -> list[object]:
    if isinstance(value, bool):
        return [] if scale else [not value]
    if isinstance(value, int):
        return [to for to in (3 * value, max(round(value / 3), 1)) if to != value and value] if scale else [value + 1]
    if isinstance(value, float):
        return [3.0 * value, value / 3.0] * (value != 0.0) if scale else [1.5 * value or 1.0]
    return []


def nodes(tree: ast.AST) -> Iterator[tuple[ast.AST, ast.stmt, ast.FunctionDef | None]]:
    """Yield each node that may be changed, its statement, and the function or method of the module that holds it."""

    def below(
        node: ast.AST, inside: ast.stmt | None, function: ast.FunctionDef | None, *, quoted: bool = False
    ) -> Iterator[tuple[ast.AST, ast.stmt, ast.FunctionDef | None]]:
        for field, value in ast.iter_fields(node):
            if field in {"decorator_list", "annotation", "returns"} or (quoted and isinstance(node, ast.Slice)):
                continue
            # Defaults are worked out where the function is defined, not where it runs.
            home = None if function is node and field == "args" else function
            for child in value if isinstance(value, list) else [value]:
                if isinstance(child, ast.keyword) and child.arg == "strict":
                    continue
                if isinstance(child, ast.If) and ast.unparse(child.test) == "TYPE_CHECKING":
                    continue
                if isinstance(child, ast.AST):
                    statement = child if isinstance(child, ast.stmt) else inside
                    at = home or (child if isinstance(child, ast.FunctionDef) else None)
                    if statement is not None:
                        yield child, statement, at if at is not child else None
                    yield from below(child, statement, at, quoted=quoted or isinstance(child, ast.JoinedStr))

    yield from below(tree, None, None)


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change: the module, which node and change of it, and what it does in words."""

    path: Path
    node: int
    change: int
    words: str
    lines: range
    function: tuple[str, int] | None

    def tree(self) -> ast.Module:
        """Return the changed module."""
        tree = ast.parse(self.path.read_text(encoding="utf-8"))
        node = list(nodes(tree))[self.node][0]
        list(_all_changes(node))[self.change]()
        return ast.fix_missing_locations(tree)

    def code(self) -> types.CodeType:
        """Return the changed module, compiled."""
        return compile(self.tree(), str(self.path), "exec", dont_inherit=True)


def _all_changes(node: ast.AST) -> Iterator[Change]:
    for scale in (False, True):
        yield from changes(node, scale=scale)


def mutants(path: Path, *, scale: bool, most: int | None = None, seed: int = 1) -> list[Mutant]:
    """Return all mutants of a module, or so many of them drawn at random."""
    source = path.read_text(encoding="utf-8")
    places = []
    for index, (node, *_) in enumerate(nodes(ast.parse(source))):
        plain = len(list(changes(node, scale=False)))
        wanted = range(plain, len(list(_all_changes(node)))) if scale else range(plain)
        places += [(index, change) for change in wanted]
    if most is not None and most < len(places):
        places = random.Random(f"{seed} {path.name}").sample(places, most)
    return [_mutant(path, source, *place) for place in places]


def _mutant(path: Path, source: str, index: int, change: int) -> Mutant:
    node, statement, function = list(nodes(ast.parse(source)))[index]
    whole: ast.AST = statement if isinstance(node, ast.Constant) else node
    before = _header(whole)
    list(_all_changes(node))[change]()
    words = (
        f"{path.relative_to(ROOT)}:{getattr(node, 'lineno', statement.lineno)}: {_differing(before, _header(whole))}"
    )
    home = None
    if function is not None:
        home = (function.name, min([function.lineno, *(one.lineno for one in function.decorator_list)]))
    return Mutant(path, index, change, words, _lines(statement), home)


def _header(node: ast.AST) -> str:
    return ast.unparse(node).split("\n")[0]


def _differing(before: str, after: str) -> str:
    """Return both texts, cut to a little more than where they differ."""
    most = min(len(before), len(after))
    start = next((i for i in range(most) if before[i] != after[i]), most)
    end = next((i for i in range(most - start) if before[-1 - i] != after[-1 - i]), most - start)
    low = max(start - 30, 0)
    return f"`{before[low : len(before) - end + 20]}` > `{after[low : len(after) - end + 20]}`"


def _lines(statement: ast.stmt) -> range:
    body = getattr(statement, "body", None)
    last = body[0].lineno if body else (statement.end_lineno or statement.lineno) + 1
    return range(statement.lineno, max(last, statement.lineno + 1))


class Mutated(importlib.abc.MetaPathFinder):
    """Finds one module in its changed form."""

    def __init__(self, mutant: Mutant) -> None:
        self.mutant = mutant
        self.name = _name(mutant.path)

    def find_spec(self, name: str, path: object = None, target: object = None) -> importlib.machinery.ModuleSpec | None:
        if name != self.name:
            return None
        loader = importlib.machinery.SourceFileLoader(name, str(self.mutant.path))
        loader.get_code = lambda fullname: self.mutant.code()  # type: ignore[method-assign]
        return importlib.util.spec_from_file_location(name, self.mutant.path, loader=loader)


def _name(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).with_suffix("").parts)


def _codes(code: types.CodeType) -> Iterator[types.CodeType]:
    yield code
    for const in code.co_consts:
        if isinstance(const, types.CodeType):
            yield from _codes(const)


class Room:
    """One run of pytest over the tests of a room: collected once, each mutant in a fork of it."""

    def __init__(self, wanted: list[Mutant], *, jobs: int, limit: float) -> None:
        self.wanted, self.jobs, self.limit = wanted, jobs, limit
        self.survivors: list[Mutant] = []
        self.functions: list[types.FunctionType] = []
        self.caches: list[functools._lru_cache_wrapper[object]] = []
        self.done = False

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        self._look_up()
        seconds, reach = self._traced(session)
        gc.freeze()
        running: dict[int, tuple[Mutant, float]] = {}
        queue = list(self.wanted)
        while queue or running:
            while queue and len(running) < self.jobs:
                mutant = queue.pop(0)
                running[self._start(session, mutant, seconds, reach)] = (mutant, time.monotonic())
            pid, status = os.waitpid(-1, os.WNOHANG)
            if not pid:
                for late, (_, since) in running.items():
                    if time.monotonic() - since > WAITS * self.limit:
                        os.kill(late, 9)
                time.sleep(0.01)
            elif pid in running:
                mutant, _ = running.pop(pid)
                if os.WIFEXITED(status) and os.WEXITSTATUS(status) == BROKEN:
                    raise SystemExit(f"Could not try {mutant.words}")
                if status == 0:
                    self.survivors.append(mutant)
                    print("SURVIVES", mutant.words, flush=True)
        self.done = True
        return True

    def _look_up(self) -> None:
        """Find the functions that may change, and the caches that may hold what they gave before."""
        names = {str(mutant.path) for mutant in self.wanted}
        gc.unfreeze()
        for thing in gc.get_objects():
            if isinstance(thing, types.FunctionType) and thing.__code__.co_filename in names:
                self.functions.append(thing)
            elif isinstance(thing, functools._lru_cache_wrapper):
                self.caches.append(thing)

    def _forget(self, modules: set[str]) -> None:
        """Empty the caches of some modules: they may hold what was worked out before, such as a table."""
        for cached in self.caches:
            if cached.__module__ in modules:
                cached.cache_clear()

    def _traced(self, session: pytest.Session) -> tuple[dict[str, float], dict[str, dict[int, set[str]]]]:
        """Return how long each test takes, and which tests reach which line of each module."""
        paths = sorted({str(mutant.path) for mutant in self.wanted})
        with tempfile.NamedTemporaryFile("w+", suffix=".json") as kept:
            if not (pid := os.fork()):
                _silence()
                meter = coverage.Coverage(data_file=None, include=paths, config_file=False)
                meter.start()
                seconds, modules = {}, {_name(mutant.path) for mutant in self.wanted}
                for item in session.items:
                    self._forget(modules)
                    meter.switch_context(item.nodeid)
                    begin = time.monotonic()
                    _run(session, [item])
                    seconds[item.nodeid] = time.monotonic() - begin
                    if session.testsfailed:
                        kept.write(json.dumps(item.nodeid))
                        kept.flush()
                        os._exit(1)
                meter.stop()
                reach = {path: meter.get_data().contexts_by_lineno(path) for path in paths}
                Path(kept.name).write_text(json.dumps([seconds, reach]), encoding="utf-8")
                os._exit(0)
            status = os.waitpid(pid, 0)[1]
            found = json.loads(kept.read())
        if status:
            raise SystemExit(f"{found} fails as the code stands, so it would say nothing of a change.")
        return found[0], {
            path: {int(line): set(names) for line, names in lines.items()} for path, lines in found[1].items()
        }

    def _start(
        self, session: pytest.Session, mutant: Mutant, seconds: dict[str, float], reach: dict[str, dict[int, set[str]]]
    ) -> int:
        lines = reach[str(mutant.path)]
        if mutant.function is None:
            near = set().union(*lines.values())
            names = sorted(seconds, key=lambda name: (name not in near, seconds[name]))
        else:
            names = sorted(
                set().union(*(lines.get(line, set()) for line in mutant.lines)) - {""}, key=seconds.__getitem__
            )
        if pid := os.fork():
            return pid
        try:
            _silence()
            resource.setrlimit(resource.RLIMIT_CPU, (int(self.limit), int(self.limit)))
            self._forget({_name(mutant.path)})
            by_name = {item.nodeid: item for item in session.items}
            if _swap(mutant, self.functions):
                _run(session, [by_name[name] for name in names])
                if session.testsfailed or mutant.function is not None:
                    os._exit(int(session.testsfailed > 0))
            command = [sys.executable, "-m", "tests.mutation", "--one", str(mutant.path), str(mutant.node)]
            os.execv(sys.executable, [*command, str(mutant.change), *names])
        finally:
            os._exit(BROKEN)


def _run(session: pytest.Session, items: Sequence[pytest.Item]) -> None:
    for item, following in zip(items, [*items[1:], None], strict=False):
        session.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
        if session.testsfailed:
            return


def _swap(mutant: Mutant, functions: Sequence[types.FunctionType]) -> bool:
    """Change what is loaded: the functions made of the changed source, or the constants of a statement.

    False where neither is changed. What was worked out from a constant while it was loaded stays as it was.
    """
    if mutant.function is None:
        return _reassign(mutant)
    new = {(code.co_qualname, code.co_firstlineno): code for code in _codes(mutant.code())}
    found = False
    for one in functions:
        code = new.get((one.__code__.co_qualname, one.__code__.co_firstlineno))
        if one.__code__.co_filename == str(mutant.path) and code is not None and "<" not in code.co_qualname:
            one.__code__ = code
            found |= (code.co_name, code.co_firstlineno) == mutant.function
    return found


def _reassign(mutant: Mutant) -> bool:
    statement = next((one for one in mutant.tree().body if one.lineno == mutant.lines.start), None)
    module = sys.modules.get(_name(mutant.path))
    if module is None or not isinstance(statement, ast.Assign):
        return False
    before, after = dict(vars(module)), dict(vars(module))
    exec(compile(ast.Module([statement], []), str(mutant.path), "exec"), after)
    for name, value in after.items():
        if name in before and value is not before[name]:
            for one in list(sys.modules.values()):
                if vars(one).get(name) is before[name]:
                    setattr(one, name, value)
    return True


def _silence() -> None:
    nowhere = os.open(os.devnull, os.O_RDWR)
    for number in (0, 1, 2):
        os.dup2(nowhere, number)


def _pytest(tests: list[str], *plugins: object) -> int:
    with tempfile.TemporaryDirectory() as folder:
        quiet = [
            "-x",
            "-s",
            "-q",
            "-n",
            "0",
            "-p",
            "no:cacheprovider",
            "-o",
            "tmp_path_retention_policy=none",
            "-o",
            "timeout=0",
        ]
        return int(pytest.main([*quiet, f"--basetemp={folder}/tests", *tests], plugins=list(plugins)))


def main() -> int:
    if sys.argv[1:2] == ["--one"]:
        path, node, change, *tests = sys.argv[2:]
        sys.meta_path.insert(0, Mutated(Mutant(Path(path), int(node), int(change), "", range(0), None)))
        return _pytest(tests)
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("modules", nargs="+", help="files and folders of areakit")
    parser.add_argument("--tests", nargs="+", help="tests to run, in place of the room's own")
    parser.add_argument("--each", type=int, default=25, help="most mutants of one module, drawn at random")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--scale", action="store_true", help="three times and a third of every number")
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--limit", type=float, default=120.0, help="processor seconds for one mutant")
    parser.add_argument("--only", default="", help="mutants whose words hold this text")
    given = parser.parse_args()
    rooms: dict[str, list[Path]] = defaultdict(list)
    for name in given.modules:
        path = (ROOT / name).resolve()
        for one in sorted(path.rglob("*.py")) if path.is_dir() else [path]:
            rooms[one.relative_to(ROOT).parts[1].removesuffix(".py")].append(one)
    rows, survivors = [], []
    for room, paths in rooms.items():
        wanted: list[Mutant] = []
        for path in paths:
            found = mutants(path, scale=given.scale, most=None if given.scale else given.each, seed=given.seed)
            wanted += [one for one in found if given.only in one.words]
        tests = given.tests or [one for one in OWN.get(room, [f"tests/{room}"]) if (ROOT / one).exists()]
        run = Room(wanted, jobs=given.jobs, limit=given.limit)
        _pytest(tests, run)
        if not run.done:
            sys.exit(f"The tests of {room} could not be run.")
        survivors += run.survivors
        killed = len(wanted) - len(run.survivors)
        rows.append(
            f"| {room} | {len(paths)} | {len(wanted)} | {killed} | {100 * killed / max(len(wanted), 1):.1f} % |"
        )
    print("\n| room | modules | mutants | noticed | share |\n|---|---|---|---|---|", *rows, sep="\n")
    return len(survivors)


if __name__ == "__main__":
    os.environ.update(OMP_NUM_THREADS="1", OPENBLAS_NUM_THREADS="1")
    sys.path.insert(0, str(ROOT))
    sys.exit(min(main(), 125))
