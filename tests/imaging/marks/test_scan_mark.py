"""Flat-bed scans: the resolution tag (pixels per inch of 25.4 mm), alone and beside a marker frame."""

from pathlib import Path

import cv2
import numpy as np
import pytest
import shapely
from mark_drawing import Floats, area_and_u, blank, developed, paint, square
from PIL import Image

from areakit.errors import MarkNotFound
from areakit.imaging.marks import find_scale
from areakit.imaging.marks.scan import looks_like_scan, scan_scale
from areakit.imaging.outlines import find_outlines
from areakit.imaging.photo import Photo, overview, read_photo
from areakit.synthetic.sheet_print import black_figure
from areakit.uncertainty import Measured

A4_AT_150 = (1754, 1240)
PX_PER_MM = 150 / 25.4


def saved(tmp_path: Path, picture: Floats, dpi: float) -> Photo:
    pixels = developed(picture, np.random.default_rng(0), focal_px=None).pixels
    Image.fromarray(pixels).save(tmp_path / "scan.png", dpi=(dpi, dpi), compress_level=1)
    return read_photo(tmp_path / "scan.png")


def ring_picture(px_per_mm: float) -> Floats:
    """The A4 sheet as a scanner sees it: its black figure at scale, 18.5 mm and 15 mm from the corner of the paper."""
    picture = blank((0.85, 0.85, 0.85), A4_AT_150)
    fine = np.zeros((4 * A4_AT_150[1], 4 * A4_AT_150[0]), np.uint8)
    for piece in shapely.get_parts(black_figure("A4-r1", 0.0)):
        rings = [piece.exterior, *piece.interiors]
        places = [(np.array(r.coords) + [18.5, 15.0]) * px_per_mm * 4 - 0.5 for r in rings]
        cv2.fillPoly(fine, [np.rint(p * 16).astype(np.int32) for p in places], 255, shift=4)
    ink = cv2.resize(fine, A4_AT_150, interpolation=cv2.INTER_AREA)[..., None] / 255.0
    return picture * (1 - ink) + 0.03 * ink


def test_tag_gives_the_area_of_a_part(tmp_path: Path) -> None:
    picture = blank((0.8, 0.8, 0.8), A4_AT_150)
    paint(picture, square(np.array([800.0, 600.0]), 40.0 * PX_PER_MM), (0.08, 0.07, 0.06))
    photo = saved(tmp_path, picture, 150)
    found = find_outlines(photo, thickness=Measured(value=3.0, unit="mm"))
    outline = found.parts[0].outline
    assert found.scale.mark == "scan"
    assert abs(outline.area.value - 1600.0) < outline.area.expanded_uncertainty
    assert outline.area.value == pytest.approx(1600.0, rel=0.004)  # a part 3 mm high shows no parallax
    # 0.3 % along each axis is 0.42 % of area (JCGM 100, 5.1.2)
    shares = [outline.area.budget[f"scan resolution, along {axis}"] for axis in "xy"]
    assert np.hypot(*shares) / outline.area.value == pytest.approx(0.00424, rel=0.01)
    assert "SCAN_RESOLUTION" in [flag.code for flag in found.flags]


def test_ring_in_a_scan_overrides_a_wrong_tag(tmp_path: Path) -> None:
    pixels = ring_picture(PX_PER_MM)
    for dpi, disagrees in ((150, False), (300, True)):
        photo = saved(tmp_path, pixels, dpi)
        scale = find_scale(photo, overview(photo), mark="auto", reading=None)
        assert scale.mark == "frame"
        assert scale.camera.height_mm > 1e5  # no perspective
        value, _ = area_and_u(scale, square(np.array([877.0, 620.0]), 50 * PX_PER_MM))
        assert value == pytest.approx(2500.0, rel=0.001)
        flags = {flag.code: flag.message for flag in scale.flags}
        assert ("SCALES_DISAGREE" in flags) is disagrees
        if disagrees:
            assert "150 dpi" in flags["SCALES_DISAGREE"]
            assert "300 dpi" in flags["SCALES_DISAGREE"]


def test_only_what_looks_like_a_scan_is_taken_unasked(tmp_path: Path) -> None:
    image = Image.new("RGB", A4_AT_150, (200, 200, 200))
    phone_shape = Image.new("RGB", (1600, 1200), (200, 200, 200))
    cases = [(image, "a.png", 150, True), (image, "b.tif", 150, True), (image, "c.png", 151.3, False)]
    cases += [(image, "d.jpg", 150, False), (phone_shape, "e.png", 150, False)]
    for picture, name, dpi, expected in cases:
        picture.save(tmp_path / name, dpi=(dpi, dpi))
        assert looks_like_scan(read_photo(tmp_path / name)) is expected, name
    image.save(tmp_path / "untagged.png")
    assert not looks_like_scan(read_photo(tmp_path / "untagged.png"))


def test_scan_without_a_tag_is_refused(tmp_path: Path) -> None:
    Image.new("RGB", (400, 300)).save(tmp_path / "untagged.png")
    photo = read_photo(tmp_path / "untagged.png")
    with pytest.raises(MarkNotFound, match=r"90 to 5000 dpi") as caught:
        scan_scale(photo)
    assert caught.value.code == "NO_SCAN_RESOLUTION"
