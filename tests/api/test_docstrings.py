"""The examples in the docstrings of the Python API are true."""

import doctest
import importlib
import re
from pathlib import Path

import pytest

import areakit

MODULES = sorted({"areakit", *areakit.NAMES.values()})


def examples() -> list[doctest.DocTest]:
    finder = doctest.DocTestFinder(exclude_empty=True)
    return [test for name in MODULES for test in finder.find(importlib.import_module(name), name) if test.examples]


def test_the_example_in_the_readme_runs(capsys: pytest.CaptureFixture[str]) -> None:
    readme = (Path(__file__).resolve().parents[2] / "README.md").read_text(encoding="utf-8")
    block = re.search(r"```python\n(.*?)```", readme, flags=re.DOTALL)
    assert block is not None
    exec(block.group(1), {})
    assert re.match(r"45\.\d+ ± 0\.\d+ cm² \(.*\) 0\.\d+ ± 0\.\d+ A·min", capsys.readouterr().out)


def test_there_are_examples() -> None:
    assert len(examples()) >= 6


@pytest.mark.parametrize("example", examples(), ids=lambda one: one.name)
def test_an_example(example: doctest.DocTest) -> None:
    told: list[str] = []
    runner = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS)
    runner.run(example, out=told.append)
    assert runner.failures == 0, "".join(told)
