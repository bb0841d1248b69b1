"""The same photo with the same settings gives the same answer to the last digit."""

import io
import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import ExifTags, Image

from areakit.datafiles import data_dir
from areakit.service.measure import MeasureRequest, measure_bytes, result_json

ROOT = Path(__file__).resolve().parents[1]
DEMO = data_dir("demo_images")
PHOTOS = ["pierced-badge.jpg", "white-field.jpg"]
REQUEST = MeasureRequest(thickness="1.2 mm", faces="all", check_lengths="150.1 x 90 mm")

# How pixels must be stored so that the tag turns them upright (JEITA CP-3451, 4.6.4, table of Orientation).
STORED = {
    1: lambda p: p,
    2: lambda p: p[:, ::-1],
    3: lambda p: p[::-1, ::-1],
    4: lambda p: p[::-1],
    5: lambda p: p.transpose(1, 0, 2),
    6: lambda p: p.transpose(1, 0, 2)[::-1],
    7: lambda p: p[::-1, ::-1].transpose(1, 0, 2),
    8: lambda p: p.transpose(1, 0, 2)[:, ::-1],
}


def printed(threads: int, hash_seed: int, *options: str) -> str:
    """Return what the command prints with so many threads in every library, in a process of its own."""
    names = ("OPENCV_FOR_THREADS_NUM", "OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS")
    environment = {**os.environ, **dict.fromkeys(names, str(threads)), "PYTHONHASHSEED": str(hash_seed)}
    command = [sys.executable, "-m", "areakit", "measure", *(str(DEMO / name) for name in PHOTOS), "--json", *options]
    done = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False, timeout=100)
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.mark.thorough
def test_no_digit_depends_on_threads_processes_or_chance() -> None:
    first = printed(1, 1, "--jobs", "1")
    assert [json.loads(line)["photo"] for line in first.splitlines()] == PHOTOS
    assert printed(4, 2, "--jobs", "1") == first
    assert printed(2, 3, "--jobs", "3") == first


@pytest.fixture(scope="module")
def upright() -> np.ndarray:
    with Image.open(DEMO / "pierced-badge.jpg") as image:
        return np.asarray(image.convert("RGB").reduce(3))


def answer(upright: np.ndarray, orientation: int) -> dict:
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = orientation
    page = io.BytesIO()
    Image.fromarray(np.ascontiguousarray(STORED[orientation](upright))).save(page, "PNG", exif=exif, compress_level=1)
    found = measure_bytes(page.getvalue(), REQUEST, name="turned")
    assert found.error is None
    return result_json(found)


@pytest.fixture(scope="module")
def as_it_is(upright: np.ndarray) -> dict:
    return answer(upright, 1)


@pytest.mark.thorough
@pytest.mark.parametrize("orientation", [2, 3, 4, 5, 6, 7, 8])
def test_all_eight_orientations_give_the_same_areas(orientation: int, upright: np.ndarray, as_it_is: dict) -> None:
    assert answer(upright, orientation) == as_it_is
