"""From linear light on the sensor to the JPEG that a phone saves."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image

from calibration.studies.demo_scenes import Scene

Pixels = npt.NDArray[np.float32]
FULL_WELL = 6000.0
READ_NOISE = 6.0
SHARPEN, SHARPEN_SIGMA_PX = 0.35, 1.1
S_CURVE = 0.10
VIGNETTING = 0.16
WHITE_BALANCE = 0.85
"""Share of the light's tint that the camera takes out."""


def white_squares(scene: Scene) -> npt.NDArray[np.int64]:
    """Return the pixels (n, 2) at the middles of the ring's plain white squares."""
    sheet = scene.layout
    marked = set(sheet.marker_squares)
    plain = [s for s in sheet.ring_squares if not sheet.is_black(*s) and s not in marked]
    middles = (np.array(plain, dtype=float) + 0.5) * sheet.square_mm
    return np.rint(scene.camera.project(middles)).astype(np.int64)


def develop(linear: Pixels, scene: Scene) -> npt.NDArray[np.uint8]:
    """Turn linear scene light (H, W, 3) into 8-bit sRGB as a phone would."""
    rng = np.random.default_rng(scene.seed)
    height, width = linear.shape[:2]
    at = white_squares(scene)
    white = np.median(linear[at[:, 1].clip(0, height - 1), at[:, 0].clip(0, width - 1)], axis=0)
    balance = (white.mean() / white) ** WHITE_BALANCE
    light = linear * (balance * (scene.exposure / white.mean())).astype(np.float32)
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    r2 = ((x - width / 2) ** 2 + (y - height / 2) ** 2) / ((width / 2) ** 2 + (height / 2) ** 2)
    light *= (1.0 - VIGNETTING * r2)[..., None]
    counts = rng.poisson(np.clip(light, 0.0, 1.2) * FULL_WELL) + rng.normal(0.0, READ_NOISE, light.shape)
    encoded = tone(np.clip(counts / FULL_WELL, 0.0, 1.0).astype(np.float32))
    soft = cv2.GaussianBlur(encoded, (0, 0), SHARPEN_SIGMA_PX)
    return np.clip((encoded + SHARPEN * (encoded - soft)) * 255.0 + 0.5, 0, 255).astype(np.uint8)


def tone(linear: Pixels) -> Pixels:
    """The sRGB curve of IEC 61966-2-1, then a mild S."""
    srgb = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * np.maximum(linear, 1e-6) ** (1 / 2.4) - 0.055)
    return (srgb - S_CURVE * np.sin(2.0 * np.pi * srgb) / (2.0 * np.pi)).astype(np.float32)


def save(picture: npt.NDArray[np.uint8], scene: Scene, path: Path, quality: int = 90) -> None:
    """Write the JPEG, 4:2:0, with the camera facts that a phone would write and a plain word that it is a rendering."""
    exif = Image.Exif()
    exif[0x010E] = "Path-traced drawing of a made-up part; not a photograph"
    exif[0x010F] = "areakit"
    exif[0x0110] = "rendered scene"
    exif[0x0112] = 1
    exif[0x0131] = "rendered by calibration/studies/render_demo.py"
    exif.get_ifd(0x8769)[0xA405] = scene.camera.f35_mm
    Image.fromarray(picture).save(path, quality=quality, subsampling="4:2:0", exif=exif, optimize=True)
