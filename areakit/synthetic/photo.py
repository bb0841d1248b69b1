"""Write a rendered photo as a phone would."""

from __future__ import annotations

import io
from pathlib import Path

from PIL import Image

from areakit.output import write_whole
from areakit.synthetic.scene import Scene
from areakit.synthetic.sensor import Bytes

EXIF_IFD = 0x8769
FOCAL_LENGTH_35MM = 0xA405
IMAGE_DESCRIPTION = 0x010E


def jpeg_bytes(image: Bytes, scene: Scene) -> bytes:
    """Return a JPEG of the scene's quality, 4:2:0, with the stated focal length in 35 mm terms in its EXIF block."""
    exif = Image.Exif()
    exif[IMAGE_DESCRIPTION] = "simulated photo"
    if scene.camera.stated_f35_mm is not None:
        exif.get_ifd(EXIF_IFD)[FOCAL_LENGTH_35MM] = scene.camera.stated_f35_mm
    file = io.BytesIO()
    Image.fromarray(image).save(
        file, format="JPEG", quality=scene.chain.jpeg_quality, subsampling="4:2:0", exif=exif.tobytes()
    )
    return file.getvalue()


def save_photo(path: str | Path, image: Bytes, scene: Scene) -> Path:
    """Write the scene's JPEG to a file.

    Raises
    ------
    FileError
        If the file cannot be written.
    """
    target = Path(path)
    write_whole(target, jpeg_bytes(image, scene))
    return target
