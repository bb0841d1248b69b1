"""The borders of the house: who may import whom, and which libraries stay in which rooms."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2] / "areakit"

# Each layer may import itself and those before it. Rooms of one layer do not know each other.
LAYERS = [
    ["errors"],
    ["flags", "sources", "executors", "datafiles", "foreign_text", "libraries", "output", "plural", "uncertainty"],
    ["units"],
    ["geometry"],
    ["imaging", "plating"],
    ["costing", "synthetic"],
    ["records"],
    ["reports"],
    ["service"],
    ["api"],
    ["cli", "web", "__main__"],
]
RANK = {name: rank for rank, names in enumerate(LAYERS) for name in names}
SAME_LAYER_OK = {("uncertainty", "flags"), ("cli", "cli"), ("cli", "web"), ("__main__", "cli")}

LIBRARY_ROOMS = {
    "cv2": {"imaging", "synthetic"},
    "skimage": {"imaging", "synthetic"},
    "shapely": {"geometry", "imaging", "synthetic", "plating", "api"},
    "pint": {"units"},
    "starlette": {"web"},
    "uvicorn": {"web"},
    "segno": {"web", "reports"},
    "click": {"cli"},
    "reportlab": {"reports"},
    "sqlite3": {"records"},
    "pydantic": {"service", "records", "cli", "web", "costing", "plating"},
}


def room(path: Path) -> str:
    return path.relative_to(ROOT).parts[0].removesuffix(".py")


def imports(path: Path) -> list[str]:
    found = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
            if node.module == "areakit":
                found += [f"areakit.{alias.name}" for alias in node.names]
            else:
                found.append(node.module)
    return found


MODULES = sorted(p for p in ROOT.rglob("*.py") if p.relative_to(ROOT).parts[0] not in {"_data"})


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(ROOT)))
def test_imports_point_from_later_layers_to_earlier_ones(path: Path) -> None:
    here = room(path)
    if here == "__init__":
        return
    assert here in RANK, f"{here} has no place among the layers"
    for name in imports(path):
        if not name.startswith("areakit."):
            continue
        there = name.split(".")[1]
        if there == "__version__" or there == here or (here, there) in SAME_LAYER_OK:
            continue
        assert RANK[there] < RANK[here], f"{here} must not import {there}"


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(ROOT)))
def test_libraries_stay_in_their_rooms(path: Path) -> None:
    for name in imports(path):
        rooms = LIBRARY_ROOMS.get(name.split(".")[0])
        assert rooms is None or room(path) in rooms, f"{room(path)} must not import {name}"


def test_the_rule_sees_a_wrong_import(tmp_path: Path) -> None:
    wrong = tmp_path / "wrong.py"
    wrong.write_text("from areakit.cli import main\nimport pint.util\n", encoding="utf-8")
    assert imports(wrong) == ["areakit.cli", "pint.util"]
