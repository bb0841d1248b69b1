"""A stored photo made ready for paper and screen: upright, of moderate size, as JPEG."""

from __future__ import annotations

import io

from areakit.errors import FileError

LONGEST_SIDE_PX = 1200
_HEIF_BRANDS = {b"heic", b"heix", b"mif1", b"msf1", b"heim", b"heis", b"avif"}


def printable_jpeg(content: bytes) -> bytes:
    """Return a photo as an upright JPEG of at most ``LONGEST_SIDE_PX``, without what the camera wrote about the place.

    Raises FileError if it is not a picture that can be read.
    """
    from PIL import Image, ImageOps, UnidentifiedImageError

    if content[4:8] == b"ftyp" and content[8:12] in _HEIF_BRANDS:
        import pi_heif

        pi_heif.register_heif_opener()
    try:
        picture: Image.Image = Image.open(io.BytesIO(content))
        picture.draft("RGB", (LONGEST_SIDE_PX * 2, LONGEST_SIDE_PX * 2))
        picture = ImageOps.exif_transpose(picture).convert("RGB")
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        raise FileError("The stored photo cannot be read as a picture.", remedy="Attach it as JPEG or PNG.") from None
    picture.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX))
    stream = io.BytesIO()
    picture.save(stream, "JPEG", quality=85)
    return stream.getvalue()
