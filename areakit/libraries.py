"""The libraries that areakit rests on: their names, and what to say where one cannot be loaded."""

from __future__ import annotations

import re

from areakit.errors import LibraryMissing

LIBRARIES = {
    "cv2": "opencv-python",
    "shapely": "shapely",
    "numpy": "numpy",
    "skimage": "scikit-image",
    "pint": "pint",
    "PIL": "pillow",
    "pi_heif": "pi-heif",
    "simplejpeg": "simplejpeg",
    "click": "click",
    "rich": "rich",
    "pydantic": "pydantic",
    "reportlab": "reportlab",
    "platformdirs": "platformdirs",
    "cryptography": "cryptography",
    "ezdxf": "ezdxf",
    "pypdfium2": "pypdfium2",
    "starlette": "starlette",
    "uvicorn": "uvicorn",
    "segno": "segno",
}
"""Module to the name under which it is installed; the dependencies of ``pyproject.toml``, with those of ``dxf``."""

DEBIAN_PACKAGES = {
    "libGL": "libgl1",
    "libGLX": "libgl1",
    "libGLdispatch": "libgl1",
    "libX11": "libgl1",
    "libxcb": "libgl1",
    "libgthread": "libglib2.0-0",
    "libglib": "libglib2.0-0",
}
"""Start of the name of a shared library to the package of Debian and Ubuntu that holds it or brings it along."""
_DEBIAN_LINE = "apt-get install --no-install-recommends libgl1 libglib2.0-0"
FRIBIDI_REMEDY = "On Debian or Ubuntu, as root: apt-get install --no-install-recommends libfribidi0."
"""Pillow loads this library only where words need it, and stays silent where it is not there."""
_SHARED = re.compile(r"\b(lib[\w+.-]*?\.(?:so[\w.]*|dylib)|[\w.-]+\.dll)\b", re.IGNORECASE)


def missing_library(error: ImportError) -> LibraryMissing:
    """Return what to say where a library could not be loaded.

    Raises ImportError the same, where it speaks of no library but of a defect in areakit.
    """
    shared = _SHARED.search(str(error))
    if shared is not None:
        name = shared.group(1)
        known = name.split(".")[0].split("-")[0] in DEBIAN_PACKAGES
        remedy = (
            f"On Debian or Ubuntu, as root: {_DEBIAN_LINE}."
            if known
            else "Install the package of your system that holds it."
        )
        return LibraryMissing(f"The system library {name} cannot be loaded.", remedy=remedy)
    module = _module_at_fault(error)
    if module is None:
        raise error
    return LibraryMissing(
        f"The Python library {LIBRARIES[module]} cannot be loaded: {str(error)[:200]}.",
        remedy=f"Install it beside areakit: python -m pip install {LIBRARIES[module]}",
    )


def _module_at_fault(error: ImportError) -> str | None:
    """Return the library that the error names, or in whose own code it was raised; None for areakit's."""
    names = [error.name or ""]
    trace = error.__traceback__
    while trace is not None:
        innermost = str(trace.tb_frame.f_globals.get("__name__", ""))
        names[1:] = [innermost]
        trace = trace.tb_next
    roots = (name.split(".")[0] for name in names)
    return next((root for root in roots if root in LIBRARIES), None)
