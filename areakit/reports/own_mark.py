"""What areakit writes into the metadata of its own pictures, so that they are never taken for photos of parts."""

from __future__ import annotations

from PIL import Image

from areakit.imaging.own_picture import DESCRIPTION, OWN_PICTURE


def own_mark() -> bytes:
    """Return the EXIF block of a picture drawn by areakit."""
    exif = Image.Exif()
    exif[DESCRIPTION] = OWN_PICTURE
    return exif.tobytes()
