"""A machine that lacks something is told what, in one line; and so is whoever asks for what it cannot do."""

import json
import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from areakit.cli.main import group
from areakit.libraries import LIBRARIES, missing_library

ROOT = Path(__file__).resolve().parents[2]
PHOTO = str(ROOT / "demo_images" / "foil-shape.jpg")
# What the loader of glibc says; the first two are what opencv-python 5 and 4 raise on a bare Debian.
LOADER = {
    "libxcb.so.1": "libxcb.so.1: cannot open shared object file: No such file or directory",
    "libGL.so.1": "libGL.so.1: cannot open shared object file: No such file or directory",
    "libgthread-2.0.so.0": "libgthread-2.0.so.0: cannot open shared object file: No such file or directory",
}


def doctor(*options: str) -> Result:
    return CliRunner().invoke(group, ["doctor", *options])


def broken(folder: Path, module: str, words: str) -> dict[str, str]:
    """Return an environment in which a module cannot be loaded."""
    (folder / f"{module}.py").write_text(f"raise ImportError({words!r})\n", encoding="utf-8")
    return os.environ | {"PYTHONPATH": f"{folder}{os.pathsep}{ROOT}", "AREAKIT_JOURNAL": str(folder / "j.sqlite")}


def areakit(arguments: list[str], environment: dict[str, str]) -> "subprocess.CompletedProcess[str]":
    call = [sys.executable, "-m", "areakit", *arguments]
    return subprocess.run(call, env=environment, capture_output=True, text=True, check=False, cwd=ROOT)


def test_this_machine_measures(tmp_path: Path) -> None:
    told = doctor("--journal", str(tmp_path / "j.sqlite"))
    assert told.exit_code == 0, told.output
    assert "MISSING" not in told.output
    assert not list(tmp_path.iterdir())
    body = json.loads(doctor("--json").stdout)
    assert body["measures"] is True
    assert {
        "Python",
        "OpenCV",
        "HEIC photos",
        "PDF written and read",
        "journal",
        "letters",
        "words from right to left",
    } <= {one["name"] for one in body["findings"]}


def test_a_journal_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    told = doctor("--journal", str(tmp_path))
    assert told.exit_code == 0
    assert "is a folder" in told.output
    assert "AREAKIT_JOURNAL" in told.output


def test_letters_that_cannot_be_printed_are_told(tmp_path: Path) -> None:
    environment = os.environ | {"PYTHONIOENCODING": "latin-1", "PYTHONPATH": str(ROOT), "PYTHONUTF8": "0"}
    done = subprocess.run(
        [sys.executable, "-m", "areakit", "doctor"], env=environment, capture_output=True, check=False, cwd=ROOT
    )
    assert b"PYTHONUTF8" in done.stdout, done.stdout + done.stderr
    assert done.returncode == 0
    claims = ["--area=12.5 cm2", "--metal=gold", "--thickness=0.5 um", "--thickness-is=mean", "--mass=9 mg"]
    call = [sys.executable, "-m", "areakit", "check", *claims]
    told = subprocess.run(call, env=environment, capture_output=True, check=False, cwd=ROOT)
    assert (told.returncode, b"Traceback" in told.stderr) == (2, False)
    assert b"PYTHONUTF8" in told.stderr


@pytest.mark.parametrize("library", LOADER)
def test_the_doctor_names_what_opencv_lacks(tmp_path: Path, library: str) -> None:
    done = areakit(["doctor"], broken(tmp_path, "cv2", LOADER[library]))
    assert done.returncode == 5
    line = next(line for line in done.stdout.splitlines() if "OpenCV" in line)
    assert line.startswith("MISSING")
    assert library in line
    assert "apt-get install --no-install-recommends libgl1 libglib2.0-0" in done.stdout


COMMANDS = [
    ["measure", PHOTO],
    ["measure", PHOTO, PHOTO],
    ["measure", PHOTO, PHOTO, "--jobs", "2", "--json"],
    ["measure", PHOTO, PHOTO, "--same-parts"],
    ["plan", PHOTO, "--process", "nickel-tank", "--layer", "nickel=5 um"],
    ["deposit", PHOTO, "--metal", "gold", "--charge", "3 A.min", "--efficiency", "72%"],
    ["demo"],
    ["verify", PHOTO, "--piece", "eur-1"],
    ["repeat", PHOTO, PHOTO],
    ["lens-check", PHOTO],
    ["serve", "--port", "0"],
]


@pytest.mark.parametrize("arguments", COMMANDS, ids=lambda one: " ".join(Path(word).name for word in one[:3]))
def test_a_command_that_needs_opencv_says_in_one_line_what_it_lacks(tmp_path: Path, arguments: list[str]) -> None:
    done = areakit(arguments, broken(tmp_path, "cv2", LOADER["libGL.so.1"]))
    assert done.returncode == 5, done.stderr
    (line,) = done.stderr.strip().splitlines()
    assert line.startswith("areakit: The system library libGL.so.1 cannot be loaded.")
    assert "libgl1 libglib2.0-0" in line
    assert done.stdout == ""


def test_a_python_library_is_named_as_it_is_installed() -> None:
    told = missing_library(ModuleNotFoundError("No module named 'skimage'", name="skimage"))
    assert "python -m pip install scikit-image" in told.remedy


def test_a_library_that_fails_within_itself_is_named(tmp_path: Path) -> None:
    # what a build of OpenCV says that was made for another numpy
    environment = broken(tmp_path, "cv2", "numpy.core.multiarray failed to import")
    done = areakit(["measure", PHOTO], environment)
    assert done.returncode == 5
    (line,) = done.stderr.strip().splitlines()
    assert "opencv-python cannot be loaded: numpy.core.multiarray failed to import." in line


def test_a_defect_of_areakit_itself_looks_like_one() -> None:
    defect = ImportError("cannot import name 'no' from 'areakit.units'", name="areakit.units")
    with pytest.raises(ImportError, match="cannot import name"):
        missing_library(defect)


def test_every_dependency_is_known_by_its_name() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = [*project["dependencies"], *project["optional-dependencies"]["dxf"]]
    assert {line.split(">")[0].strip() for line in wanted} == set(LIBRARIES.values())
    assert set(project["optional-dependencies"]["dxf"]) <= set(project["optional-dependencies"]["dev"])
