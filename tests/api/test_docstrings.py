"""The examples in the docstrings of the Python API are true."""

import doctest
import importlib

import pytest

import areakit

MODULES = sorted({"areakit", *areakit.NAMES.values()})


def examples() -> list[doctest.DocTest]:
    finder = doctest.DocTestFinder(exclude_empty=True)
    return [test for name in MODULES for test in finder.find(importlib.import_module(name), name) if test.examples]


def test_there_are_examples() -> None:
    assert len(examples()) >= 6


@pytest.mark.parametrize("example", examples(), ids=lambda one: one.name)
def test_an_example(example: doctest.DocTest) -> None:
    told: list[str] = []
    runner = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS)
    runner.run(example, out=told.append)
    assert runner.failures == 0, "".join(told)
