"""Modules import each other in one direction, imports that wait inside functions included."""

import ast
import graphlib
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


def _name(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def _imported(tree: ast.AST) -> Iterator[str]:
    """Yield what is imported while the program runs; imports for types alone are left out."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
            continue
        if isinstance(node, ast.ImportFrom) and node.module:
            yield from (f"{node.module}.{one.name}" for one in node.names)
        elif isinstance(node, ast.Import):
            yield from (one.name for one in node.names)
        else:
            yield from _imported(node)


def _graph(sources: dict[str, str]) -> dict[str, set[str]]:
    graph = {}
    for name, source in sources.items():
        found = {one if one in sources else one.rpartition(".")[0] for one in _imported(ast.parse(source))}
        graph[name] = (found & set(sources)) - {name}
    return graph


def test_no_module_comes_back_to_itself() -> None:
    paths = (ROOT / "areakit").rglob("*.py")
    graph = _graph({_name(path): path.read_text(encoding="utf-8") for path in paths})
    assert sum(map(len, graph.values())) > 1000
    assert len(list(graphlib.TopologicalSorter(graph).static_order())) == len(graph)


def test_a_circle_through_a_function_is_seen() -> None:
    circle = {"room.a": "from room.b import thing", "room.b": "def f():\n    from room import a"}
    with pytest.raises(graphlib.CycleError):
        list(graphlib.TopologicalSorter(_graph(circle)).static_order())
    circle["room.b"] = "if TYPE_CHECKING:\n    from room import a"
    assert list(graphlib.TopologicalSorter(_graph(circle)).static_order()) == ["room.b", "room.a"]
