"""Photos of parts whose true area is known.

A scene is drawn from first principles: exact polygons, a lens, light, a sensor and its processing. The outlines are
rasterised by exact area coverage, so a perfect reading of the picture gives back the area that shapely states.
"""

from areakit.synthetic.draw import Limits, draw_scene
from areakit.synthetic.photo import jpeg_bytes, save_photo
from areakit.synthetic.render import render, render_linear
from areakit.synthetic.scene import (
    Camera,
    Chain,
    Light,
    Metal,
    PartTruth,
    Patch,
    Print,
    Scene,
    ScenePart,
    truth,
)

__all__ = [
    "Camera",
    "Chain",
    "Light",
    "Limits",
    "Metal",
    "PartTruth",
    "Patch",
    "Print",
    "Scene",
    "ScenePart",
    "draw_scene",
    "jpeg_bytes",
    "render",
    "render_linear",
    "save_photo",
    "truth",
]
