"""The ideal scenes of the path-traced study again, drawn by exact coverage instead of rays, through the same camera.

    python -m calibration.studies.traced_ideal

Prints the error of the area for each. What both renderers share belongs to the camera's bytes or to the reading of
them (point spread of half a pixel, colour at half the resolution in the JPEG), not to either renderer.
"""

from __future__ import annotations

from dataclasses import replace

import cv2

from areakit.synthetic import Metal, render_linear
from calibration.studies.accuracy import measure
from calibration.studies.accuracy_answers import main_part
from calibration.studies.render_demo import METALS
from calibration.studies.traced import IDEAL_SCENES, entry_for, photo_of
from calibration.studies.traced_scenes import TracedScene, ideal_scene

PAINT = Metal(name="paint", reflectance=METALS["paint"]["diffuse"], brightness=1.0)


def exact_error(traced: TracedScene) -> float:
    """Return the error of the area measured in a picture drawn by exact coverage. [%]"""
    light = render_linear(replace(traced.drawn, metal=PAINT))
    blurred = cv2.GaussianBlur(light, (0, 0), traced.view.camera.psf_px)
    area = main_part(measure(photo_of(traced, blurred), entry_for(traced))).outline.area.value
    return 100.0 * (area / traced.drawn.parts[0].polygon.area - 1.0)


def main() -> None:
    for number in range(IDEAL_SCENES):
        traced = ideal_scene(number)
        print(f"seed {traced.seed}: measured {exact_error(traced):+.3f} % off the truth", flush=True)


if __name__ == "__main__":
    main()
