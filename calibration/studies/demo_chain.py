"""From linear light on the sensor to the JPEG that a phone saves."""

from __future__ import annotations

from pathlib import Path
from typing import BinaryIO

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image

from calibration.studies.demo_scenes import MADE_BY, PAPER, Scene

Pixels = npt.NDArray[np.float32]


def white_squares(scene: Scene) -> npt.NDArray[np.int64]:
    """Return the pixels (n, 2) at the middles of the ring's plain white squares."""
    sheet = scene.layout
    marked = set(sheet.marker_squares)
    plain = [s for s in sheet.frame_squares if not sheet.is_black(*s) and s not in marked]
    middles = (np.array(plain, dtype=float) + 0.5) * sheet.square_mm
    return np.rint(scene.camera.project(middles)).astype(np.int64)


def develop(linear: Pixels, scene: Scene) -> npt.NDArray[np.uint8]:
    """Turn linear scene light (H, W, 3) into 8-bit sRGB as a phone would."""
    rng, sensor = np.random.default_rng(scene.seed), scene.sensor
    height, width = linear.shape[:2]
    at = white_squares(scene)
    seen = np.median(linear[at[:, 1].clip(0, height - 1), at[:, 0].clip(0, width - 1)], axis=0)
    white = seen * np.array(PAPER) / np.array(scene.paper)
    balance = (white.mean() / white) ** sensor.white_balance
    light = linear * (balance * (scene.exposure / white.mean())).astype(np.float32)
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    r2 = ((x - width / 2) ** 2 + (y - height / 2) ** 2) / ((width / 2) ** 2 + (height / 2) ** 2)
    light *= (1.0 - sensor.vignetting * r2)[..., None]
    if sensor.full_well > 0.0:
        counts = rng.poisson(np.clip(light, 0.0, 1.2) * sensor.full_well)
        light = ((counts + rng.normal(0.0, sensor.read_noise, light.shape)) / sensor.full_well).astype(np.float32)
    encoded = tone(np.clip(light, 0.0, 1.0), sensor.s_curve)
    if sensor.sharpening > 0.0:
        soft = cv2.GaussianBlur(encoded, (0, 0), sensor.sharpening_sigma_px)
        encoded = encoded + sensor.sharpening * (encoded - soft)
    return np.clip(encoded * 255.0 + 0.5, 0, 255).astype(np.uint8)


def tone(linear: Pixels, s_curve: float) -> Pixels:
    """The sRGB curve of IEC 61966-2-1, then a mild S."""
    srgb = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * np.maximum(linear, 1e-6) ** (1 / 2.4) - 0.055)
    return (srgb - s_curve * np.sin(2.0 * np.pi * srgb) / (2.0 * np.pi)).astype(np.float32)


def save(picture: npt.NDArray[np.uint8], scene: Scene, target: Path | BinaryIO) -> None:
    """Write the JPEG, 4:2:0, with the camera facts that a phone would write and a plain word that it is a rendering."""
    exif = Image.Exif()
    exif[0x010E] = "Path-traced drawing of a made-up part; not a photograph"
    exif[0x010F] = "areakit"
    exif[0x0110] = "rendered scene"
    exif[0x0112] = 1
    exif[0x0131] = f"rendered by {MADE_BY}"
    exif.get_ifd(0x8769)[0xA405] = scene.camera.stated_f35_mm
    Image.fromarray(picture).save(
        target, format="JPEG", quality=scene.sensor.jpeg_quality, subsampling="4:2:0", exif=exif, optimize=True
    )
