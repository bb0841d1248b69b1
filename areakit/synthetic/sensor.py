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
    """Return the picture, shape (height, width, 3), that a camera makes of linear light of the same shape."""
    exposed = blurred(light, chain)
    if chain.full_well > 0.0:
        _add_noise(exposed, chain, rng)
    if chain.mosaic:
        exposed = _mosaic(exposed)
    encoded = _encode(exposed, tone_table(chain))
    if chain.sharpening:
        soft: Plane = np.asarray(cv2.GaussianBlur(encoded, (0, 0), chain.sharpening_radius_px), dtype=np.float32)
        np.subtract(encoded, soft, out=soft)
        soft *= np.float32(chain.sharpening)
        encoded += soft
    return np.asarray(cv2.convertScaleAbs(np.maximum(encoded, 0.0, out=encoded)), dtype=np.uint8)


def blurred(light: Plane, chain: Chain) -> Plane:
    """Return linear light on the sensor after exposure and point spread; 1 is full scale."""
    exposed = light * np.float32(chain.exposure)
    if chain.blur_px <= 0.0:
        return exposed
    return np.asarray(
        cv2.GaussianBlur(exposed, (0, 0), chain.blur_px, borderType=cv2.BORDER_REPLICATE), dtype=np.float32
    )


def tone_table(chain: Chain) -> Plane:
    """Return encoded values, 0 to 255, of linear light in equal steps from 0 to 1 (sRGB of IEC 61966-2-1)."""
    value = np.linspace(0.0, 1.0, STEPS)
    e = np.where(value <= 0.0031308, 12.92 * value, 1.055 * value ** (1 / 2.4) - 0.055)
    e = e + chain.s_curve * (e * e * (3.0 - 2.0 * e) - e)
    return np.asarray(255.0 * e, dtype=np.float32)


def _encode(light: Plane, table: Plane) -> Plane:
    out = np.empty(light.shape, dtype=np.float32)
    for first in range(0, len(light), BAND_ROWS):
        band = light[first : first + BAND_ROWS]
        index = np.clip(band * np.float32(STEPS - 1) + np.float32(0.5), 0, STEPS - 1).astype(np.uint16)
        np.take(table, index, out=out[first : first + BAND_ROWS])
    return out


def _add_noise(light: Plane, chain: Chain, rng: np.random.Generator) -> None:
    """Add photon and read noise: variance = electrons + read noise squared, in electrons."""
    well = np.float32(chain.full_well)
    floor = np.float32(chain.read_noise**2)
    for first in range(0, len(light), BAND_ROWS):
        band = light[first : first + BAND_ROWS]
        spread = np.sqrt(np.maximum(band, 0.0) * well + floor) / well
        band += spread * rng.standard_normal(band.shape, dtype=np.float32)


def _mosaic(light: Plane) -> Plane:
    """Keep one colour for each pixel (red, green / green, blue) and interpolate the others, edge-aware."""
    raw = np.empty(light.shape[:2], dtype=np.uint16)
    for row, column, channel in ((0, 0, 0), (0, 1, 1), (1, 0, 1), (1, 1, 2)):
        part = light[row::2, column::2, channel]
        raw[row::2, column::2] = np.clip(part * (STEPS - 1) / 2 + 0.5, 0, STEPS - 1)
    full = cv2.cvtColor(raw, cv2.COLOR_BayerBG2BGR_EA)
    return np.asarray(full[..., ::-1] * np.float32(2.0 / (STEPS - 1)), dtype=np.float32)
