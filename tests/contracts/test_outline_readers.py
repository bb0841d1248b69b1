"""What every reader of drawings must do, whatever the format. A new reader is added to FILES and nothing else."""

import contextlib
import io
import math
import sys
import time
import zlib

import ezdxf
import pytest
from reportlab.pdfgen import canvas

from areakit.errors import AreakitError, InputError, MeasurementError
from areakit.geometry.drawing import read_drawing
from areakit.geometry.readers.limits import Limits, Meter
from areakit.geometry.readers.reader import READERS, ReadRequest, outline_reader, reader_names

# Each file holds one plate of 40 mm x 30 mm with a square hole of 10 mm, and beside it something to be left out.
PLATE = [(0, 0), (40, 0), (40, 30), (0, 30)]
HOLE = [(5, 5), (15, 5), (15, 15), (5, 15)]
AREA, OUTER, HOLES = 1100.0, 140.0, 40.0


def svg() -> bytes:
    return b"""<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">
    <path d="M0 0H40V30H0z M5 5v10h10v-10z"/><text x="1" y="1">note</text></svg>"""


def dxf() -> bytes:
    document = ezdxf.new()
    document.header["$INSUNITS"] = 4
    space = document.modelspace()
    for ring in (PLATE, HOLE):
        space.add_lwpolyline(ring, close=True)
    space.add_text("note")
    text = io.StringIO()
    document.write(text)
    return text.getvalue().encode()


def wkt() -> bytes:
    return (
        b"GEOMETRYCOLLECTION (POLYGON ((0 0, 40 0, 40 30, 0 30, 0 0), (5 5, 15 5, 15 15, 5 15, 5 5)), "
        b"LINESTRING (0 0, 1 1))"
    )


def geojson() -> bytes:
    return (
        b'{"type": "FeatureCollection", "unit": "mm", "features": ['
        b'{"type": "Feature", "properties": {}, "geometry": {"type": "Point", "coordinates": [1, 2]}},'
        b'{"type": "Feature", "properties": {}, "geometry": {"type": "Polygon", "coordinates": ['
        b"[[0, 0], [40, 0], [40, 30], [0, 30], [0, 0]], [[5, 5], [15, 5], [15, 15], [5, 15], [5, 5]]]}}]}"
    )


def pdf() -> bytes:
    millimetre = 72.0 / 25.4
    page = io.BytesIO()
    sheet = canvas.Canvas(page)
    sheet.scale(millimetre, millimetre)
    path = sheet.beginPath()
    for ring in (PLATE, HOLE):
        path.moveTo(*ring[0])
        for spot in ring[1:]:
            path.lineTo(*spot)
        path.close()
    sheet.drawPath(path, fill=1)
    sheet.drawString(50, 50, "note")
    sheet.save()
    return page.getvalue()


FILES = {"svg": svg, "dxf": dxf, "wkt": wkt, "geojson": geojson, "pdf": pdf}
STATED = {"wkt": "mm"}


def test_every_reader_that_comes_with_areakit_is_in_this_suite() -> None:
    assert set(FILES) == set(READERS)
    assert set(READERS) <= set(reader_names())


@pytest.mark.parametrize("name", FILES)
def test_area_perimeter_and_hole_are_those_of_the_plate(name: str) -> None:
    drawing = read_drawing(FILES[name](), name, unit=STATED.get(name))
    (polygon,) = drawing.polygons
    assert polygon.area == pytest.approx(AREA, rel=1e-6)
    assert polygon.exterior.length == pytest.approx(OUTER, rel=1e-6)
    assert math.fsum(ring.length for ring in polygon.interiors) == pytest.approx(HOLES, rel=1e-6)


@pytest.mark.parametrize("name", FILES)
def test_what_is_left_out_is_listed_and_flagged(name: str) -> None:
    drawing = read_drawing(FILES[name](), name, unit=STATED.get(name))
    assert sum(drawing.ignored.values()) == 1
    assert [flag.code for flag in drawing.flags] == ["IGNORED_IN_DRAWING"]


@pytest.mark.parametrize("name", FILES)
@pytest.mark.parametrize(
    "junk", [b"", b"\x00\xff\xfe\x01" * 500, b"<svg", b"0\nSECTION\n", b"{", b"POLYGON((", b"%PDF-"]
)
def test_junk_gets_one_clear_refusal(name: str, junk: bytes) -> None:
    with pytest.raises((InputError, MeasurementError)) as caught:
        read_drawing(junk, name, unit="mm")
    assert caught.value.message.endswith(".")
    assert caught.value.remedy
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("name", FILES)
def test_cut_off_files_never_escape_as_a_defect(name: str) -> None:
    whole = FILES[name]()
    for part in range(1, 12):
        with contextlib.suppress(AreakitError):
            read_drawing(whole[: len(whole) * part // 12], name, unit="mm")


@pytest.mark.parametrize("name", FILES)
def test_the_caps_are_asked(name: str) -> None:
    limits = Limits(entities=1, vertices=3)
    with pytest.raises(InputError, match="the limit is"):
        read_drawing(FILES[name](), name, unit=STATED.get(name), limits=limits)


def test_time_is_a_cap_too() -> None:
    ticks = iter(range(1000))
    meter = Meter(Limits(seconds=3.0), clock=lambda: float(next(ticks)))
    request = ReadRequest(unit=None, sagitta_mm=0.01, meter=meter)
    many = b'<svg xmlns="http://www.w3.org/2000/svg">' + b'<rect width="1" height="1"/>' * 20 + b"</svg>"
    with pytest.raises(InputError, match="more work than 3 s"):
        outline_reader("svg").trace(many, request)


def test_an_unknown_name_is_refused_with_the_known_ones() -> None:
    with pytest.raises(InputError, match="svg"):
        outline_reader("cdr")


def test_a_reader_of_another_package_is_found_by_its_entry_point(monkeypatch: pytest.MonkeyPatch) -> None:
    from importlib.metadata import EntryPoint

    from areakit.geometry.readers import reader

    point = EntryPoint("plate", "areakit.geometry.readers.text:WktReader", reader.ENTRY_POINTS)
    monkeypatch.setattr(reader, "entry_points", lambda group, name=None: [point] if name in (None, "plate") else [])
    assert "plate" in reader_names()
    assert read_drawing(wkt(), "plate", unit="cm").polygons[0].area == pytest.approx(AREA * 100.0)


def bombs() -> dict[str, tuple[str, bytes]]:
    head = b'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9">'
    doubling = b"".join(
        b'<g id="u%d"><use href="#u%d"/><use href="#u%d"/></g>' % (i, i - 1, i - 1) for i in range(1, 40)
    )
    wide = b"".join(b'<g id="u%d">' % i + b'<use href="#u%d"/>' % (i - 1) * 40 + b"</g>" for i in range(1, 9))
    circle = b'<defs><circle id="u0" r="1"/>'
    points = b"0\nSECTION\n2\nENTITIES\n" + b"0\nPOINT\n10\n1\n20\n1\n" * 60_000 + b"0\nENDSEC\n0\nEOF\n"
    entities = b'<!DOCTYPE s [<!ENTITY a "aaaaaaaaaa">' + b"".join(
        b'<!ENTITY %c "%s">' % (98 + i, b"&%c;" % (97 + i) * 10) for i in range(9)
    )
    return {
        "use doubling": ("svg", head + circle + doubling + b'</defs><use href="#u39"/></svg>'),
        "use forty-fold": ("svg", head + circle + wide + b'</defs><use href="#u8"/></svg>'),
        "use of itself": ("svg", head + b'<g id="a"><use href="#a"/></g></svg>'),
        "deep groups": ("svg", head + b"<g>" * 100_000 + b"</g>" * 100_000 + b"</svg>"),
        "long path": ("svg", head + b'<path d="M0 0' + b" l1 1" * 400_000 + b'"/></svg>'),
        "entity expansion": ("svg", entities + b"]>" + head + b"<text>&j;</text></svg>"),
        "too many bytes": ("svg", b" " * 20_000_001),
        "deep collection": ("wkt", b"GEOMETRYCOLLECTION(" * 100_000),
        "many vertices": ("wkt", b"POLYGON((" + b"0 0," * 400_000 + b"0 0))"),
        "deep arrays": ("geojson", b'{"a":' + b"[" * 100_000),
        "many lines": ("dxf", points),
        "nested inserts": ("dxf", _blocks(8, 10)),
        "grid of inserts": ("dxf", _blocks(0, 30_000)),
        "block in itself": ("dxf", _blocks(-1, 0)),
        "groups in groups": ("pdf", _pdf([_group(i, b"/F Do " * 2) for i in range(30)])),
        "unfolding stream": ("pdf", _pdf([_packed(b"0 0 1 1 re f\n" * 1_000_000)])),
        "odd packing": ("pdf", _pdf([b"<</Filter/LZWDecode/Length 3>>stream\n\x80\x0b\x60\nendstream"])),
    }  # fmt: skip


def _group(number: int, content: bytes) -> bytes:
    """A form that draws the next one, as PDF allows (ISO 32000-1, 8.10)."""
    head = b"<</Type/XObject/Subtype/Form/BBox[0 0 9 9]/Resources<</XObject<</F %d 0 R>>>>/Length %d>>stream\n"
    return head % (6 + number, len(content)) + content + b"\nendstream"


def _packed(content: bytes) -> bytes:
    body = zlib.compress(content, 9)
    return b"<</Filter/FlateDecode/Length %d>>stream\n" % len(body) + body + b"\nendstream"


def _pdf(objects: list[bytes]) -> bytes:
    """A page that draws the first of the objects; the table of places is left out, for readers rebuild it."""
    page = b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 9 9]/Contents 4 0 R/Resources<</XObject<</F 5 0 R>>>>>>"
    first = b"<</Length 5>>stream\n/F Do\nendstream"
    every = [b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Kids[3 0 R]/Count 1>>", page, first, *objects]
    body = b"".join(b"%d 0 obj\n%b\nendobj\n" % (i, each) for i, each in enumerate(every, start=1))
    return b"%PDF-1.4\n" + body + b"trailer<</Root 1 0 R>>\n%%EOF"


def _blocks(levels: int, copies: int) -> bytes:
    document = ezdxf.new()
    document.header["$INSUNITS"] = 4
    space = document.modelspace()
    first = document.blocks.new("B0")
    first.add_circle((0, 0), 1)
    if levels < 0:
        first.add_blockref("B0", (1, 0))
    for level in range(1, levels + 1):
        block = document.blocks.new(f"B{level}")
        for i in range(copies):
            block.add_blockref(f"B{level - 1}", (i, 0))
    grid = {"row_count": copies, "column_count": copies, "row_spacing": 3, "column_spacing": 3} if levels == 0 else {}
    space.add_blockref(f"B{max(levels, 0)}", (0, 0), dxfattribs=grid)
    text = io.StringIO()
    document.write(text)
    return text.getvalue().encode()


ATTACKS = [
    *("use doubling", "use forty-fold", "use of itself", "deep groups", "long path", "entity expansion"),
    *("too many bytes", "deep collection", "many vertices", "deep arrays", "many lines", "nested inserts"),
    *("grid of inserts", "block in itself", "groups in groups", "unfolding stream", "odd packing"),
]


@pytest.mark.thorough
@pytest.mark.parametrize("attack", ATTACKS)
def test_a_hostile_file_is_refused_at_once(attack: str, files: dict[str, tuple[str, bytes]]) -> None:
    name, data = files[attack]
    started = time.process_time()
    with pytest.raises(InputError):
        read_drawing(data, name, unit="mm")
    counted = sys.gettrace() is not None  # each line is slower where branches are counted
    assert time.process_time() - started < (10.0 if counted else 2.0)  # a second on a quiet machine


@pytest.fixture(scope="module")
def files() -> dict[str, tuple[str, bytes]]:
    return bombs()


@pytest.mark.parametrize(
    ("rule", "inner", "flagged"),
    [
        ("", "M10 10H20V20H10Z", True),
        ("", "M10 10V20H20V10Z", False),
        ('fill-rule="evenodd"', "M10 10H20V20H10Z", False),
        ('style="fill-rule: evenodd"', "M10 10H20V20H10Z", False),
        ('fill="none"', "M10 10H20V20H10Z", False),
    ],
)
def test_a_drawing_that_fills_its_hole_is_flagged(rule: str, inner: str, flagged: bool) -> None:
    """SVG 1.1, 11.3: nonzero is the initial fill rule, so that lines which wind alike leave no hole."""
    text = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40">'
        f'<path {rule} d="M0 0H40V40H0Z {inner}"/></svg>'
    )
    drawing = read_drawing(text.encode(), "svg")
    assert drawing.polygons[0].area == pytest.approx(1500.0)
    assert ["FILLED_IN_DRAWING"] * flagged == [flag.code for flag in drawing.flags]
