"""The printed sheet, looked at as a printer would: rasterised, and measured against its layout."""

from __future__ import annotations

import io
from collections.abc import Iterator
from functools import cache
from itertools import combinations, product
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt
import pypdfium2
import pypdfium2.raw
import pytest
from click.testing import CliRunner

from areakit.cli.sheet import command
from areakit.errors import FileError, RangeError
from areakit.imaging.marks.dictionary import marker_bits
from areakit.imaging.marks.frame_layout import FrameLayout, layouts
from areakit.reports.sheet import FieldKind, sheet_pdf, write_sheet

MM = 72 / 25.4
# Trimmed sizes, landscape: ISO 216 for A4 and A5; Letter is 8.5 in x 11 in (ANSI/ASME Y14.1, from memory).
PAGES_MM = {"A4-r1": (297.0, 210.0), "A5-r1": (210.0, 148.0), "letter-r1": (279.4, 215.9), "small-r1": (297.0, 210.0)}
CODES = sorted(PAGES_MM)
FINE, COARSE = 20.0, 6.0
EDGE_MM, QUIET_MM = 5.0, 1.5
Image = npt.NDArray[np.uint8]


@cache
def document(code: str, field: FieldKind = "blue") -> bytes:
    return sheet_pdf(layouts()[code], field=field)


@cache
def raster(code: str, px_per_mm: float, field: FieldKind = "blue", grey: bool = False) -> Image:
    """Return the page as pixels; rounding the page to whole pixels stretches it a little, see `density`."""
    pdf = pypdfium2.PdfDocument(document(code, field))
    page = pdf[0]
    image = page.render(scale=px_per_mm / MM, rev_byteorder=True, grayscale=grey).to_numpy().squeeze()
    image = np.ascontiguousarray(image if grey else image[..., :3])
    page.close()
    pdf.close()
    return image


def grey(code: str, px_per_mm: float) -> Image:
    return raster(code, px_per_mm, grey=True)


def density(code: str, image: npt.NDArray[Any]) -> npt.NDArray[np.float64]:
    """Return the true pixels per mm along x and y, page rounding included."""
    return np.array([image.shape[1], image.shape[0]]) / np.array(PAGES_MM[code])


def origins(code: str) -> list[tuple[float, float]]:
    """Rings are centred on their paper; four small ones share an A4 page."""
    ring = layouts()[code]
    width, height = PAGES_MM[code]
    split = 2 if code == "small-r1" else 1
    cell = width / split, height / split
    return [
        (column * cell[0] + (cell[0] - ring.width_mm) / 2, row * cell[1] + (cell[1] - ring.height_mm) / 2)
        for row, column in product(range(split), repeat=2)
    ]


def rings(code: str) -> Iterator[tuple[FrameLayout, tuple[float, float]]]:
    for origin in origins(code):
        yield layouts()[code], origin


def crop(code: str, px_per_mm: float, box_mm: tuple[float, float, float, float], inset_px: int = 1) -> Image:
    """Return what lies between left, top, right, bottom, less a rim of half-covered pixels."""
    image = raster(code, px_per_mm)
    sx, sy = density(code, image)
    left, top, right, bottom = box_mm
    k = inset_px
    return image[round(top * sy) + k : round(bottom * sy) - k, round(left * sx) + k : round(right * sx) - k]


def saddle_errors_mm(code: str) -> npt.NDArray[np.float64]:
    """Return how far each saddle corner lies from where the layout says, shape (n,)."""
    image = cv2.GaussianBlur(grey(code, FINE), (0, 0), 1.5)  # the finder is biased on steps sharper than a pixel
    scale = density(code, image)
    errors = []
    for ring, origin in rings(code):
        truth = ring.corners_mm + origin
        start = np.ascontiguousarray(truth * scale - 0.5 + 1.7, dtype=np.float32).reshape(-1, 1, 2)
        half = int(0.08 * ring.square_mm * FINE)  # the nearest marker begins a tenth of a square away
        stop = (cv2.TERM_CRITERIA_COUNT + cv2.TERM_CRITERIA_EPS, 100, 1e-5)
        found = cv2.cornerSubPix(image, start, (half, half), (-1, -1), stop)[:, 0, :]
        errors.append(np.linalg.norm((found + 0.5) / scale - truth, axis=1))
    return np.concatenate(errors)


@pytest.mark.parametrize("code", CODES)
def test_every_saddle_corner_prints_where_the_layout_says(code: str) -> None:
    errors = saddle_errors_mm(code)
    assert len(errors) == len(layouts()[code].corners_mm) * len(origins(code))
    assert errors.max() < 0.005


@pytest.mark.parametrize("code", CODES)
def test_the_squares_of_the_ring_are_solid_black_or_white(code: str) -> None:
    for ring, (x, y) in rings(code):
        s = ring.square_mm
        for column, row in ring.frame_squares:
            if (column, row) in ring.marker_squares:
                continue
            box = (x + column * s, y + row * s, x + (column + 1) * s, y + (row + 1) * s)
            assert np.unique(crop(code, COARSE, box)).tolist() == [0 if ring.is_black(column, row) else 255]


@pytest.mark.parametrize("code", CODES)
def test_a_decoder_finds_every_marker_at_its_place_and_no_other(code: str) -> None:
    image = grey(code, COARSE)
    scale = density(code, image)
    family = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_100)
    corners, ids, _ = cv2.aruco.ArucoDetector(family).detectMarkers(image)
    assert sorted(ids.ravel().tolist()) == sorted([*layouts()[code].marker_ids] * len(origins(code)))
    for quad, marker_id in zip(corners, ids.ravel().tolist(), strict=True):
        found = (quad[0] + 0.5) / scale
        truths = [ring.marker_corners_mm(marker_id) + origin for ring, origin in rings(code)]
        assert min(np.abs(found - truth).max() for truth in truths) < 0.3


def tick_distances_mm(strip: Image, px_per_mm: float, nominal_mm: float) -> npt.NDArray[np.float64]:
    """Return the distance between two strokes 0.25 mm wide, from each row that holds these two and nothing else."""
    distances = []
    for row in 255.0 - strip:
        dark = np.flatnonzero(row > 0)
        runs = np.split(dark, np.flatnonzero(np.diff(dark) > 1) + 1)
        if len(runs) != 2 or any(abs(row[run].sum() / 255 / px_per_mm - 0.25) > 0.03 for run in runs):
            continue
        left, right = (float((run * row[run]).sum() / row[run].sum()) for run in runs)
        distances.append((right - left) / px_per_mm)
    kept = np.array(distances)
    return kept[np.abs(kept - nominal_mm) < 1.0]


def check_strips(code: str) -> Iterator[tuple[Image, float, float]]:
    """Give, for each ring, what lies above or below it and what lies left of it, with density and nominal length."""
    image = grey(code, FINE)
    sx, sy = density(code, image)
    cell = np.array(PAGES_MM[code]) / (2 if code == "small-r1" else 1)
    for ring, (x, y) in rings(code):
        left, top = x // cell[0] * cell[0] + EDGE_MM, y // cell[1] * cell[1] + EDGE_MM
        below = (y + ring.height_mm + QUIET_MM, y // cell[1] * cell[1] + cell[1] - EDGE_MM)
        start, end = (top, y - QUIET_MM) if code == "letter-r1" else below
        columns = slice(int(left * sx), int((left + cell[0] - 2 * EDGE_MM) * sx))
        yield image[int(start * sy) : int(end * sy), columns], sx, ring.check_lengths_mm[0]
        rows = slice(int(top * sy), int((top + cell[1] - 2 * EDGE_MM) * sy))
        yield image[rows, int(left * sx) : int((x - QUIET_MM) * sx)].T, sy, ring.check_lengths_mm[1]


@pytest.mark.parametrize("code", CODES)
def test_the_ticks_stand_a_check_length_apart(code: str) -> None:
    strips = list(check_strips(code))
    assert len(strips) == 2 * len(origins(code))
    for strip, px_per_mm, nominal in strips:
        distances = tick_distances_mm(strip, px_per_mm, nominal)
        assert len(distances) > 0.5 * px_per_mm
        assert np.abs(distances - nominal).max() < 0.01


@pytest.mark.parametrize(("field", "colour"), [("blue", (70, 115, 195)), ("white", (255, 255, 255))])
@pytest.mark.parametrize("code", CODES)
def test_the_window_is_one_plain_colour_to_its_very_edge(code: str, field: FieldKind, colour: tuple[int, ...]) -> None:
    image = raster(code, COARSE, field)
    sx, sy = density(code, image)
    for ring, (x, y) in rings(code):
        left, top, right, bottom = ring.field_mm
        rows = slice(round((y + top) * sy) + 1, round((y + bottom) * sy) - 1)
        columns = slice(round((x + left) * sx) + 1, round((x + right) * sx) - 1)
        assert (image[rows, columns] == colour).all()


@pytest.mark.parametrize("code", CODES)
def test_the_rim_of_the_paper_and_the_surround_of_the_ring_stay_white(code: str) -> None:
    image = grey(code, COARSE)
    sx, sy = density(code, image)
    ink = image < 255
    inner = ink[int(EDGE_MM * sy) : -int(EDGE_MM * sy), int(EDGE_MM * sx) : -int(EDGE_MM * sx)]
    assert inner.sum() == ink.sum()
    for ring, (x, y) in rings(code):
        around = ink[
            round((y - QUIET_MM) * sy) + 1 : round((y + ring.height_mm + QUIET_MM) * sy) - 1,
            round((x - QUIET_MM) * sx) + 1 : round((x + ring.width_mm + QUIET_MM) * sx) - 1,
        ].copy()
        margin = int(QUIET_MM * COARSE) - 2
        around[margin:-margin, margin:-margin] = False
        assert not around.any()


def letters(code: str, field: FieldKind = "blue") -> tuple[str, npt.NDArray[np.float64]]:
    """Return the text of the page and the box of each visible letter: left, top, right, bottom in mm from the top."""
    pdf = pypdfium2.PdfDocument(document(code, field))
    page = pdf[0]
    text = page.get_textpage()
    height = page.get_height()
    words = text.get_text_range()
    boxes = [text.get_charbox(n) for n in range(text.count_chars())]
    text.close()
    page.close()
    pdf.close()
    kept = [(left, height - top, right, height - bottom) for left, bottom, right, top in boxes if right > left]
    return words, np.array(kept) / MM


def overlaps(boxes: npt.NDArray[np.float64], others: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Return for each pair the smaller of the two overlaps along x and y, negative when apart."""
    low = np.maximum(boxes[:, None, :2], others[None, :, :2])
    high = np.minimum(boxes[:, None, 2:], others[None, :, 2:])
    return np.asarray((high - low).min(axis=2))


@pytest.mark.parametrize(("code", "field"), list(product(CODES, ("blue", "white"))))
def test_no_words_touch_the_ring_or_one_another(code: str, field: FieldKind) -> None:
    words, boxes = letters(code, field)
    areas = np.array([(x, y, x + ring.width_mm, y + ring.height_mm) for ring, (x, y) in rings(code)])
    assert len(boxes) > 150 * len(origins(code))
    assert overlaps(boxes, areas).max() < -QUIET_MM
    pairs = overlaps(boxes, boxes)
    np.fill_diagonal(pairs, -1.0)
    assert pairs.max() < 0.15, "letters of one word may touch, not more"
    assert f"areakit {code}" in words
    assert "Print at actual size, no fit to page" in words
    assert ("dark card" in " ".join(words.split())) is (field == "white")


@pytest.mark.parametrize("code", CODES)
def test_the_page_has_the_size_of_the_paper_and_asks_for_no_scaling(code: str) -> None:
    pdf = pypdfium2.PdfDocument(document(code))
    assert len(pdf) == 1
    assert np.array(pdf.get_page_size(0)) / MM == pytest.approx(PAGES_MM[code], abs=1e-4)
    # ISO 32000-1, table 150: PrintScaling is AppDefault or None; the reader reports AppDefault as true.
    assert not pypdfium2.raw.FPDF_VIEWERREF_GetPrintScaling(pdf)
    assert pdf.get_metadata_dict()["Title"] == f"Scale sheet {code}, blue field"
    pdf.close()


@pytest.mark.parametrize("field", ["blue", "white"])
@pytest.mark.parametrize("code", CODES)
def test_the_same_sheet_is_the_same_file(code: str, field: FieldKind, tmp_path: Path) -> None:
    write_sheet(layouts()[code], tmp_path / "one.pdf", field=field)
    buffer = io.BytesIO()
    write_sheet(layouts()[code], buffer, field=field)
    assert (tmp_path / "one.pdf").read_bytes() == buffer.getvalue()
    assert buffer.getvalue() != document(code, "white" if field == "blue" else "blue")


def test_no_two_sheets_share_a_marker() -> None:
    for one, other in combinations(layouts().values(), 2):
        assert not set(one.marker_ids) & set(other.marker_ids)


def test_markers_in_use_stay_seven_bits_apart_however_they_are_turned() -> None:
    """A code corrects (d - 1) // 2 wrong bits (closed form); 7 apart corrects 3 of 25."""
    used = [marker_id for sheet in layouts().values() for marker_id in sheet.marker_ids]
    bits = np.array([[np.rot90(marker_bits(n)[1:-1, 1:-1], k).ravel() for k in range(4)] for n in used])
    apart = (bits[:, None, :1] != bits[None]).sum(axis=3)
    itself = np.arange(len(used))
    apart[itself, itself, 0] = 25
    assert apart.min() >= 7


def test_a_marker_has_a_black_border_round_five_bits() -> None:
    for marker_id in range(100):
        bits = marker_bits(marker_id)
        assert bits.shape == (7, 7)
        assert bits[[0, -1]].all()
        assert bits[:, [0, -1]].all()


def test_a_marker_outside_the_dictionary_is_refused() -> None:
    with pytest.raises(RangeError, match="no marker number 100"):
        marker_bits(100)


def test_an_unknown_window_is_refused() -> None:
    with pytest.raises(RangeError, match="no grey field"):
        write_sheet(layouts()["A4-r1"], io.BytesIO(), field="grey")  # type: ignore[arg-type]


def test_the_command_names_its_file_and_says_what_to_do_next(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    for _ in range(2):
        result = CliRunner().invoke(command, ["--paper", "a5", "--field", "white"])
        assert result.exit_code == 0
    first, advice = result.output.splitlines()
    assert Path(first).read_bytes() == document("A5-r1", "white")
    assert first == "areakit-sheet-A5-r1-white.pdf"
    assert "print at 100 %" in advice
    assert "150 mm along, 90 mm across" in advice
    assert "--check-lengths" in advice


def test_the_command_writes_every_sheet_on_request(tmp_path: Path) -> None:
    result = CliRunner().invoke(command, ["--all", "--output", str(tmp_path)])
    assert result.exit_code == 0
    expected = {f"areakit-sheet-{code}-{field}.pdf" for code in CODES for field in ("blue", "white")}
    assert {path.name for path in tmp_path.iterdir()} == expected


def test_a_missing_folder_gets_one_sentence_and_a_remedy(tmp_path: Path) -> None:
    target = tmp_path / "nowhere" / "sheet.pdf"
    result = CliRunner().invoke(command, ["--output", str(target)])
    assert isinstance(result.exception, FileError)
    assert result.exception.message == f"{target} cannot be written: no such file or directory."
    assert "folder you can write to" in result.exception.remedy
