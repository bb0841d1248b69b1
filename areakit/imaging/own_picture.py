"""Telling a picture that areakit drew from a photo, by the mark in its metadata."""

from __future__ import annotations

import io
import warnings
from pathlib import Path

from PIL import ExifTags, Image

DESCRIPTION = ExifTags.Base.ImageDescription
OWN_PICTURE = "drawn by areakit; not a photo"
"""EXIF image description of every picture that areakit writes."""


def has_own_mark(exif: Image.Exif) -> bool:
    """Tell whether metadata carry the mark."""
    return str(exif.get(DESCRIPTION, "")).strip(" \0") == OWN_PICTURE


def is_own_picture(source: Path | bytes) -> bool:
    """Tell whether a file is a picture that areakit drew; what cannot be read is none."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            opened = io.BytesIO(source) if isinstance(source, bytes) else source
            with Image.open(opened, formats=("JPEG", "PNG", "TIFF", "WEBP")) as image:
                return has_own_mark(image.getexif())
    except Exception:  # a damaged file can make a decoder raise nearly anything; reading it tells why
        return False
