"""Drawings of thickness, lanes and dose: sound XML, bounded, true to the part, readable."""

import math
import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from shapely import Point, Polygon, box

from areakit.plating.distribution import ThicknessMap, predict_tank
from areakit.plating.strokes import StrokePlan, plan_strokes
from areakit.reports.bands import choose_bands, ramp, raster_paths, splat
from areakit.reports.maps import dose_svg, lanes_svg, thickness_svg

SVG = "{http://www.w3.org/2000/svg}"


def rosette() -> Polygon:
    angle = np.linspace(0.0, 2.0 * np.pi, 1500, endpoint=False)
    radius = 27.0 + 3.0 * np.cos(5.0 * angle)
    part = Polygon(np.column_stack([40.0 + radius * np.cos(angle), 35.0 + radius * np.sin(angle)]))
    return part.difference(Point(40.0, 20.0).buffer(4.0)).difference(box(34.0, 32.0, 46.0, 38.0))


@pytest.fixture(scope="module")
def tank() -> ThicknessMap:
    return predict_tank(rosette(), wagner=0.05, panels=900)


@pytest.fixture(scope="module")
def plan() -> StrokePlan:
    settings = {"footprint_width_mm": 8.0, "footprint_length_mm": 8.0, "overlap": 0.4, "overrun_mm": 4.0}
    return plan_strokes(rosette(), **settings, hand_speed_mm_s=10.0)


def drawing_of(name: str, tank: ThicknessMap, plan: StrokePlan) -> str:
    if name == "thickness":
        return thickness_svg(tank)
    return lanes_svg(plan) if name == "lanes" else dose_svg(plan)


@pytest.mark.parametrize("name", ["thickness", "lanes", "dose"])
def test_a_drawing_is_sound_small_and_stands_alone(name: str, tank: ThicknessMap, plan: StrokePlan) -> None:
    text = drawing_of(name, tank, plan)
    root = ET.fromstring(text)
    assert root.tag == f"{SVG}svg"
    assert len(text.encode()) < 1_000_000
    assert "href" not in text
    assert "<script" not in text
    assert "nan" not in text.lower().replace("nant", "")
    assert set(re.findall(r"https?://[^\"' )]+", text)) == {"http://www.w3.org/2000/svg"}


@pytest.mark.parametrize("name", ["thickness", "lanes", "dose"])
def test_the_view_holds_the_part_in_millimetres(name: str, tank: ThicknessMap, plan: StrokePlan) -> None:
    text = drawing_of(name, tank, plan)
    left, top, width, height = map(float, ET.fromstring(text).attrib["viewBox"].split())
    x0, y0, x1, y1 = rosette().bounds
    assert left < x0
    assert top < y0
    assert left + width > x1
    assert top + height > y1
    assert width < 3.0 * (x1 - x0)


@pytest.mark.parametrize("name", ["thickness", "lanes", "dose"])
def test_no_text_leaves_the_view(name: str, tank: ThicknessMap, plan: StrokePlan) -> None:
    root = ET.fromstring(drawing_of(name, tank, plan))
    left, top, width, height = map(float, root.attrib["viewBox"].split())
    for text in root.iter(f"{SVG}text"):
        size, x, y = (float(text.attrib[key]) for key in ("font-size", "x", "y"))
        # 0.62 of the size is the mean width of a letter in the widest of the fonts.
        end = x + 0.62 * size * len(text.text or "") * (0.5 if text.attrib["text-anchor"] == "middle" else 1.0)
        assert end < left + width
        assert top + size < y < top + height


def test_the_thickness_map_says_its_figures(tank: ThicknessMap) -> None:
    text = thickness_svg(tank, title="Badge <1> & co")
    assert f"Minimum {tank.minimum_over_mean:.2f} of the mean" in text
    assert "Badge &lt;1&gt; &amp; co" in text
    assert "Wagner number 0.05" in text
    x, y = tank.minimum_at_mm
    assert f'cx="{x:.3f}" cy="{y:.3f}"' in text


def test_lanes_are_numbered_and_drawn_where_they_are(plan: StrokePlan) -> None:
    text = lanes_svg(plan)
    assert len(plan.lanes) > 3
    for index, lane in enumerate(plan.lanes):
        assert f">{index + 1}</text>" in text
        assert f"M{lane.start[0]:.3f} {lane.start[1]:.3f}L{lane.end[0]:.3f} {lane.end[1]:.3f}" in text
    assert f"path {plan.path_length_mm:.0f} mm" in text


def test_lifts_are_dashed() -> None:
    arms = box(0.0, 0.0, 100.0, 40.0).difference(box(30.0, 15.0, 70.0, 40.0))
    plan = plan_strokes(
        arms, footprint_width_mm=8.0, footprint_length_mm=8.0, overlap=0.5, hand_speed_mm_s=20.0, overrun_mm=4.0
    )
    root = ET.fromstring(lanes_svg(plan))
    dashed = [p for p in root.iter(f"{SVG}path") if "stroke-dasharray" in p.attrib]
    assert len(dashed) == plan.lifts > 0


def luminance(colour: str) -> float:
    """Relative luminance of WCAG 2.1."""
    channels = [int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("count", [2, 5, 9])
def test_the_ramp_grows_steadily_darker(count: int) -> None:
    # Lightness L* of CIE 1976 from the luminance.
    lightness = [116.0 * luminance(c) ** (1.0 / 3.0) - 16.0 for c in ramp(count)]
    steps = -np.diff(lightness)
    assert (steps > 0.5 * steps.mean()).all()


def test_bands_cover_all_values_in_round_steps() -> None:
    values = np.array([0.487, 0.6, 0.9, 1.0, 1.4, 5.0])
    bands = choose_bands(values, np.array([1.0, 1.0, 1.0, 1.0, 1.0, 0.1]))
    assert bands.limits[0] == pytest.approx(0.4)
    assert bands.limits[-1] <= 1.4
    assert bands.labels()[-1].endswith("and more")
    assert choose_bands(np.ones(3), np.ones(3)).labels() == ("1.00 to 1.01",)


def test_raster_paths_keep_every_cell() -> None:
    values = np.array([[0.5, 0.5, 1.1, np.nan], [np.nan, 0.7, 0.7, 1.3]])
    bands = choose_bands(values[~np.isnan(values)], np.ones(6))
    text = raster_paths(values, bands)
    covered = {
        (int(y), int(x) + step)
        for x, y, width in re.findall(r"M(\d+) (\d+)h(\d+)", text.split("/>")[0])
        for step in range(int(width))
    }
    assert covered == {(0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (1, 3)}


def test_splat_returns_a_constant_unchanged() -> None:
    places = np.stack(np.meshgrid(np.arange(10.0), np.arange(8.0)), axis=-1).reshape(-1, 2)
    field = splat(places, np.ones(80), np.full(80, 1.7), corner=np.array([-0.5, -0.5]), cell=0.25, shape=(32, 40))
    assert field == pytest.approx(1.7)
    assert math.isfinite(field.max())
