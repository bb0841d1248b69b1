"""Read a photo: decoded whole or refused, upright, eight bits of red, green and blue."""

from __future__ import annotations

import hashlib
import io
import math
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
from PIL import ExifTags, Image, ImageOps, UnidentifiedImageError

from areakit.errors import FileError
from areakit.imaging.heic import check_heic
from areakit.imaging.jpeg import check_scans, decode_jpeg, turned_upright
from areakit.imaging.own_picture import has_own_mark

Pixels = npt.NDArray[np.uint8]

FORMATS = ("JPEG", "PNG", "TIFF", "WEBP", "HEIF")
"""What is read, by Pillow's names; HEIF holds HEIC."""

LARGEST_PIXELS = 120_000_000
LARGEST_BYTES = 300_000_000
SMALLEST_SIDE_PX = 200

DIAGONAL_35MM = math.hypot(36.0, 24.0)
"""Diagonal of the 36 mm x 24 mm frame to which the EXIF 35 mm focal length refers. [mm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Photo:
    """One decoded photo.

    Parameters
    ----------
    pixels : ndarray of uint8, shape (height, width, 3)
        Upright, red green blue, sRGB-encoded. Read-only.
    sha256 : str
        Hash of the file's bytes.
    focal_px : float or None
        Focal length from EXIF. [px]
    dpi : float or None
        Resolution tag of a TIFF or PNG scan; a camera's tag has no meaning and is left out. [1/in]
    camera : str
        Maker and model from EXIF, or an empty string.
    focal_35mm : float or None
        The same focal length in 35 mm terms, as EXIF states it. [mm]
    orientation : int
        EXIF orientation of the stored picture, 1 to 8: how its pixels were turned to stand upright.
    """

    name: str
    pixels: Pixels
    sha256: str
    focal_px: float | None
    dpi: float | None
    camera: str
    focal_35mm: float | None = None
    orientation: int = 1

    @property
    def width_px(self) -> int:
        """Width of the upright picture."""
        return int(self.pixels.shape[1])

    @property
    def height_px(self) -> int:
        """Height of the upright picture."""
        return int(self.pixels.shape[0])


@dataclass(frozen=True, slots=True, kw_only=True)
class Overview:
    """A photo reduced by a whole factor, by averaging.

    Parameters
    ----------
    pixels : ndarray of uint8, shape (height, width, 3)
    factor : int
        Side of the block of pixels behind one pixel.
    """

    pixels: Pixels
    factor: int

    def to_full(self, points: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        """Return full-size pixel coordinates of overview coordinates."""
        return np.asarray(self.factor * (points + 0.5) - 0.5)

    def from_full(self, points_px: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        """Return overview coordinates of full-size pixel coordinates."""
        return np.asarray((points_px + 0.5) / self.factor - 0.5)


def overview(photo: Photo, *, longest_px: int = 1100) -> Overview:
    """Return the photo reduced so that its longer side is about ``longest_px``; from three times on by even factors."""
    times = max(photo.width_px, photo.height_px) / longest_px
    factor = 2 * round(times / 2) if times >= 3.0 else max(1, round(times))
    return Overview(pixels=reduced(photo.pixels, factor), factor=factor)


def reduced(pixels: Pixels, factor: int) -> Pixels:
    """Return the means of blocks of ``factor`` by ``factor`` pixels; what is over at right and bottom is left out.

    Even factors go by halves, which OpenCV does several times as fast; each half rounds to whole values once more.
    """
    import cv2

    while factor > 1:
        step = 2 if factor % 2 == 0 else factor
        height, width = pixels.shape[0] // step, pixels.shape[1] // step
        block = pixels[: height * step, : width * step]
        pixels = np.asarray(cv2.resize(block, (width, height), interpolation=cv2.INTER_AREA), dtype=np.uint8)
        factor //= step
    return pixels


def read_photo(source: Path | bytes, *, name: str | None = None, largest_pixels: int = LARGEST_PIXELS) -> Photo:
    """Decode a photo from a file or from bytes, of at most ``largest_pixels``.

    Raises
    ------
    FileError
        If it cannot be opened, is no photo of a known format, is damaged or cut short, or is too large or too small.
    """
    label = name or (source.name if isinstance(source, Path) else "photo")
    data = _bytes_of(source, label)
    _register_formats()
    check_heic(data, label)
    try:
        # Pillow warns where it repairs or guesses; a measured picture must need neither.
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            Image.MAX_IMAGE_PIXELS = LARGEST_PIXELS
            with Image.open(io.BytesIO(data), formats=FORMATS) as image:
                _check_size(image, label, largest_pixels)
                exif = image.getexif()
                if has_own_mark(exif):
                    raise _refuse(label, "is a picture that areakit drew", "Give the photo that it was drawn over.")
                facts = _camera_facts(image, exif)
                orientation = exif.get(ExifTags.Base.Orientation, 1)
                if image.format in {"JPEG", "MPO"}:
                    check_scans(data, label)
                if image.format in {"JPEG", "MPO"} and image.mode == "RGB":
                    pixels = turned_upright(decode_jpeg(data, label), orientation)
                else:
                    image.load()
                    pixels = _to_rgb(ImageOps.exif_transpose(image) if orientation != 1 else image)
    except FileError:
        raise
    except Image.DecompressionBombError as error:
        raise _refuse(label, "holds more pixels than areakit reads", "Make it smaller than 120 megapixels.") from error
    except Exception as error:  # a damaged file can make a decoder raise nearly anything
        raise _refuse(label, _reason(error), "Copy the original file from the camera again.") from error
    pixels.setflags(write=False)
    focal_35mm, camera = facts
    diagonal_px = math.hypot(pixels.shape[0], pixels.shape[1])
    return Photo(
        name=label,
        pixels=pixels,
        sha256=hashlib.sha256(data).hexdigest(),
        focal_px=focal_35mm * diagonal_px / DIAGONAL_35MM if focal_35mm else None,
        dpi=_scan_dpi(image, camera),
        camera=camera,
        focal_35mm=focal_35mm,
        orientation=orientation if orientation in range(1, 9) else 1,
    )


def _bytes_of(source: Path | bytes, label: str) -> bytes:
    if isinstance(source, bytes):
        data = source
    else:
        try:
            if source.is_dir():
                raise _refuse(label, "is a folder", "Name a photo.")
            if source.stat().st_size > LARGEST_BYTES:
                raise _refuse(label, "is larger than 300 MB", "Save it as JPEG.")
            data = source.read_bytes()
        except FileNotFoundError as error:
            raise _refuse(label, "does not exist", "Check the name and the folder.") from error
        except OSError as error:
            raise _refuse(label, f"cannot be read ({error.strerror})", "Check the file's permissions.") from error
    if not data:
        raise _refuse(label, "is empty", "Copy the original file from the camera again.")
    return data


def _check_size(image: Image.Image, label: str, largest: int) -> None:
    width, height = image.size
    if width * height > largest:
        raise FileError(
            f"{label} holds {width * height / 1e6:.0f} megapixels.",
            remedy=f"Make it smaller than {largest / 1e6:.0f} megapixels.",
            code="TOO_MANY_PIXELS",
        )
    if image.mode == "1":
        raise _refuse(label, "holds only black and white, without any grey", "Scan or photograph the part in colour.")
    if min(width, height) < SMALLEST_SIDE_PX:
        raise _refuse(label, f"is only {width} x {height} pixels", "Use the original photo, not a thumbnail.")


def _camera_facts(image: Image.Image, exif: Image.Exif) -> tuple[float | None, str]:
    """Return the 35 mm equivalent focal length and the camera's name."""
    details = exif.get_ifd(ExifTags.IFD.Exif)
    focal = _number(details.get(ExifTags.Base.FocalLengthIn35mmFilm))
    zoom = _number(details.get(ExifTags.Base.DigitalZoomRatio))
    if focal is not None and not 8.0 <= focal <= 600.0:
        focal = None
    if focal is not None and zoom is not None and zoom > 1.01:
        focal = None  # whether the tag includes the digital zoom differs between makers
    words = [str(exif.get(tag, "")).strip(" \0") for tag in (ExifTags.Base.Make, ExifTags.Base.Model)]
    return focal, " ".join(w for w in words if w.isprintable() and w)[:80]


def _number(value: Any) -> float | None:
    try:
        number = float(value)
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    return number if math.isfinite(number) and number > 0 else None


def _scan_dpi(image: Image.Image, camera: str) -> float | None:
    """Return the resolution tag where it means something: a TIFF or PNG without a focal length behind it."""
    if image.format not in {"TIFF", "PNG"}:
        return None
    across = image.info.get("dpi", (None, None))
    x, y = (_number(v) for v in across[:2])
    if x is None or y is None or abs(x - y) > 0.01 * x or not 90.0 <= x <= 5000.0:
        return None
    return (x + y) / 2


def _to_rgb(image: Image.Image) -> Pixels:
    """Bring every mode to eight bits of red, green and blue; transparent pixels become white."""
    if image.mode.startswith("I;16") or image.mode in {"I", "F"}:
        grey = np.asarray(image, dtype=np.float64)
        top = 65535.0 if np.max(grey) > 255.0 else 255.0
        eight = np.clip(np.rint(grey * (255.0 / top)), 0, 255).astype(np.uint8)
        return np.repeat(eight[:, :, None], 3, axis=2)
    if image.has_transparency_data:
        rgba = image.convert("RGBA")
        white = Image.new("RGBA", rgba.size, (255, 255, 255, 255))
        image = Image.alpha_composite(white, rgba)
    return np.asarray(image.convert("RGB") if image.mode != "RGB" else image)


def _reason(error: Exception) -> str:
    text = str(error).lower()
    if isinstance(error, UnidentifiedImageError):
        return "is not a JPEG, PNG, TIFF, WebP or HEIC picture"
    if "truncated" in text or "not enough" in text or "end of file" in text or "premature" in text:
        return "is cut short: the end of the picture is missing"
    return "is damaged and cannot be decoded"


def _refuse(label: str, what: str, remedy: str) -> FileError:
    return FileError(f"{label} {what}.", remedy=remedy)


def _register_formats() -> None:
    """Load just the decoders that are wanted; HEIC comes from a library of its own."""
    import pi_heif
    from PIL import JpegImagePlugin, PngImagePlugin, TiffImagePlugin, WebPImagePlugin  # noqa: F401

    pi_heif.register_heif_opener()
