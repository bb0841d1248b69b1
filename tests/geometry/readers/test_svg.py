import math

import pytest
import svgelements

from areakit.errors import FileError, OutlineInvalid, OutlineNotFound, RangeError
from areakit.geometry.drawing import Drawing, read_drawing
from areakit.geometry.readers.limits import Meter
from areakit.geometry.readers.svg_path import path_chains

NS = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'


def read(body: str, attributes: str = 'width="100mm" height="100mm" viewBox="0 0 100 100"', **how: str) -> Drawing:
    return read_drawing(f"<svg {NS} {attributes}>{body}</svg>".encode(), "svg", **how)


@pytest.mark.parametrize(
    ("attributes", "mm"),
    [
        ('width="100mm" height="100mm" viewBox="0 0 100 100"', 1.0),
        ('width="10cm" height="10cm" viewBox="0 0 200 200"', 0.5),
        ('width="2in" height="2in" viewBox="0 0 1 1"', 50.8),
        ('width="72pt" height="72pt" viewBox="0 0 25.4 25.4"', 1.0),
        ('width="6pc" height="6pc" viewBox="0 0 25.4 25.4"', 1.0),
        ('width="100q" height="100q" viewBox="0 0 25 25"', 1.0),
        ('width="100mm" height="50mm" viewBox="0 0 100 100"', 0.5),
        ('width="100mm" height="50mm" viewBox="0 0 100 100" preserveAspectRatio="xMidYMid slice"', 1.0),
        ('width="30mm" viewBox="0 0 10 10"', 3.0),
        ('width="100mm" height="50mm" viewBox="0 0 50 50" preserveAspectRatio="xMinYMin meet"', 1.0),
        ('width="100mm" height="100mm"', 25.4 / 96),
    ],
)
def test_units_and_view_box_set_the_scale(attributes: str, mm: float) -> None:
    """CSS Values and Units level 3: 1 in = 25.4 mm = 96 px = 72 pt = 6 pc, 1 q = 0.25 mm; SVG 2, 8.2 for the fit."""
    drawing = read('<rect width="4" height="3"/>', attributes)
    assert drawing.polygons[0].area == pytest.approx(12 * mm**2, rel=1e-9)
    assert not drawing.flags


def test_a_picture_without_size_is_read_at_96_px_and_flagged() -> None:
    drawing = read('<rect width="96" height="96"/>', 'viewBox="0 0 200 200"')
    assert drawing.polygons[0].area == pytest.approx(25.4**2)
    assert drawing.flags[0].code == "PIXEL_UNITS"


def test_the_stated_unit_is_used_where_the_file_has_none_and_flagged_where_it_has() -> None:
    assert read('<rect width="2" height="2"/>', 'viewBox="0 0 9 9"', unit="in").polygons[0].area == pytest.approx(
        50.8**2
    )
    drawing = read('<rect width="2" height="2"/>', unit="in")
    assert drawing.polygons[0].area == pytest.approx(4.0)
    assert [flag.code for flag in drawing.flags] == ["UNIT_OF_THE_FILE"]


@pytest.mark.parametrize(
    ("body", "area"),
    [
        ('<circle cx="20" cy="20" r="5"/>', math.pi * 25),
        ('<ellipse cx="20" cy="20" rx="6" ry="3"/>', math.pi * 18),
        ('<rect x="1" y="1" width="20" height="10" rx="2"/>', 200 - (4 - math.pi) * 4),
        ('<rect x="1" y="1" width="20" height="10" rx="2" ry="1"/>', 200 - (4 - math.pi) * 2),
        ('<rect x="1" y="1" width="20" height="10" ry="99"/>', 200 - (4 - math.pi) * 50),
        ('<polygon points="0,0 10,0 0,10"/>', 50.0),
        ('<path d="M10 0A10 10 0 0 1 -10 0A10 10 0 0 1 10 0z"/>', math.pi * 100),
        ('<path d="M0 0h10v10H0z"/>', 100.0),
        ('<path d="M10 0A10 10 0 0 0 -10 0A10 10 0 0 0 10 0z"/>', math.pi * 100),
        ('<path d="M0 0A0 5 0 0 1 10 0V10H0z , "/>', 100.0),  # 9.5.1: a radius of zero makes a straight line
        ('<g transform="translate(7) skewY(30)"><rect width="4" height="3"/></g>', 12.0),
        ('<rect width="0" height="9"/><circle r="0"/><ellipse rx="3"/><rect width="4" height="3"/>', 12.0),  # 10.2-10.4
        ('<svg width="100%" height="9" viewBox="0 0 3 3"><rect width="4" height="3"/></svg>', 12.0),
        ('<path d="m5 5 q5 10 10 0z"/>', 2 / 3 * 10 * 5),  # parabola segment: Archimedes, 2/3 of its box
        ('<path d="M0 0c0 10 10 10 10 0z"/>', 60.0),  # integral of y dx of the Bernstein form: 3/5 of its box
        ('<g transform="rotate(37 3 4) scale(2)"><circle r="5"/></g>', math.pi * 100),
        ('<g transform="matrix(1 0 .5 1 7 8)"><rect width="4" height="3"/></g>', 12.0),
        ('<g transform="skewX(30)scale(2,3)"><rect width="4" height="3"/></g>', 72.0),
        ('<defs><circle id="c" r="3"/></defs><use xlink:href="#c" x="9" transform="scale(2)"/>', math.pi * 36),
        ('<symbol id="s" viewBox="0 0 9 9"><circle r="1"/></symbol><use href="#s" width="9" height="9"/>', math.pi),
        ('<svg x="5" y="5" width="20" height="10" viewBox="0 0 10 10"><rect width="5" height="5"/></svg>', 25.0),
        ('<rect width="20" height="20"/><circle cx="10" cy="10" r="6"/><circle cx="10" cy="10" r="2"/>',
         400 - math.pi * 36 + math.pi * 4),
    ],
)  # fmt: skip
def test_shapes_have_the_areas_of_closed_forms(body: str, area: float) -> None:
    drawing = read(body)
    assert sum(p.area for p in drawing.polygons) == pytest.approx(area, rel=1e-4)
    assert not drawing.ignored


def test_a_view_box_may_be_stretched_each_way_by_itself() -> None:
    """SVG 2, 8.2: with preserveAspectRatio none, 100 mm / 50 across and 50 mm / 50 down."""
    frame = 'width="100mm" height="50mm" viewBox="0 0 50 50" preserveAspectRatio="none"'
    assert read('<rect width="4" height="3"/>', frame).polygons[0].area == pytest.approx(24.0)


def test_a_view_box_in_pixels_is_read_at_96_px_and_flagged() -> None:
    """CSS: 1 px is 1/96 in; here two of them to a user unit."""
    drawing = read('<rect width="96" height="96"/>', 'width="200" height="200px" viewBox="0 0 100 100"')
    assert drawing.polygons[0].area == pytest.approx((2 * 25.4) ** 2)
    assert [flag.code for flag in drawing.flags] == ["PIXEL_UNITS"]


def test_what_is_scaled_to_nothing_is_counted() -> None:
    body = '<g transform="scale(0)"><rect width="4" height="3"/></g><rect width="9" height="9"/>'
    assert read(body).ignored == {"shape scaled to nothing": 1}


def test_lines_that_meet_in_threes_are_refused() -> None:
    """Where three ends meet, no pair can be told, so the lines are not joined at a guess."""
    body = '<path d="M0 0H10V10"/><path d="M10 10H0V0"/><path d="M10 10L20 20"/><circle cx="50" cy="50" r="3"/>'
    with pytest.raises(OutlineInvalid, match=r"branch.*\(10\.00, -10\.00\) mm"):
        read(body)


def test_loose_lines_that_meet_make_an_outline_whatever_their_direction() -> None:
    body = '<line x2="10"/><path d="M10 10L10 0"/><polyline points="0,0 0,10"/><path d="M0 10A5 5 0 0 0 10 10"/>'
    assert read(body).polygons[0].area == pytest.approx(100 + 12.5 * math.pi, rel=1e-4)


def test_everything_left_out_is_counted() -> None:
    body = (
        '<rect width="9" height="9" clip-path="url(#x)"/><text>a</text><image/><line x1="20" x2="30"/>'
        '<g display="none"><rect width="1" height="1"/></g><circle r="2" style="display: none"/>'
        '<style>.off { display:none }</style><circle class="off" r="1"/><use href="#gone"/>'
        '<path d="M1 1h1h-1z"/><rect width="9" height="9"/>'
    )
    assert read(body).ignored == {
        "clip": 1, "text": 1, "image": 1, "open path": 1, "hidden shape": 3, "use of something missing": 1,
        "shape without area": 1, "outline drawn twice": 1,
    }  # fmt: skip


# Written by hand to use every command of the grammar, small and large, joined numbers and flags.
PATHS = [
    "M10 10C20 20,40 20,50 10S70 0 80 10 90 30 90 30Q95 40 80 50t-10 5 L10 60Z",
    "m10,10l20-5.5.5 30-10e-1-.5h-7v-3z",
    "M10 315L110 215A30 50 0 0 1 162.55 162.45L172.55 152.45A30 50-45 0 1 215.1 109.9L315 10z",
    "M50 50a25 20 0 1150 0a25 25 30 1 1-50 0z",
    "M0 0 10 0 10 10 0 10z m2 2 3 0 0 3z",
]


@pytest.mark.parametrize("text", PATHS)
def test_paths_agree_with_an_independent_library(text: str) -> None:
    """Sample the path by the svgelements library at its own parameter, and compare the shoelace sums."""
    ours = sum(_shoelace([complex(x, y) for x, y in points]) for points, _ in path_chains(text, 1e-5, Meter()))
    theirs = 0.0
    for subpath in svgelements.Path(text).as_subpaths():
        spots = []
        for segment in svgelements.Path(subpath):
            if not isinstance(segment, svgelements.Move):
                spots += [segment.point(i / 2000) for i in range(2000)]
        theirs += _shoelace([complex(p.x, p.y) for p in spots])
    assert ours == pytest.approx(theirs, rel=1e-5)


def _shoelace(spots: list[complex]) -> float:
    return sum((a.conjugate() * b).imag for a, b in zip(spots, spots[1:] + spots[:1], strict=True)) / 2


def test_the_default_sagitta_costs_less_than_a_ten_thousandth() -> None:
    for radius in (0.5, 3.0, 40.0):
        drawing = read(f'<circle cx="50" cy="50" r="{radius}"/>')
        short = 1.0 - drawing.polygons[0].area / (math.pi * radius**2)
        assert 0.0 < short < 1e-4


@pytest.mark.parametrize(
    ("body", "error", "words"),
    [
        ('<polygon points="0,0 10,10 10,0 0,10"/>', OutlineInvalid, "crosses or touches itself near"),
        ('<rect width="9" height="9"/><rect x="5" width="9" height="9"/>', OutlineInvalid, "Two outlines"),
        ('<line x2="9"/>', OutlineNotFound, "no closed outline"),
        ('<path d="M0 0 L 1"/>', FileError, "breaks off"),
        ('<path d="L 1 1 Q"/>', FileError, "breaks off"),
        ('<circle r="nan"/>', FileError, "not a length"),
        ('<circle r="1" transform="rotate(inf)"/>', FileError, "not a list of numbers"),
        ('<circle r="1" transform="spin(3)"/>', FileError, "not a transform"),
        ('<circle r="1e9"/>', OutlineInvalid, "limit"),
        ('<circle r="5 parsec"/>', FileError, "'5 parsec' is not a length"),
        ('<circle r="1" transform="scale(1) ?"/>', FileError, "not a transform"),
        ('<polygon points="0,0 10,10 10"/>', FileError, "odd count of numbers"),
        ('<path d="M0 0H9V9z 5 5"/>', FileError, "breaks off at ' 5 5'"),
        ('<path d="M0 0a1e160 1e160 0 0 1 9 9z"/>', FileError, "out of all bounds"),
        ('<g transform="scale(1e200)"><rect transform="scale(1e200)" width="1" height="1"/></g>', FileError,
         "no finite place or size"),
    ],
)  # fmt: skip
def test_nonsense_gets_one_sentence(body: str, error: type[Exception], words: str) -> None:
    with pytest.raises(error, match=words):
        read(body)


@pytest.mark.parametrize(
    "arc", ["A1e300 1e300 0 0 1 5 5", "A1 1 0 0 1 1e300 5", "A1 1e999 0 0 1 5 5", "A1 1 1e999 0 1 5 5"]
)
def test_an_arc_out_of_all_bounds_is_refused_in_words(arc: str) -> None:
    with pytest.raises((FileError, OutlineInvalid, OutlineNotFound)):
        read(f'<path d="M0 0{arc}z"/>')


@pytest.mark.parametrize(
    ("attributes", "told"),
    [
        ('width="wide" height="9mm"', "'wide' is not a length"),
        ('width="9ells" height="9mm"', "'9ells' is not a length"),
        ('viewBox="0 0 9"', "'0 0 9' is not a viewBox"),
        ('viewBox="0 0 9 0"', "'0 0 9 0' is not a viewBox"),
        ('viewBox="0 0 9 nan"', "'0 0 9 nan' is not a list of numbers"),
    ],
)
def test_a_page_without_a_sound_frame_is_refused(attributes: str, told: str) -> None:
    with pytest.raises(FileError, match=told):
        read('<rect width="4" height="3"/>', attributes)


def test_a_compressed_or_foreign_file_says_what_it_is() -> None:
    import gzip

    with pytest.raises(FileError, match="compressed"):
        read_drawing(gzip.compress(b"<svg/>"), "svg")
    with pytest.raises(FileError, match="not an SVG drawing"):
        read_drawing(b"<html/>", "svg")


def test_a_sagitta_must_be_finer_than_a_millimetre() -> None:
    with pytest.raises(RangeError, match="2 mm is outside 0 to 1 mm"):
        read_drawing(b"<svg/>", "svg", sagitta_mm=2.0)
    body = b'<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="30mm"><rect width="20" height="20"/></svg>'
    assert read_drawing(body, "svg", sagitta_mm=0.99).sagitta_mm == 0.99
    with pytest.raises(RangeError, match="outside 0 to 1 mm"):
        read_drawing(body, "svg", sagitta_mm=0.0)


def test_an_outline_thinner_than_a_line_has_no_area() -> None:
    flat = '<path d="M0 0L5 5L9 9z"/><path d="M20 20"/><path d="M1 1h2zM5 5h2z"/>'
    drawing = read(flat + '<circle cx="50" cy="50" r="3"/>')
    assert len(drawing.polygons) == 1
    assert drawing.ignored["shape without area"] >= 1


def test_outlines_that_share_only_a_hair_are_not_taken_as_crossing() -> None:
    """An overlap of a millionth of the area is rounding of the drawing program, not a crossing."""
    body = '<rect width="10" height="10"/><rect x="9.999999" width="10" height="10"/>'
    assert sum(polygon.area for polygon in read(body).polygons) == pytest.approx(200.0, rel=1e-6)


def test_an_arc_against_the_clock_that_would_run_on_with_it_turns_back() -> None:
    """SVG 2, B.2.4, equation 5.6: without the sweep flag the angle is made negative."""
    body = '<path d="M0 -10A10 10 0 1 0 10 0L0 0z"/>'  # three quarters of a disk, drawn against the clock
    assert read(body).polygons[0].area == pytest.approx(0.75 * math.pi * 100, rel=1e-4)
