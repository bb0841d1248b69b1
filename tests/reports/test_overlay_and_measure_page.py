"""The overlay picture and the page on one photo: drawn where the outlines are, complete, and safe to open."""

import base64
import io
import re
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from shapely.geometry import Point

from areakit.errors import FileError
from areakit.flags import flag
from areakit.geometry.outline import Outline
from areakit.geometry.part import Part, thickness_mm
from areakit.geometry.surface import plated_surface
from areakit.reports.measure_page import measure_page
from areakit.reports.overlay import HOLE, LONGEST_PX, OUTLINE, Labelled, draw_overlay, save_overlay
from areakit.uncertainty import Measured

GREY = np.full((900, 1200, 3), 128, dtype=np.uint8)


def ring(x: float, y: float, radius: float) -> np.ndarray:
    angle = np.linspace(0, 2 * np.pi, 200, endpoint=False)
    return np.array([x, y]) + radius * np.column_stack([np.cos(angle), np.sin(angle)])


WASHER = Labelled(rings_px=(ring(500, 400, 200), ring(500, 400, 80)), lines=("1", "12.3 ± 0.1 cm²"))


def close_to(image: np.ndarray, colour: tuple[int, int, int]) -> np.ndarray:
    return np.argwhere(np.abs(image.astype(int) - colour).max(axis=2) < 30)


def test_outlines_and_holes_are_drawn_where_they_are() -> None:
    picture = np.asarray(draw_overlay(GREY, [WASHER], "caption"))
    holes = close_to(picture, HOLE)[:, ::-1]
    assert len(holes) > 200
    assert np.abs(np.hypot(*(holes - [500, 400]).T) - 80).max() < 3
    above = [p for p in close_to(picture, OUTLINE)[:, ::-1] if p[1] < 500]  # the label lies below
    assert np.abs(np.hypot(*(np.array(above) - [500, 400]).T) - 200).max() < 3


def test_a_large_photo_is_made_smaller_and_its_outlines_with_it() -> None:
    large = np.full((3000, 4000, 3), 128, dtype=np.uint8)
    part = Labelled(rings_px=(ring(2000, 1500, 600), ring(2000, 1500, 300)), lines=("1",))
    picture = draw_overlay(large, [part], "caption")
    assert picture.width == LONGEST_PX
    holes = close_to(np.asarray(picture), HOLE)[:, ::-1]
    assert np.abs(np.hypot(*(holes - [1000, 750]).T) - 150).max() < 4


def test_the_caption_stands_below_the_photo_however_long_it_is() -> None:
    short = draw_overlay(GREY, [], "short")
    long = draw_overlay(GREY, [], "a long caption of many words " * 30)
    assert short.height > 900
    assert long.height > short.height + 50
    assert np.array_equal(np.asarray(long)[:900], GREY)


def test_labels_stay_inside_the_photo() -> None:
    corner = Labelled(rings_px=(ring(1170, 880, 15),), lines=("1", "123.45 ± 0.67 cm²"))
    picture = np.asarray(draw_overlay(GREY, [corner], ""))
    white = np.argwhere((picture[:900] > 250).all(axis=2))
    assert len(white) > 300
    assert white[:, 1].max() < 1199
    assert white[:, 0].max() < 899


@pytest.mark.parametrize("suffix", [".jpg", ".png"])
def test_the_suffix_chooses_the_format(suffix: str, tmp_path: Path) -> None:
    path = tmp_path / f"seen{suffix}"
    save_overlay(draw_overlay(GREY, [WASHER], "caption"), path)
    with Image.open(path) as image:
        assert image.format == {".jpg": "JPEG", ".png": "PNG"}[suffix]


@pytest.mark.parametrize("name", ["seen.xyz", "seen", "no/seen.jpg"])
def test_a_picture_that_cannot_be_written_is_refused(name: str, tmp_path: Path) -> None:
    with pytest.raises(FileError, match="cannot be written"):
        save_overlay(draw_overlay(GREY, [], ""), tmp_path / name)


def washer_part() -> tuple[int, Outline, object]:
    polygon = Point(0, 0).buffer(20.0).difference(Point(0, 0).buffer(8.0))
    outline = Outline(
        polygon=polygon,
        area=Measured(value=polygon.area, unit="mm2", budget={"scale <b>": 4.0, "edge position": 2.0, "speck": 1e-4}),
        perimeter_outer=Measured(value=polygon.exterior.length, unit="mm", budget={"edge position": 0.1}),
        perimeter_holes=Measured(value=polygon.interiors[0].length, unit="mm", budget={"edge position": 0.1}),
        origin="photo",
    )
    return 1, outline, plated_surface(Part(outline=outline, thickness=thickness_mm(1.0), faces="all"))


class _Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.sources: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in {"meta", "img", "br", "!doctype"}:
            self.open.append(tag)
        self.sources += [value or "" for name, value in attrs if name in {"src", "href"}]

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def page() -> str:
    file = io.BytesIO()
    Image.fromarray(GREY[:20, :20]).save(file, format="JPEG")
    caution = flag("TILT_HIGH", tilt_deg=25.0)
    return measure_page(
        title="Badge <script>alert(1)</script>",
        overlay=file.getvalue(),
        parts=[washer_part()],  # type: ignore[list-item]
        flags=[caution, caution],
        plan=None,
    )


def test_the_page_is_whole_and_loads_nothing_from_outside() -> None:
    tags = _Tags()
    tags.feed(page())
    assert tags.open == []
    (source,) = tags.sources
    head, data = source.split(",")
    assert head == "data:image/jpeg;base64"
    assert Image.open(io.BytesIO(base64.b64decode(data))).format == "JPEG"
    assert not re.search(r"https?://", page())


def test_the_page_escapes_text_and_says_each_caution_once() -> None:
    text = page()
    assert "<script>" not in text
    assert "scale &lt;b&gt;" in text
    assert text.count("25°") == 1
    assert "coverage factor 2" in text
    assert "safety data" in text


def test_the_page_shows_the_shares_that_matter_and_leaves_out_specks() -> None:
    text = page()
    area = np.pi * (20.0**2 - 8.0**2)
    assert f"{100 * 4.0 / area:.2f}"[:4] in text
    assert "edge position" in text
    assert "speck" not in text
