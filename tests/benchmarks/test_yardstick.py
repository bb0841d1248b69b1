"""The yardstick of the benchmarks is a fair one, and its photos are what they claim."""

from pathlib import Path

import pytest

from tests.benchmarks.plain_script import part_areas
from tests.benchmarks.scenes import Shot, shots
from tests.benchmarks.speed import errors, tool


@pytest.fixture(scope="module")
def shot(tmp_path_factory: pytest.TempPathFactory) -> Shot:
    (one,) = shots(tmp_path_factory.mktemp("shots"), ("3 MP",), (1,))
    return one


def test_the_script_finds_the_part_and_comes_close(shot: Shot) -> None:
    (area,) = part_areas(shot.path.read_bytes())
    assert area == pytest.approx(shot.areas_mm2[0], rel=0.03)


def test_the_tool_holds_the_truth_within_what_it_states(shot: Shot) -> None:
    found = tool(shot, shot.path.read_bytes())
    assert errors(shot, found).endswith("1 of 1 within")
    assert errors(shot, [(found[0][0] * 1.2, found[0][1])]).endswith("0 of 1 within")
    assert errors(shot, []) == "0 of 1 parts"


def test_photos_are_drawn_once(shot: Shot) -> None:
    before = shot.path.stat().st_mtime_ns
    shots(Path(shot.path).parent, ("3 MP",), (1,))
    assert shot.path.stat().st_mtime_ns == before
