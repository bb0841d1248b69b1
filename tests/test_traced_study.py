"""The path-traced study: its scenes against OpenCV's camera and the drawn truth, its sensor, its summary."""

from collections import Counter
from dataclasses import replace
from math import isnan
from pathlib import Path

import cv2
import numpy as np
import pytest

from areakit.synthetic import truth
from calibration.studies.accuracy_rows import read_rows, write_rows
from calibration.studies.demo_camera import PLAIN_SENSOR
from calibration.studies.demo_chain import develop
from calibration.studies.demo_sheet import as_printed, sheet_rectangles
from calibration.studies.render_demo import prism, small
from calibration.studies.traced import DRAWS_WITH, HERE, entry_for, scene_of
from calibration.studies.traced_report import summary_markdown
from calibration.studies.traced_rows import TracedRow, row_of
from calibration.studies.traced_scenes import EVEN, FIRST_SEED, METALS, ROUGHNESS, ideal_scene, traced_scene

SEEDS = range(FIRST_SEED + 5000, FIRST_SEED + 5040)


@pytest.fixture(scope="module", name="scenes")
def fixture_scenes() -> list:
    return [traced_scene(seed) for seed in SEEDS]


def test_the_renderers_camera_sees_points_where_opencv_puts_them(scenes: list) -> None:
    rng = np.random.default_rng(1)
    for traced in scenes[:12]:
        camera = traced.view.camera
        points = np.column_stack([rng.uniform(0.0, 250.0, (40, 2)), rng.uniform(-6.0, 0.0, 40)])
        shift = -camera.rotation @ camera.position_mm
        (cx, cy), focal = camera.centre_px, camera.focal_px
        matrix = np.array([[focal, 0.0, cx], [0.0, focal, cy], [0.0, 0.0, 1.0]])
        lens = np.array([camera.k1, camera.k2, camera.p1, camera.p2])
        seen = cv2.projectPoints(points, cv2.Rodrigues(camera.rotation)[0], shift, matrix, lens)[0][:, 0]
        assert np.abs(camera.project(points) - seen).max() < 1e-6
        flat = points[:, :2]
        back = camera.on_plane(camera.project(np.column_stack([flat, np.full(40, -2.0)])), 2.0)
        assert np.abs(back - flat).max() < 0.01


def test_the_upper_face_that_is_rendered_has_the_true_area(scenes: list) -> None:
    for traced in scenes[:12]:
        vertices, faces = prism(traced.view.parts[0].on_sheet(), traced.view.thickness_mm)
        a, b, c = (vertices[faces[:, i]] for i in range(3))
        upper = (np.ptp(np.stack([a[:, 2], b[:, 2], c[:, 2]]), axis=0) == 0.0) & (a[:, 2] < 0.0)
        u, v = (b - a)[upper, :2], (c - a)[upper, :2]
        area = 0.5 * np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]).sum()  # half the cross product
        assert area == pytest.approx(truth(traced.drawn)[0].face_mm2, rel=1e-9)


def test_scenes_keep_to_what_the_study_asks_for(scenes: list) -> None:
    kinds = Counter(traced.light for traced in scenes)
    assert len(kinds) == 3
    assert min(kinds.values()) >= 5
    for traced in scenes:
        drawn, part = traced.drawn, traced.view.parts[0]
        low, high = ROUGHNESS[drawn.metal.finish]
        assert low <= part.roughness <= high
        assert part.metal in METALS
        assert drawn.camera.tilt_deg <= 30.0
        assert 0.03 <= traced.view.thickness_mm <= 6.0
        assert truth(drawn)[0].face_mm2 <= 11_000.0
        assert (traced.view.light.lamp_share > 0.0) == (traced.light == "desk lamp")


def test_printed_squares_are_stretched_about_the_middle_of_the_ring(scenes: list) -> None:
    view = scenes[0].view
    boxes = as_printed(view, sheet_rectangles(view)[0])
    wide = boxes[:, 2].max() - boxes[:, 0].min()
    assert wide == pytest.approx(view.print_scale[0] * view.layout.paper_mm[0])
    assert (boxes[:, 2].max() + boxes[:, 0].min()) / 2.0 == pytest.approx(view.layout.width_mm / 2.0)


def test_photon_noise_follows_poissons_law(scenes: list) -> None:
    sensor = replace(PLAIN_SENSOR, full_well=500.0, read_noise=0.0)
    view = replace(small(scenes[0].view, 400), sensor=sensor, exposure=0.5, paper=(0.84, 0.84, 0.83))
    flat = np.full((view.camera.height_px, view.camera.width_px, 3), 0.6, np.float32)
    encoded = develop(flat, view)[..., 1].astype(float) / 255.0
    light = ((encoded + 0.055) / 1.055) ** 2.4  # sRGB, IEC 61966-2-1
    assert light.mean() == pytest.approx(0.5, rel=0.01)
    assert light.var() == pytest.approx(0.5 / 500.0, rel=0.05)  # variance of a count is its mean


def test_rows_come_back_from_the_csv_and_the_summary_keeps_ideal_scenes_apart(tmp_path: Path) -> None:
    rows = []
    for number, traced in enumerate((ideal_scene(0), traced_scene(FIRST_SEED), traced_scene(FIRST_SEED + 1))):
        row = row_of(traced, entry_for(traced), rays=4, renderer="none 0", code="x")
        assert isnan(row.contact)
        rows.append(replace(row, error=0.125 * number, expanded=0.5, e_n=0.25 * number, drawn=0.0))
    rows[2] = replace(rows[2], refused="NO_PART", error=float("nan"))
    path = tmp_path / "rows.csv"
    write_rows(path, rows, TracedRow)
    back = read_rows(path, TracedRow)
    assert [row.light == EVEN for row in back] == [True, False, False]
    assert back[1].error == 0.125
    text = summary_markdown(back)
    assert "| all | 2 | 1 | 100.0 ± 0.0 |" in text
    assert "| NO_PART | 1 |" in text
    assert f"| {FIRST_SEED - 1} |" in text.split("## The renderer checked")[1].split("##")[0]


def test_ideal_scenes_lie_below_the_first_seed_and_every_drawing_module_counts_for_the_code() -> None:
    assert scene_of(FIRST_SEED - 2).drawn == ideal_scene(1).drawn
    assert scene_of(FIRST_SEED - 2).light == EVEN
    assert all((HERE / f"{name}.py").is_file() for name in DRAWS_WITH)
