"""Checks of the file and the picture, before or beside the scale: compression, motion, mirroring."""

from __future__ import annotations

from areakit.errors import MarkNotFound

MIRRORED_MARKERS = 4
"""Markers of one sheet seen in the mirror from which the picture was flipped: no other thing shows even one (mirrored
scenes of the study of traps: 9 to 21)."""


def check_not_mirrored(markers: int) -> None:
    """Refuse a flipped picture, told by the markers of the sheet: they are read in a mirror only.

    Parameters
    ----------
    markers : int
        How many markers are read in the mirrored picture, where too few are read in the picture itself.

    Raises
    ------
    MarkNotFound
        From MIRRORED_MARKERS on.
    """
    if markers >= MIRRORED_MARKERS:
        raise MarkNotFound(
            f"This photo is mirrored: {markers} marks of a scale sheet can be read in a mirror only.",
            remedy="Use the original photo, or flip it back.",
            code="MIRRORED",
        )
