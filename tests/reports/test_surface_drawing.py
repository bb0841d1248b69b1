from xml.etree import ElementTree

import pytest
from shapely.geometry import Point, box

from areakit.geometry.features import Mask
from areakit.geometry.part import Part
from areakit.geometry.shape_text import read_shape
from areakit.geometry.shapes import typed_shape
from areakit.geometry.surface import plated_surface
from areakit.reports.surface_drawing import surface_drawing
from areakit.uncertainty import Measured, exact
from areakit.units import show

NS = "{http://www.w3.org/2000/svg}"


def part(holes: int = 3) -> Part:
    minus = [read_shape(f"disk 3 mm, count {holes}, circle 20 mm")]
    shape = typed_shape(read_shape("disk 30 mm ± 0.1 mm"), minus=minus)
    return Part(
        outline=shape.outline,
        thickness=exact(1.5, "mm"),
        faces="all",
        masks=(Mask(region=box(5, -30, 30, 30), keep=False, sides=frozenset({"front", "back"})),),
        overspill=Measured(value=0.5, unit="mm", budget={"overspill": 0.1}),
        significant=Point(0, 0).buffer(6),
    )


def words(text: str) -> list[str]:
    return [element.text or "" for element in ElementTree.fromstring(text).iter(f"{NS}text")]


def test_every_surface_stands_on_the_drawing_with_its_area() -> None:
    one = part()
    surface = plated_surface(one)
    shown = words(surface_drawing([("Part 1", one, surface)]))
    for line in surface.lines:
        assert line.name in shown
        assert show(line.area).replace("-", "−") in shown
    assert any(show(surface.plated) in text for text in shown)
    assert {"1", "2", "3", "stopped off", "overspill", "significant surface"} <= set(shown)
    assert any(text.startswith("back, seen through") for text in shown)


def test_many_holes_share_one_row() -> None:
    one = part(holes=18)
    shown = words(surface_drawing([("Part 1", one, plated_surface(one))]))
    assert "18 × hole wall" in shown


@pytest.mark.parametrize("title", ["<b>&", "Part 1"])
def test_the_page_is_sound_and_loads_nothing(title: str) -> None:
    one = part()
    text = surface_drawing([(title, one, plated_surface(one))] * 2)
    root = ElementTree.fromstring(text)
    assert title in words(text)
    assert "http" not in text.replace("http://www.w3.org/2000/svg", "")
    height = float(root.get("viewBox", "").split()[3])
    lowest = max(float(element.get("y", "0")) for element in root.iter(f"{NS}text"))
    assert lowest < height
