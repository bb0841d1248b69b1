"""Pictures of flat things of known size, drawn by OpenCV's own camera model, and what a scale's uncertainty covers."""

import os
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt

from areakit.imaging.camera import Camera
from areakit.imaging.photo import Photo
from areakit.imaging.scale import PlaneScale

Floats = npt.NDArray[np.float64]
PHOTOS = Path(os.environ.get("AREAKIT_PHOTOS", Path(__file__).resolve().parents[4] / "shared" / "photos"))
WIDTH, HEIGHT, FOCAL = 1600, 1200, 1180.0
SUPER = 4


def true_camera(
    rng: np.random.Generator, *, tilt_deg: float, height_mm: float = 350.0, k1: float = 0.0, aside_mm: float = 30.0
) -> Camera:
    """A camera tilted in a random direction over the origin, lens and place drawn at random."""
    direction, tilt = rng.uniform(0, 2 * np.pi), np.radians(tilt_deg)
    tilted = cv2.Rodrigues(np.array([np.cos(direction), np.sin(direction), 0.0]) * tilt)[0]
    turned = cv2.Rodrigues(np.array([0.0, 0.0, rng.uniform(0, 2 * np.pi)]))[0]
    pose = [*cv2.Rodrigues(tilted @ turned)[0].ravel(), *rng.uniform(-aside_mm, aside_mm, 2), height_mm]
    centre = [(WIDTH - 1) / 2 + rng.normal(0, 4), (HEIGHT - 1) / 2 + rng.normal(0, 4)]
    parameters = np.array([np.log(FOCAL), *centre, k1, 0.0, 0.0, 0.0, *pose])
    return Camera(parameters=parameters, covariance=np.zeros((13, 13)), rms_px=0.0)


def blank(colour: tuple[float, float, float] = (0.25, 0.2, 0.15), size: tuple[int, int] = (WIDTH, HEIGHT)) -> Floats:
    """A picture of bare table, linear light."""
    return np.full((size[1], size[0], 3), colour)


def paint(picture: Floats, outline_px: Floats, colour: tuple[float, float, float]) -> None:
    """Cover a polygon, shape (n, 2), by a colour, with soft pixels at its edge."""
    low = np.maximum(np.floor(outline_px.min(axis=0)).astype(int) - 2, 0)
    high = np.minimum(np.ceil(outline_px.max(axis=0)).astype(int) + 3, picture.shape[1::-1])
    width, height = high - low
    if min(width, height) <= 0:
        return
    fine = np.zeros((height * SUPER, width * SUPER), dtype=np.uint8)
    cv2.fillPoly(fine, [np.rint(((outline_px - low + 0.5) * SUPER - 0.5) * 16).astype(np.int32)], 255, shift=4)
    share = cv2.resize(fine, (int(width), int(height)), interpolation=cv2.INTER_AREA)[..., None] / 255.0
    field = picture[low[1] : high[1], low[0] : high[0]]
    field += share * (np.array(colour) - field)


def developed(
    picture: Floats, rng: np.random.Generator, *, focal_px: float | None, dpi: float | None = None, blur: float = 0.9
) -> Photo:
    """Blur in linear light, encode (IEC 61966-2-1), add noise."""
    soft = cv2.GaussianBlur(picture.astype(np.float32), (0, 0), blur)
    encoded = np.where(soft <= 0.0031308, 12.92 * soft, 1.055 * np.maximum(soft, 1e-9) ** (1 / 2.4) - 0.055)
    noisy = 255 * encoded + 2.0 * rng.standard_normal(picture.shape, np.float32)
    pixels = np.clip(np.rint(noisy), 0, 255).astype(np.uint8)
    return Photo(name="drawn.png", pixels=pixels, sha256="", focal_px=focal_px, dpi=dpi, camera="")


def dense(outline_mm: Floats, step: int = 16) -> Floats:
    """Put more points on the sides of a polygon, so that the lens can bend them."""
    share = np.linspace(0, 1, step, endpoint=False)[:, None]
    return np.concatenate(
        [a + share * (b - a) for a, b in zip(outline_mm, np.roll(outline_mm, -1, axis=0), strict=True)]
    )


def square(middle: Floats, side: float) -> Floats:
    half = side / 2
    return np.asarray(middle) + np.array([(-half, -half), (half, -half), (half, half), (-half, half)])


def area(points: Floats) -> float:
    """The surveyor's formula."""
    x, y = points.T
    return float(abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2)


def area_and_u(scale: PlaneScale, outline_px: Floats) -> tuple[float, float]:
    """Area of an outline at the level of the table, and what the scale alone leaves open (k = 2).

    Linear propagation of the covariance (JCGM 100, 5.1.2 and 5.2.2), by central differences, written again here.
    """
    camera = scale.camera
    middle = area(camera.to_sheet(outline_px))
    root = np.linalg.cholesky(camera.covariance + 1e-24 * np.eye(13))
    slopes = []
    for column in root.T:
        ends = [
            area(camera.with_parameters(camera.parameters + s * column).to_sheet(outline_px)) for s in (0.02, -0.02)
        ]
        slopes.append((ends[0] - ends[1]) / 0.04)
    shares = np.array(list(scale.sheet_scale.shares.values())).reshape(-1)
    flat = 2 * scale.flatness_mm / camera.height_mm
    relative = np.sqrt(np.sum(np.square(slopes)) / middle**2 + np.sum(shares**2) + flat**2)
    return middle, 2 * middle * float(relative)


def covered(scale: PlaneScale, true: Camera, places_mm: Floats, side: float = 20.0) -> list[bool]:
    """Whether the area of squares on the table lies within the uncertainty that the scale states."""
    found = []
    for place in places_mm:
        value, spread = area_and_u(scale, true.project(dense(square(place, side))))
        found.append(abs(value - side**2) <= spread)
    return found
