"""Where the folders that travel beside the package are found."""

from __future__ import annotations

import os
from pathlib import Path

from areakit.errors import FileError


def data_dir(name: str) -> Path:
    """Return the folder ``calibration`` or ``demo_images``, in a wheel, editable or source install alike.

    ``AREAKIT_DATA`` names a folder that holds them and wins where it is set.
    """
    package = Path(__file__).resolve().parent
    override = os.environ.get("AREAKIT_DATA")
    candidates = [package / "_data" / name]
    if override:
        candidates.insert(0, Path(override) / name)
    if (package.parent / "pyproject.toml").is_file():
        candidates.append(package.parent / name)
    for candidate in candidates:
        if candidate.is_dir():
            return candidate
    raise FileError(
        f"The folder {name} that belongs to areakit is missing.",
        remedy="Install areakit again, or set AREAKIT_DATA to the folder that holds it.",
    )
