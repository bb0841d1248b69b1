"""The folders that travel beside the package, in a checkout and in a wheel."""

import struct
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest

from areakit.datafiles import data_dir
from areakit.errors import FileError

ROOT = Path(__file__).resolve().parents[1]


def test_a_checkout_finds_its_own_folders(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("AREAKIT_DATA", raising=False)
    assert data_dir("demo_images").samefile(ROOT / "demo_images")
    assert data_dir("calibration").samefile(ROOT / "calibration")


def test_a_folder_named_by_the_user_wins(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "demo_images").mkdir()
    monkeypatch.setenv("AREAKIT_DATA", str(tmp_path))
    assert data_dir("demo_images") == tmp_path / "demo_images"
    assert data_dir("calibration").samefile(ROOT / "calibration")  # not there: the package's own


def test_a_missing_folder_is_refused_with_the_way_out() -> None:
    with pytest.raises(FileError, match="no_such_folder") as caught:
        data_dir("no_such_folder")
    assert "AREAKIT_DATA" in caught.value.remedy


@pytest.mark.slow
def test_a_wheel_holds_demo_images_calibration_data_and_fonts(tmp_path: Path) -> None:
    pytest.importorskip("hatchling")
    code = f"import hatchling.build as b; print(b.build_wheel({str(tmp_path)!r}))"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    (wheel,) = tmp_path.glob("*.whl")
    names = zipfile.ZipFile(wheel).namelist()
    shipped = {Path(n).name for n in names if n.startswith("areakit/_data/demo_images/")}
    assert shipped >= {p.name for p in (ROOT / "demo_images").iterdir() if p.suffix in {".jpg", ".toml", ".csv"}}
    assert any(n.startswith("areakit/_data/calibration/") for n in names)
    assert any(n.startswith("areakit/data/fonts/") and n.endswith(".ttf") for n in names)
    assert not any(n.startswith(("tests/", "demo_images/")) for n in names)
    # The unpacked wheel works by itself, away from the checkout.
    room = tmp_path / "room"
    zipfile.ZipFile(wheel).extractall(room)
    look = "from areakit.service.demo import demo_names; print(*demo_names())"
    asked = subprocess.run(
        [sys.executable, "-P", "-c", f"import sys; sys.path.insert(0, {str(room)!r}); {look}"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert asked.returncode == 0, asked.stderr
    assert "pierced-badge" in asked.stdout


def _notice(font: bytes) -> str:
    """Return the licence inside a TrueType font: name 13 of its table ``name`` (ISO/IEC 14496-22, 5.2.7)."""
    tables = struct.unpack(">H", font[4:6])[0]
    starts = (struct.unpack(">4sIII", font[12 + 16 * i : 28 + 16 * i]) for i in range(tables))
    (table,) = (font[at : at + length] for tag, _, at, length in starts if tag == b"name")
    _, count, texts = struct.unpack(">HHH", table[:6])
    for k in range(count):
        platform, _, _, name, length, at = struct.unpack(">6H", table[6 + 12 * k : 18 + 12 * k])
        if (platform, name) == (3, 13):
            return table[texts + at : texts + at + length].decode("utf-16-be")
    return ""


def test_licences_are_whole_and_go_into_the_wheel() -> None:
    named = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["license-files"]
    files = [path for pattern in named for path in ROOT.glob(pattern)]
    assert {path.name for path in files} >= {"LICENSE", "LICENSE-DejaVu.txt"}
    assert "Permission is hereby granted, free of charge" in (ROOT / "areakit" / "LICENSE").read_text(encoding="utf-8")
    fonts = ROOT / "areakit" / "data" / "fonts"
    told = " ".join((fonts / "LICENSE-DejaVu.txt").read_text(encoding="utf-8").split())
    for path in fonts.glob("DejaVu*.ttf"):
        notice = " ".join(_notice(path.read_bytes()).split())
        assert "Bitstream" in notice
        assert "Tavmjong" in notice
        assert notice in told
