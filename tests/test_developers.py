"""What DEVELOPERS.md names is there: files, types, commands."""

import importlib.util
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
TEXT = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
LONG = (ROOT / "tests" / "benchmarks" / "results.md").read_text(encoding="utf-8")
ROOMS = [
    ROOT,
    ROOT / "areakit",
    ROOT / "areakit" / "web",
    *(ROOT / "areakit" / room for room in ("imaging", "records")),
]
ROOMS += [ROOT / "areakit" / "imaging" / "marks", ROOT / "areakit" / "web" / "static", ROOT / "areakit" / "geometry"]
CODE = "\n".join(path.read_text(encoding="utf-8") for path in (ROOT / "areakit").rglob("*.py"))
DRAWING = re.search(r"```text\n(  photo .*?)```", TEXT, flags=re.DOTALL)


@pytest.mark.parametrize("name", sorted(set(re.findall(r"`([\w./-]+\.(?:py|js|csv|toml|md))`", TEXT)) - {"CHANGES.md"}))
def test_each_file_is_there(name: str) -> None:
    assert any((room / name).is_file() for room in ROOMS), name


@pytest.mark.parametrize("name", sorted(set(re.findall(r"python -m ((?:calibration|tests)\.[\w.]+)", TEXT + LONG))))
def test_each_command_can_be_started(name: str) -> None:
    spec = importlib.util.find_spec(name)
    assert spec is not None, name
    assert spec.origin is not None
    assert '__name__ == "__main__"' in Path(spec.origin).read_text(encoding="utf-8"), name


def test_each_type_of_the_drawing_is_a_class() -> None:
    assert DRAWING is not None
    names = set(re.findall(r"\b(?:[A-Z][a-z]+)+\b", DRAWING.group(1)))
    assert len(names) > 15
    assert not [name for name in names if not re.search(rf"^class {name}\b", CODE, flags=re.MULTILINE)]


def test_each_name_in_code_letters_of_how_to_add_is_in_the_code() -> None:
    section = TEXT.split("## How to add\n")[1].split("\n## ")[0]
    tests = "\n".join(path.read_text(encoding="utf-8") for path in (ROOT / "tests").rglob("*.py"))
    page = (ROOT / "areakit" / "web" / "static" / "scale.js").read_text(encoding="utf-8")
    names = set(re.findall(r"`(_?[A-Z]\w+|[a-z]+_[a-z_]+)`", section))
    assert len(names) > 10
    data = "\n".join(path.read_text(encoding="utf-8") for path in (ROOT / "areakit" / "data").glob("*.[ct]*"))
    assert not [name for name in names if not re.search(rf"\b{name}\b", CODE + tests + page + data)]


def test_the_drawing_keeps_its_right_edges() -> None:
    assert DRAWING is not None
    for line in DRAWING.group(1).splitlines():
        assert len(line) < 125
    boxes = [
        line for line in DRAWING.group(1).splitlines() if line.startswith(" " * 21 + "┌") or " " * 21 + "└" in line
    ]
    assert boxes
    assert len({line.rindex("┐" if "┐" in line else "┘") for line in boxes}) == 1
