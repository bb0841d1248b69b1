"""What this machine has of what areakit needs: each thing tried, and the line that mends what is missing."""

from __future__ import annotations

import importlib
import io
import locale
import os
import platform
import shutil
import sys
from collections.abc import Callable
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

from areakit import __version__
from areakit.errors import AreakitError, LibraryMissing
from areakit.libraries import FRIBIDI_REMEDY, LIBRARIES, missing_library

LEAST_PYTHON = (3, 11)
MEASURING = ("numpy", "shapely", "skimage", "pint", "PIL", "simplejpeg", "pi_heif")
"""What measuring a photo loads, besides OpenCV."""
_LETTERS = "± µ · ² → − °"
_BROWSERS = ("chromium", "chromium-browser")
_BROWSER_PATH = Path("/usr/bin/chromium")
_AGAIN = "Install areakit again: python -m pip install --force-reinstall followed by where you had it from."


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing that was tried.

    Parameters
    ----------
    name : str
        What it is.
    found : str
        What there is, or what is wrong.
    good : bool
    needed : bool
        Whether measuring needs it.
    remedy : str
        The one line that mends it, empty where nothing is wrong.
    """

    name: str
    found: str
    good: bool
    needed: bool = True
    remedy: str = ""


def examine(journal: Path, *, encoding: str | None = None) -> tuple[Finding, ...]:
    """Return everything that was tried, in order; nothing is written.

    Parameters
    ----------
    journal : Path
        Where the journal lies, or would.
    encoding : str, optional
        Of what areakit prints to.
    """
    return (
        _python(),
        Finding(name="areakit", found=f"{__version__}, in {Path(__file__).parents[1]}", good=True),
        _tried("OpenCV", _opencv),
        *(_tried(LIBRARIES[module], _loaded(module)) for module in MEASURING),
        _tried("files that come with areakit", _data, remedy=_AGAIN),
        _tried("HEIC photos", _heic, needed=False, remedy="python -m pip install --force-reinstall pi-heif"),
        _tried("PDF written and read", _pdf, needed=False),
        _tried("DXF drawings", _loaded("ezdxf"), needed=False),
        _tried("bench page", _loaded("uvicorn"), needed=False),
        _journal(journal),
        _encoding(encoding or locale.getpreferredencoding(False)),
        _tried("words from right to left", _fribidi, needed=False),
        _browser(),
    )


def _python() -> Finding:
    good = sys.version_info >= LEAST_PYTHON
    remedy = "" if good else "Install Python 3.11 or newer, and areakit with it."
    return Finding(name="Python", found=f"{platform.python_version()}, {platform.platform()}", good=good, remedy=remedy)


def _tried(name: str, try_it: Callable[[], str], *, needed: bool = True, remedy: str = "") -> Finding:
    """Return what a trial says; one that fails says what is wrong, and what to do."""
    try:
        return Finding(name=name, found=try_it(), good=True, needed=needed)
    except AreakitError as error:
        return Finding(name=name, found=error.message, good=False, needed=needed, remedy=remedy or error.remedy)
    except ImportError as error:
        try:
            told = missing_library(error)
        except ImportError:
            told = LibraryMissing(str(error)[:200], remedy=_AGAIN)
        return Finding(name=name, found=told.message, good=False, needed=needed, remedy=told.remedy)


def _loaded(module: str) -> Callable[[], str]:
    def load() -> str:
        importlib.import_module(module)
        try:
            return version(LIBRARIES[module])
        except PackageNotFoundError:
            return "there, version not known"

    return load


def _opencv() -> str:
    """Load OpenCV, and find a printed mark's detector in it: some builds leave it out."""
    opencv: Any = importlib.import_module("cv2")
    if not hasattr(opencv, "aruco"):
        raise LibraryMissing(
            f"OpenCV {getattr(opencv, '__version__', '')} cannot find printed marks (aruco is missing).",
            remedy="python -m pip install --force-reinstall opencv-python",
        )
    return str(opencv.__version__)


def _data() -> str:
    from areakit.datafiles import data_dir

    return ", ".join(str(data_dir(name)) for name in ("demo_images", "calibration"))


def _heic() -> str:
    library: Any = importlib.import_module("pi_heif")
    decoders = library.libheif_info().get("decoders", {})
    if not decoders:
        raise LibraryMissing("The HEIC library has no decoder.", remedy="")
    return ", ".join(map(str, decoders.values()))


def _pdf() -> str:
    """Write a square of 10 mm as PDF, and read its area back."""
    from areakit.geometry.drawing import read_drawing

    canvas: Any = importlib.import_module("reportlab.pdfgen.canvas")
    stream = io.BytesIO()
    page = canvas.Canvas(stream)
    side = 10.0 / 25.4 * 72.0
    page.rect(72, 72, side, side)
    page.save()
    area = read_drawing(stream.getvalue(), "pdf").polygons[0].area
    if abs(area - 100.0) > 0.01:
        raise LibraryMissing(f"A square of 100 mm² was read as {area:.4g} mm².", remedy=_AGAIN)
    return f"a square of 100 mm² was written and read as {area:.5g} mm²"


def _fribidi() -> str:
    features: Any = importlib.import_module("PIL.features")
    if not features.check("raqm"):
        raise LibraryMissing("The system library fribidi cannot be loaded.", remedy=FRIBIDI_REMEDY)
    return f"fribidi {features.version('fribidi')}, for words on PDF pages that run from right to left"


def _journal(path: Path) -> Finding:
    """Tell where the journal lies and whether it can be written, without making it."""
    name, there = "journal", path.exists()
    folder = next(one for one in path.absolute().parents if one.exists())
    if path.is_dir() or not os.access(folder, os.W_OK) or (there and not os.access(path, os.W_OK)):
        what = "is a folder" if path.is_dir() else "cannot be written"
        return Finding(
            name=name,
            found=f"{path} {what}",
            good=False,
            needed=False,
            remedy="Name a file in a folder that you can write to, with --journal or AREAKIT_JOURNAL.",
        )
    words = "can be written" if there else "not there yet; the first job, bottle or sheet copy makes it"
    return Finding(name=name, found=f"{path}, {words}", good=True, needed=False)


def _encoding(encoding: str) -> Finding:
    try:
        _LETTERS.encode(encoding)
    except (UnicodeEncodeError, LookupError):
        return Finding(
            name="letters",
            found=f"{encoding} lacks some of {_LETTERS}",
            good=False,
            needed=False,
            remedy="Set the environment variable PYTHONUTF8 to 1.",
        )
    return Finding(name="letters", found=f"{encoding} holds {_LETTERS}", good=True, needed=False)


def _browser() -> Finding:
    """Find the browser that the tests of the bench page drive; any browser shows the page itself."""
    name = "browser for the page's tests"
    found = str(_BROWSER_PATH) if _BROWSER_PATH.exists() else None
    try:
        importlib.import_module("playwright")
    except ImportError:
        remedy = "Only contributors need it: python -m pip install playwright."
        return Finding(name=name, found="playwright is not installed", good=False, needed=False, remedy=remedy)
    if found is None:
        elsewhere = next((place for one in _BROWSERS if (place := shutil.which(one))), None)
        what = f"not at {_BROWSER_PATH}" + (f", but at {elsewhere}" if elsewhere else "")
        remedy = "Only contributors need it: apt-get install chromium."
        return Finding(name=name, found=what, good=False, needed=False, remedy=remedy)
    return Finding(name=name, found=found, good=True, needed=False)
