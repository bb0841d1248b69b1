"""Where the corners of a printed sheet are seen through a known lens, and cameras that say who they are."""

import io
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
from PIL import Image

from areakit.imaging.lens import CameraKey
from areakit.imaging.lens_fit import LensView
from areakit.imaging.marks.frame_layout import layouts
from areakit.synthetic import Camera, Print, Scene, render
from areakit.synthetic.projection import project, view_of
from areakit.synthetic.sheet_print import height_of_sheet

Floats = npt.NDArray[np.float64]

SHEET = layouts()["A4-r1"]
# A distortion that turns from pincushion to barrel towards the rim.
MOUSTACHE = {"k1": 0.10, "k2": -0.25, "k3": 0.15}
FIGURES = np.array([np.log(1.01), 8.0, -12.0, 0.10, -0.25, 2e-4, -3e-4, 0.15])
"""The true lens, in the order of areakit.imaging.lens.NAMES."""
TRUE = Camera(f35_mm=26.26, stated_f35_mm=26, centre_offset_px=(8.0, -12.0), p1=2e-4, p2=-3e-4, **MOUSTACHE)
KEY = CameraKey(camera="Testwerk Model 1", width_px=4032, height_px=3024, focal_35mm=26.0)
FOCAL_PX = 26.0 * float(np.hypot(4032, 3024) / np.hypot(36.0, 24.0))
TILTS = (0.0, 3.0, 18.0, 18.0, 18.0, 18.0, 10.0, 22.0, 6.0, 14.0, 20.0, 12.0)


def poses(rng: np.random.Generator, camera: Camera, count: int, tilts: Sequence[float] = TILTS) -> Iterator[Camera]:
    """Give the same lens in other places, as somebody would who follows the help of lens-check."""
    for i in range(count):
        yield replace(
            camera,
            tilt_deg=tilts[i % len(tilts)] * float(rng.uniform(0.8, 1.2)),
            tilt_direction_deg=90.0 * i + float(rng.uniform(-20, 20)),
            roll_deg=90.0 * i + float(rng.uniform(-5, 5)),
            distance_mm=float(rng.uniform(255.0, 330.0)),
            look_offset_mm=(float(rng.uniform(-15, 15)), float(rng.uniform(-15, 15))),
        )


def corners(
    camera: Camera, rng: np.random.Generator, *, lift_mm: float = 0.0, noise_px: float = 0.04
) -> tuple[Scene, Floats, Floats]:
    """Return a scene, and the corners of its sheet in mm and px, those in the frame; shape (n, 2) each."""
    scene = Scene(camera=camera, print=Print(edge_lift_mm=lift_mm))
    nodes = SHEET.corners_mm
    seen = project(view_of(scene), nodes, height_of_sheet(scene, nodes)) + rng.normal(0.0, noise_px, nodes.shape)
    inside = ((seen > 15.0) & (seen < np.array([camera.width_px, camera.height_px]) - 15.0)).all(axis=1)
    return scene, nodes[inside], seen[inside]


def views(cameras: Iterator[Camera], rng: np.random.Generator, *, lift_mm: float = 0.0) -> list[LensView]:
    found = []
    for i, camera in enumerate(cameras):
        _, nodes, seen = corners(camera, rng, lift_mm=lift_mm)
        found.append(LensView(name=f"photo-{i + 1}.jpg", nodes_mm=nodes, points_px=seen, focal_px=FOCAL_PX))
    return found


def moving(cameras: Iterator[Camera], rng: np.random.Generator, *, focal: float, centre_px: float) -> Iterator[Camera]:
    """Let focal length (relative) and centre differ from shot to shot by normal deviates."""
    for camera in cameras:
        x, y = camera.centre_offset_px
        yield replace(
            camera,
            f35_mm=camera.f35_mm * float(np.exp(rng.normal(0.0, focal))),
            centre_offset_px=(x + float(rng.normal(0.0, centre_px)), y + float(rng.normal(0.0, centre_px))),
        )


def write_photo(path: Path, scene: Scene, *, make: str = "Testwerk", model: str = "Model 1", turned: int = 1) -> Path:
    """Write the drawn photo with the EXIF tags of a phone; ``turned`` tells how it was held."""
    pixels = render(scene)
    exif = Image.Exif()
    exif[0x010F], exif[0x0110], exif[0x0112] = make, model, turned
    exif.get_ifd(0x8769)[0xA405] = scene.camera.stated_f35_mm
    file = io.BytesIO()
    Image.fromarray(pixels).save(file, format="JPEG", quality=95, exif=exif.tobytes())
    path.write_bytes(file.getvalue())
    return path
