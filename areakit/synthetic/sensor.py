"""From linear light to 8-bit values: blur, colour mosaic, noise, tone, sharpening."""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from areakit.synthetic.coverage import Plane
from areakit.synthetic.scene import Chain

Bytes = npt.NDArray[np.uint8]

BAND_ROWS = 256
STEPS = 1 << 16


def develop(light: Plane, chain: Chain, rng: np.random.Generator) -> Bytes:
    """Return the picture, shape (height, width, 3), that a camera makes of linear light; the light is used up."""
    blur(light, chain)
    if chain.full_well > 0.0:
        _add_noise(light, chain, rng)
    if chain.mosaic:
        _mosaic(light)
    _encode(light, tone_table(chain))
    out = np.empty(light.shape, dtype=np.uint8)
    for channel in range(3):
        plane = np.ascontiguousarray(light[..., channel])
        if chain.sharpening:
            _sharpen(plane, chain)
        out[..., channel] = np.clip(plane + np.float32(0.5), 0.0, 255.0)
    return out


def blur(light: Plane, chain: Chain) -> None:
    """Apply exposure and point spread in place; 1 becomes full scale."""
    light *= np.float32(chain.exposure)
    if chain.blur_px > 0.0:
        cv2.GaussianBlur(light, (0, 0), chain.blur_px, dst=light, borderType=cv2.BORDER_REPLICATE)


def tone_table(chain: Chain) -> Plane:
    """Return encoded values, 0 to 255, of linear light in equal steps from 0 to 1 (sRGB of IEC 61966-2-1)."""
    value = np.linspace(0.0, 1.0, STEPS)
    e = np.where(value <= 0.0031308, 12.92 * value, 1.055 * value ** (1 / 2.4) - 0.055)
    e = e + chain.s_curve * (e * e * (3.0 - 2.0 * e) - e)
    return np.asarray(255.0 * e, dtype=np.float32)


def _encode(light: Plane, table: Plane) -> None:
    for first in range(0, len(light), BAND_ROWS):
        band = light[first : first + BAND_ROWS]
        index = np.clip(band * np.float32(STEPS - 1) + np.float32(0.5), 0, STEPS - 1).astype(np.uint16)
        np.take(table, index, out=band)


def _sharpen(plane: Plane, chain: Chain) -> None:
    """Unsharp mask: add the difference from a blurred copy, times the strength."""
    soft: Plane = np.asarray(cv2.GaussianBlur(plane, (0, 0), chain.sharpening_radius_px), dtype=np.float32)
    np.subtract(plane, soft, out=soft)
    soft *= np.float32(chain.sharpening)
    plane += soft


def _add_noise(light: Plane, chain: Chain, rng: np.random.Generator) -> None:
    """Add photon and read noise: variance = electrons + read noise squared, in electrons."""
    well = np.float32(chain.full_well)
    floor = np.float32(chain.read_noise**2)
    for first in range(0, len(light), BAND_ROWS):
        band = light[first : first + BAND_ROWS]
        spread = np.sqrt(np.maximum(band, 0.0) * well + floor) / well
        band += spread * rng.standard_normal(band.shape, dtype=np.float32)


def _mosaic(light: Plane) -> None:
    """Keep one colour for each pixel (red, green / green, blue) and interpolate the others, edge-aware."""
    raw = np.empty(light.shape[:2], dtype=np.uint16)
    for row, column, channel in ((0, 0, 0), (0, 1, 1), (1, 0, 1), (1, 1, 2)):
        part = light[row::2, column::2, channel]
        raw[row::2, column::2] = np.clip(part * (STEPS - 1) / 2 + 0.5, 0, STEPS - 1)
    full = cv2.cvtColor(raw, cv2.COLOR_BayerBG2BGR_EA)
    np.multiply(full[..., ::-1], np.float32(2.0 / (STEPS - 1)), out=light, casting="unsafe")
