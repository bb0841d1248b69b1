"""One small frame of a camera to what a page shows while somebody aims."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from areakit.imaging.aim import judge
from areakit.imaging.photo import read_photo

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

_PIXELS = 4_000_000
_WORDS = {
    "frame": ("marker frame in view", "Get the whole marker frame of the sheet into view"),
    "tilt": ("straight above", "Hold the camera flat above the sheet"),
    "distance": ("near enough", "Come closer, until the sheet fills the picture"),
    "part": ("part inside", "Lay the part fully inside the field"),
    "sharp": ("sharp", "Hold still, and let the camera focus"),
    "glare": ("no glare", "Turn the lamp or the sheet: the part glares"),
}


def aim(content: bytes) -> dict[str, Any]:
    """Return what a frame shows, in its pixels, and each condition with whether it holds and what to do.

    FileError if the frame cannot be read.
    """
    photo = read_photo(content, name="frame", largest_pixels=_PIXELS)
    found = judge(photo)
    return {
        "image": {"width_px": photo.width_px, "height_px": photo.height_px},
        **{name: _rings(getattr(found.seen, name)) for name in ("mark_px", "whole_px", "crossing_px")},
        "checks": [
            {"key": key, "good": found.holds[key], "words": words[not found.holds[key]]}
            for key, words in _WORDS.items()
        ],
        "good": all(found.holds.values()),
    }


def _rings(rings: Iterable[npt.NDArray[np.float64]]) -> list[list[list[float]]]:
    return [[[round(float(x), 1), round(float(y), 1)] for x, y in ring] for ring in rings]
