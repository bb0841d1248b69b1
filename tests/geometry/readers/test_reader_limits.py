"""How much of a drawing is read before it is refused, on both sides, and the units that a file may name."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from areakit.errors import FileError
from areakit.geometry.readers import dxf, pdf_scan, svg
from areakit.geometry.readers.limits import Limits, Meter
from areakit.geometry.readers.reader import millimetres
from areakit.geometry.rings import Trace


@pytest.mark.parametrize(
    ("take", "most"),
    [
        ("take_bytes", 20_000_000),  # a drawing of a part has some kilobytes
        ("take_entities", 20_000),
        ("take_entity", 24),  # so deep
        ("take_vertices", 300_000),
    ],
)
def test_a_drawing_is_read_up_to_its_limit(take: str, most: int) -> None:
    getattr(Meter(), take)(most)
    with pytest.raises(FileError, match="the limit is"):
        getattr(Meter(), take)(most + 1)


@pytest.mark.parametrize(("seconds", "refused"), [(9.9, False), (10.1, True)])
def test_a_drawing_is_read_for_ten_seconds(seconds: float, refused: bool) -> None:
    times = iter([100.0, 100.0 + seconds])
    meter = Meter(clock=lambda: next(times))
    if not refused:
        meter.take_entity()
        return
    with pytest.raises(FileError, match="more work than 10 s"):
        meter.take_entity()


def test_units_of_a_dxf_file_are_those_of_its_reference() -> None:
    """DXF reference, HEADER section, $INSUNITS, and what the units are in millimetres."""
    reference = {
        1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0, 8: 25.4e-6, 9: 0.0254, 12: 1e-6, 13: 1e-3, 14: 100.0,
    }  # fmt: skip
    assert {code: millimetres(unit) for code, unit in dxf._UNITS.items()} == pytest.approx(reference)


def told(data: bytes, meter: Meter) -> str:
    with pytest.raises(FileError) as refusal:
        dxf._document(data, meter)
    return refusal.value.message


@pytest.mark.parametrize(("lines", "refused"), [(299_999, False), (300_001, True)])
def test_a_dxf_file_has_three_hundred_thousand_lines_of_text(lines: int, refused: bool) -> None:
    """What is no drawing at all is refused as such, once it is looked at."""
    text = type("Text", (bytes,), {"count": lambda text, line_end: lines})(b"x\n")
    assert ("more than 300000 lines" in told(text, Meter())) == refused


@pytest.mark.parametrize(("entities", "refused"), [(5009, False), (5011, True)])
def test_tables_of_a_dxf_file_are_left_five_thousand_entities(entities: int, refused: bool) -> None:
    meter = Meter(Limits(entities=10))
    assert ("more than 10 entities" in told(b"x" + b"\n0\ny" * entities, meter)) == refused


def long(size: int) -> bytes:
    """A file that says that it is so long."""
    found: bytes = type("Long", (bytes,), {"__len__": lambda file: size})(b"%PDF")
    return found


def stream(text: bytes) -> bytes:
    return b"1 0 obj <</Length %d>> stream\n%s endobj\n" % (len(text), text)


@pytest.mark.parametrize(
    ("right", "wrong", "told_"),
    [
        (long(8_000_000), long(8_000_001), "the limits are 8 MB and 500"),
        (stream(b"") * 500, stream(b"") * 501, "and 501 streams"),
        (stream(b" " * 2_999_999), stream(b" " * 3_000_001), "unfolds to more than 3 MB"),
        (stream(b"/a Do " * 141) * 2, stream(b"/a Do " * 142) * 2, "more than 20000 times"),
    ],
    ids=["bytes", "streams", "unfolded", "placings"],
)
def test_a_pdf_file_is_read_up_to_its_limits(right: bytes, wrong: bytes, told_: str) -> None:
    pdf_scan.check_pdf(right)
    with pytest.raises(FileError, match=told_):
        pdf_scan.check_pdf(wrong)


def test_holes_wound_as_their_outline_are_told_of_in_the_two_hundred_largest_lines() -> None:
    """Of 250 squares with one inside each, those inside the 200 largest."""
    square = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    drawn = []
    for i in range(250):
        middle = [10.0 * i, 0.0]
        drawn += [Trace(points_mm=size * square + middle, closed=True) for size in (3.0 + 0.001 * i, 1.0)]
    element: Any = SimpleNamespace(get=lambda name, default=None: default)
    assert svg._filled_inside(element, drawn) == 200
    assert svg._filled_inside(element, drawn[:2]) == 1
