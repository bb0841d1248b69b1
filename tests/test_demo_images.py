"""The demo pictures: complete, small, honest about what they are, and their truth files agree with the shapes drawn."""

import csv
import math
import tomllib
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
import trimesh
from PIL import Image
from shapely.geometry import Polygon

from areakit.imaging.marks.dictionary import dictionary
from areakit.imaging.marks.frame_layout import layouts
from calibration.studies import demo_shapes as shapes
from calibration.studies.demo_scenes import SCENES, Scene
from calibration.studies.demo_solids import SOLIDS, DemoSolid, solid

FOLDER = Path(__file__).resolve().parent.parent / "demo_images"
ALL = (*SCENES, *SOLIDS)
DRAWN = [s for s in ALL if (FOLDER / f"{s.name}.jpg").is_file()]


def truth(name: str) -> dict[str, Any]:
    return tomllib.loads((FOLDER / f"{name}.toml").read_text(encoding="utf-8"))


def index() -> list[dict[str, str]]:
    with (FOLDER / "index.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def named(scene: Scene) -> str:
    return scene.name


def test_every_scene_of_the_script_is_drawn() -> None:
    assert [s.name for s in DRAWN] == [s.name for s in ALL]


def test_the_index_lists_every_picture_once() -> None:
    listed = [row["file"] for row in index()]
    assert sorted(listed) == sorted(p.name for p in FOLDER.glob("*.jpg"))


def test_the_index_says_what_the_truth_files_say() -> None:
    for row in index():
        facts = truth(row["file"].removesuffix(".jpg"))
        assert row["expected"] == facts["expected"]
        assert row["what"] == facts["what"]


def test_all_files_together_stay_under_12_megabytes() -> None:
    assert sum(p.stat().st_size for p in FOLDER.iterdir()) < 12_000_000


@pytest.mark.parametrize("scene", DRAWN, ids=named)
def test_a_drawn_picture_has_its_true_sizes_from_the_outline(scene: Scene) -> None:
    facts = truth(scene.name)
    assert facts["made_by"] == "calibration/studies/render_demo.py"
    assert len(facts["parts"]) == len(scene.parts)
    for row, part in zip(facts["parts"], scene.parts, strict=True):
        shape = part.outline()
        assert row["area_mm2"] == pytest.approx(shape.area, abs=1e-4)
        assert row["outer_perimeter_mm"] == pytest.approx(shape.exterior.length, abs=1e-4)
        assert row["holes_perimeter_mm"] == pytest.approx(shapes.holes_perimeter_mm(shape), abs=1e-4)
        assert row["holes"] == len(shape.interiors)


@pytest.mark.parametrize("scene", DRAWN, ids=named)
def test_a_truth_file_names_a_sheet_with_its_check_lengths_and_a_reason_for_a_refusal(scene: Scene) -> None:
    facts = truth(scene.name)
    assert tuple(facts["check_lengths_mm"]) == layouts()[facts["sheet"]].check_lengths_mm
    assert "form" in facts or facts["thickness_mm"] > 0.0
    assert facts["expected"] in {"measured", "refused"}
    assert ("why" in facts) == (facts["expected"] == "refused")


@pytest.mark.parametrize("scene", DRAWN, ids=named)
def test_a_picture_says_in_its_exif_that_it_is_a_rendering_and_gives_the_focal_length_it_was_drawn_with(
    scene: Scene,
) -> None:
    with Image.open(FOLDER / f"{scene.name}.jpg") as picture:
        exif = picture.getexif()
        size = picture.size
    assert exif[0x010F] == "areakit"
    assert exif[0x0110] == "rendered scene"
    assert "render" in exif[0x0131]
    f35 = exif.get_ifd(0x8769)[0xA405]
    # A 36 x 24 mm frame has a diagonal of 43.267 mm; the equivalent focal length is defined by the diagonal.
    assert f35 * math.hypot(*size) / 43.2666 == pytest.approx(truth(scene.name)["camera"]["focal_px"], rel=1e-5)


@pytest.mark.parametrize("scene", [s for s in DRAWN if not s.refused_because], ids=named)
def test_a_measurable_part_stays_inside_the_window_and_clear_of_its_guard_band(scene: Scene) -> None:
    left, top, right, bottom = scene.layout.field_mm
    for part in scene.parts:
        x0, y0, x1, y1 = part.on_sheet().bounds
        assert x0 > left + 3.0
        assert y0 > top + 3.0
        assert x1 < right - 3.0
        assert y1 < bottom - 3.0


def test_opencv_finds_the_sheets_markers_where_the_camera_model_puts_them() -> None:
    scene = next(s for s in DRAWN if s.name == "foil-shape")
    grey = cv2.imread(str(FOLDER / "foil-shape.jpg"), cv2.IMREAD_GRAYSCALE)
    corners, ids, _ = cv2.aruco.ArucoDetector(dictionary()).detectMarkers(grey)
    assert sorted(ids.ravel().tolist()) == list(scene.layout.marker_ids)
    for quad, marker_id in zip(corners, ids.ravel(), strict=True):
        model = scene.camera.project(scene.layout.marker_corners_mm(int(marker_id)))
        assert np.abs(quad[0] - model).max() < 2.5


# Closed forms of plane geometry: circles, a stadium, a rectangle with rounded corners.
CLOSED_FORMS = [
    (shapes.washer(), math.pi * (17.0**2 - 7.0**2), 2.0 * math.pi * 24.0),
    (shapes.bracket(), 60.0 * 25.0 - (4.0 - math.pi) * 4.0**2 - 2.0 * math.pi * 3.0**2, 138.0 + 20.0 * math.pi),
    (
        shapes.strap(),
        100.0 * 20.0 + math.pi * 10.0**2 - 2.0 * math.pi * 4.0**2,
        200.0 + 2.0 * math.pi * 10.0 + 4.0 * math.pi * 4.0,
    ),
]


@pytest.mark.parametrize(("shape", "area", "perimeter"), CLOSED_FORMS)
def test_a_shape_with_a_closed_form_has_that_area_within_the_chords(
    shape: Polygon, area: float, perimeter: float
) -> None:
    # A chord of sagitta e loses two thirds of e for each mm of outline; the largest sagitta is 0.00035 mm.
    assert abs(shape.area - area) < 0.00035 * perimeter
    assert shape.length == pytest.approx(perimeter, rel=1e-4)


def test_curves_are_cut_into_chords_with_a_sagitta_under_a_micrometre() -> None:
    for name in ("leaf", "shield_badge", "gear", "drop", "blossom", "cam_disc", "trefoil"):
        shape = getattr(shapes, name)()
        for ring in [shape.exterior, *shape.interiors]:
            xy = np.array(ring.coords)[:-1]
            before, after = xy - np.roll(xy, 1, axis=0), np.roll(xy, -1, axis=0) - xy
            turn = np.abs(np.arctan2(_cross(before, after), np.sum(before * after, axis=1)))
            smooth = turn < 0.2  # sharper turns are real corners
            chord = np.minimum(np.hypot(*before.T), np.hypot(*after.T))
            assert np.max((turn * chord / 8.0)[smooth], initial=0.0) < 1e-3, name


def _cross(a: Any, b: Any) -> Any:
    return a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]


@pytest.mark.parametrize("scene", SOLIDS, ids=named)
def test_a_drawn_solid_is_closed_and_has_the_surface_that_stands_beside_it(scene: Scene) -> None:
    for row, part in zip(truth(scene.name)["parts"], scene.parts, strict=True):
        assert isinstance(part, DemoSolid)
        vertices, faces = solid(part.on_table())
        mesh = trimesh.Trimesh(vertices, faces, process=False)
        assert mesh.is_watertight
        assert mesh.volume > 0.0  # its skin looks outwards
        assert mesh.area == pytest.approx(row["surface_mm2"], rel=5e-4)
        assert vertices[:, 2].max() == pytest.approx(0.0, abs=1e-3)  # it rests on the sheet
