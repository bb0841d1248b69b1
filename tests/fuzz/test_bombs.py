"""Small files that unfold to very much are refused at once, in every format that is read."""

import re
import subprocess
import sys

import pytest

from areakit.imaging.photo import FORMATS
from tests.fuzz.bombs import BOMBS, MEMORY, SECONDS
from tests.fuzz.targets import READERS

NAMES = {"HEIF": "HEIC"}


def test_every_format_that_is_read_has_one() -> None:
    there = {name.split(",")[0].casefold() for name in BOMBS}
    assert {NAMES.get(name, name).casefold() for name in FORMATS} <= there
    assert {one.reader for one in BOMBS.values()} <= set(READERS)
    assert {"svg", "dxf", "pdf", "geojson", "wkt"} <= there


REFUSED_FOR = (
    r"limit|more than|more pixels|damaged|not a |not JSON|not say that this is an export|compressed|no finite|no two"
)


@pytest.mark.thorough
def test_none_takes_much_time_or_memory_and_all_are_refused() -> None:
    run = subprocess.run([sys.executable, "-m", "tests.fuzz.bombs"], capture_output=True, text=True, timeout=110)
    assert run.returncode == 0, run.stdout + run.stderr[-2000:]
    rows = [line.strip("| ").split(" | ") for line in run.stdout.splitlines()[2:]]
    assert [row[0] for row in rows] == list(BOMBS)
    for name, _, _, told, seconds, megabytes in rows:
        assert re.search(REFUSED_FOR, told), (
            name,
            told,
        )
        assert float(seconds) <= SECONDS, name
        assert float(megabytes) * 1e6 <= MEMORY, name
