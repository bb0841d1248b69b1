"""Write a rendered photo as a phone would."""

from __future__ import annotations

from pathlib import Path

from PIL import Image

from areakit.errors import FileError
from areakit.synthetic.scene import Scene
from areakit.synthetic.sensor import Bytes

EXIF_IFD = 0x8769
FOCAL_LENGTH_35MM = 0xA405
IMAGE_DESCRIPTION = 0x010E


def save_photo(path: str | Path, image: Bytes, scene: Scene) -> Path:
    """Write a JPEG of the scene's quality, 4:2:0, with the stated focal length in 35 mm terms in its EXIF block.

    Raises
    ------
    FileError
        If the file cannot be written.
    """
    exif = Image.Exif()
    exif[IMAGE_DESCRIPTION] = "simulated photo"
    if scene.camera.stated_f35_mm is not None:
        exif.get_ifd(EXIF_IFD)[FOCAL_LENGTH_35MM] = scene.camera.stated_f35_mm
    target = Path(path)
    try:
        Image.fromarray(image).save(
            target, format="JPEG", quality=scene.chain.jpeg_quality, subsampling="4:2:0", exif=exif.tobytes()
        )
    except OSError as error:
        raise FileError(
            f"The photo cannot be written to {target.name}.", remedy="Choose a folder that exists and can be written."
        ) from error
    return target
