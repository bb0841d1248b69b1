"""Reading photos: every way a picture is stored gives the same pixels, and no damaged file gives any."""

import io
import json
import math
import struct
import warnings
import zlib
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from PIL import ExifTags, Image

from areakit.errors import FileError
from areakit.imaging.jpeg import check_scans, turned_upright
from areakit.imaging.photo import LARGEST_PIXELS, overview, read_photo

Bytes = npt.NDArray[np.uint8]


def picture(width: int = 320, height: int = 240) -> Bytes:
    """A picture without any symmetry."""
    y, x = np.mgrid[0:height, 0:width]
    red, green = 255 * x / width, 255 * y / height
    blue = 127 + 127 * np.sin(x / 17.0) * np.cos(y / 29.0)
    return np.rint(np.stack([red, green, blue], axis=2)).astype(np.uint8)


def stored(image: Image.Image, kind: str, **how: Any) -> bytes:
    file = io.BytesIO()
    image.save(file, format=kind, **how)
    return file.getvalue()


PNG = stored(Image.fromarray(picture()), "PNG")
JPEG = stored(Image.fromarray(picture()), "JPEG", quality=95)


def test_a_png_comes_back_pixel_by_pixel() -> None:
    photo = read_photo(PNG, name="a.png")
    assert np.array_equal(photo.pixels, picture())
    assert (photo.width_px, photo.height_px) == (320, 240)
    assert not photo.pixels.flags.writeable


# How a viewer shows a stored row and column for each tag: TIFF 6.0, "Orientation" (tag 274), as in EXIF 2.32.
STORED_AS = {
    1: lambda upright: upright,
    2: lambda upright: upright[:, ::-1],
    3: lambda upright: upright[::-1, ::-1],
    4: lambda upright: upright[::-1],
    5: lambda upright: upright.transpose(1, 0, 2),
    6: lambda upright: upright.transpose(1, 0, 2)[::-1],
    7: lambda upright: upright.transpose(1, 0, 2)[::-1, ::-1],
    8: lambda upright: upright.transpose(1, 0, 2)[:, ::-1],
}


@pytest.mark.parametrize("orientation", sorted(STORED_AS))
@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
def test_all_eight_orientations_give_the_same_upright_pixels(orientation: int, kind: str) -> None:
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = orientation
    turned = Image.fromarray(np.ascontiguousarray(STORED_AS[orientation](picture())))
    assert np.array_equal(read_photo(stored(turned, kind, exif=exif)).pixels, picture())


@pytest.mark.parametrize("orientation", sorted(STORED_AS))
def test_pixels_of_a_jpeg_are_turned_alike(orientation: int) -> None:
    turned = np.ascontiguousarray(STORED_AS[orientation](picture()))
    assert np.array_equal(turned_upright(turned, orientation), picture())
    assert turned_upright(turned, 9) is turned


def test_a_jpeg_turned_by_its_tag_is_the_same_picture_but_for_compression() -> None:
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = 6
    turned = Image.fromarray(np.ascontiguousarray(STORED_AS[6](picture())))
    photo = read_photo(stored(turned, "JPEG", quality=97, subsampling=0, exif=exif.tobytes()))
    assert photo.pixels.shape == (240, 320, 3)
    assert np.abs(photo.pixels.astype(int) - picture()).mean() < 2.0


@pytest.mark.parametrize(
    ("data", "tolerance"),
    [
        (JPEG, 4.0),
        (stored(Image.fromarray(picture()), "TIFF"), 0.0),
        (stored(Image.fromarray(picture()), "TIFF", compression="tiff_lzw"), 0.0),
        (stored(Image.fromarray(picture()), "WEBP", lossless=True), 0.0),
    ],
    ids=["jpeg", "tiff", "tiff-lzw", "webp"],
)
def test_the_common_formats_decode(data: bytes, tolerance: float) -> None:
    assert np.abs(read_photo(data).pixels.astype(int) - picture()).mean() <= tolerance


def test_grey_pictures_get_three_equal_channels() -> None:
    grey = picture()[:, :, 2]
    for kind in ("PNG", "TIFF"):
        assert np.array_equal(read_photo(stored(Image.fromarray(grey), kind)).pixels, np.dstack([grey] * 3))


@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
def test_sixteen_bit_grey_keeps_its_high_byte(kind: str) -> None:
    eight = picture()[:, :, 2]
    sixteen = Image.fromarray((eight.astype(np.uint16) * 257).astype(np.uint16))
    assert np.array_equal(read_photo(stored(sixteen, kind)).pixels, np.dstack([eight] * 3))


def test_a_palette_picture_shows_its_colours() -> None:
    few = Image.fromarray(picture()).quantize(64)
    assert np.array_equal(read_photo(stored(few, "PNG")).pixels, np.asarray(few.convert("RGB")))


def test_a_cmyk_jpeg_becomes_red_green_and_blue() -> None:
    cmyk = Image.fromarray(picture()).convert("CMYK")
    photo = read_photo(stored(cmyk, "JPEG", quality=97))
    assert np.abs(photo.pixels.astype(int) - np.asarray(cmyk.convert("RGB"))).mean() < 6.0


def test_what_is_transparent_is_white_and_half_of_it_is_half_white() -> None:
    alpha = np.full((240, 320, 1), 255, dtype=np.uint8)
    alpha[:80], alpha[80:160] = 0, 128
    pixels = read_photo(stored(Image.fromarray(np.dstack([picture(), alpha])), "PNG")).pixels
    assert (pixels[:80] == 255).all()
    half = 255 + (picture()[80:160].astype(float) - 255) * 128 / 255
    assert np.abs(pixels[80:160] - half).max() <= 1.0
    assert np.array_equal(pixels[160:], picture()[160:])


def with_exif(focal_35mm: Any = None, zoom: Any = None, model: str = "") -> bytes:
    exif = Image.Exif()
    details = exif.get_ifd(ExifTags.IFD.Exif)
    if focal_35mm is not None:
        details[ExifTags.Base.FocalLengthIn35mmFilm] = focal_35mm
    if zoom is not None:
        details[ExifTags.Base.DigitalZoomRatio] = zoom
    if model:
        exif[ExifTags.Base.Make], exif[ExifTags.Base.Model] = "Acme", model
    return stored(Image.fromarray(picture()), "JPEG", exif=exif.tobytes())


def test_the_focal_length_follows_from_the_35_mm_tag_and_the_diagonal() -> None:
    # EXIF 2.32, tag A405; a 36 mm x 24 mm frame has a diagonal of 43.27 mm (convention of equal diagonals).
    photo = read_photo(with_exif(28, model="Box"))
    assert photo.focal_px == pytest.approx(28 * math.hypot(320, 240) / 43.27, rel=1e-4)
    assert photo.camera == "Acme Box"


@pytest.mark.parametrize(("focal", "zoom"), [(None, None), (0, None), (28, 2.0), (28, 1.5), (3, None), (5000, None)])
def test_a_missing_impossible_or_zoomed_focal_length_is_left_out(focal: Any, zoom: Any) -> None:
    assert read_photo(with_exif(focal, zoom)).focal_px is None


@pytest.mark.parametrize("zoom", [0.0, 1.0])
def test_no_digital_zoom_keeps_the_focal_length(zoom: float) -> None:
    # EXIF 2.32, tag A404: 0 means that digital zoom was not used.
    assert read_photo(with_exif(28, zoom)).focal_px is not None


def test_a_resolution_tag_counts_for_scans_only() -> None:
    scan = stored(Image.fromarray(picture()), "PNG", dpi=(600, 600))
    assert read_photo(scan).dpi == pytest.approx(600, abs=0.01)
    assert read_photo(stored(Image.fromarray(picture()), "JPEG", dpi=(600, 600))).dpi is None
    assert read_photo(stored(Image.fromarray(picture()), "PNG", dpi=(72, 72))).dpi is None


def test_the_same_bytes_have_the_same_hash_and_others_another() -> None:
    assert read_photo(PNG).sha256 == read_photo(PNG).sha256 != read_photo(JPEG).sha256


def test_an_overview_averages_whole_blocks_and_maps_coordinates_back() -> None:
    photo = read_photo(stored(Image.fromarray(picture(1203, 902)), "PNG"))
    small = overview(photo, longest_px=300)
    assert small.factor == 4
    assert small.pixels.shape == (225, 300, 3)
    block = photo.pixels[40:44, 80:84].reshape(-1, 3).mean(axis=0)
    assert np.abs(small.pixels[10, 20] - block).max() <= 1.0  # each half rounds by half a value at the most
    # The middle of overview pixel (20, 10) is the middle of the block of 80 to 83 by 40 to 43.
    assert small.to_full(np.array([[20.0, 10.0]])) == pytest.approx(np.array([[81.5, 41.5]]))
    points = np.array([[3.2, 8.9], [100.0, 7.5]])
    assert small.from_full(small.to_full(points)) == pytest.approx(points)


def refused(source: Path | bytes) -> FileError:
    with pytest.raises(FileError) as caught:
        read_photo(source)
    error = caught.value
    assert error.message.endswith(".")
    assert "\n" not in error.message
    assert error.remedy.endswith(".")
    assert error.exit_code == 2
    return error


@pytest.mark.parametrize("share", [0.02, 0.3, 0.6, 0.97])
@pytest.mark.parametrize("data", [JPEG, PNG], ids=["jpeg", "png"])
def test_a_file_cut_short_is_refused_even_if_most_of_it_could_be_shown(data: bytes, share: float) -> None:
    refused(data[: int(share * len(data))])


def test_a_jpeg_cut_short_says_so() -> None:
    assert "cut short" in refused(JPEG[: len(JPEG) // 2]).message


@pytest.mark.parametrize("place", [0.3, 0.6, 0.9])
def test_a_jpeg_with_a_lost_sector_is_refused_though_viewers_show_it(place: float) -> None:
    noise = np.random.default_rng(1).integers(0, 256, (400, 600, 3), dtype=np.uint8)
    data = stored(Image.fromarray(noise), "JPEG", quality=90)
    start = int(place * len(data))
    lost = data[:start] + bytes(512) + data[start + 512 :]
    with Image.open(io.BytesIO(lost)) as image:
        image.load()  # shown without a word
    assert "damaged" in refused(lost).message


def test_a_jpeg_that_would_be_decoded_over_and_over_is_refused_at_once() -> None:
    progressive = stored(Image.fromarray(picture(900, 700)), "JPEG", progressive=True)
    assert read_photo(progressive).width_px == 900
    start = progressive.index(b"\xff\xda")
    end = progressive.index(b"\xff", start + 2)
    bomb = progressive[:start] + 500 * progressive[start:end] + progressive[start:]
    assert "scans" in refused(bomb).message


def test_a_damaged_png_is_refused() -> None:
    broken = bytearray(PNG)
    broken[len(broken) // 2] ^= 0xFF
    refused(bytes(broken))


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty"),
        (b"length,width\n1,2\n", "is not a"),
        (b"GIF89a" + bytes(60), "is not a"),
        (bytes(5000), "is not"),
    ],
    ids=["empty", "text", "gif", "zeros"],
)
def test_bytes_that_are_no_photo_are_refused(data: bytes, words: str) -> None:
    assert words in refused(data).message


def test_a_missing_file_and_a_folder_are_named_in_the_refusal(tmp_path: Path) -> None:
    assert refused(tmp_path / "gone.jpg").message == "gone.jpg does not exist."
    assert "is a folder" in refused(tmp_path).message


def png_header(width: int, height: int) -> bytes:
    """A PNG of a few bytes that claims a size (ISO/IEC 15948, 11.2.2)."""
    body = b"IHDR" + struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    packed = zlib.compress(bytes(100))
    chunks = [body, b"IDAT" + packed, b"IEND"]
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(c) - 4) + c + struct.pack(">I", zlib.crc32(c)) for c in chunks
    )


@pytest.mark.parametrize("size", [(60000, 60000), (2**31 - 1, 2**31 - 1), (LARGEST_PIXELS // 1000 + 1, 1000)])
def test_a_small_file_that_claims_many_pixels_is_refused_before_it_is_decoded(size: tuple[int, int]) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        refused(png_header(*size))


def test_a_thumbnail_is_refused() -> None:
    assert "64 x 48" in refused(stored(Image.fromarray(picture(64, 48)), "PNG")).message


# Real files


def decoded_or_refused(path: Path) -> Bytes | FileError:
    try:
        return read_photo(path).pixels
    except FileError as error:
        return error


@pytest.mark.parametrize("photo_set", ["odd_and_broken_files"], indirect=True)
def test_every_odd_or_broken_file_decodes_whole_or_is_refused_in_one_sentence(photo_set: Path) -> None:
    listed = json.loads((photo_set / "manifest.json").read_text(encoding="utf-8"))["files"]
    assert len(listed) > 20
    for row in listed:
        outcome = decoded_or_refused(photo_set / row["file"])
        if isinstance(outcome, FileError):
            assert "\n" not in outcome.message, row["file"]
            continue
        assert outcome.ndim == 3, row["file"]
        truth = row.get("truth", "")
        assert not any(word in truth for word in ("truncated", "must fail", "zero", "fuzzed", "claims")), row["file"]


@pytest.mark.parametrize("photo_set", ["odd_and_broken_files"], indirect=True)
def test_real_photos_in_all_orientations_come_out_upright(photo_set: Path) -> None:
    upright = read_photo(photo_set / "Landscape_1.jpg").pixels.astype(int)
    for number in (2, 3, 5, 6, 8):
        pixels = read_photo(photo_set / f"Landscape_{number}.jpg").pixels
        assert pixels.shape == upright.shape
        # Each file was compressed and marked with its number by itself; upside down it would differ by far more.
        assert np.median(np.abs(pixels - upright)) < 8.0, number


@pytest.mark.parametrize("photo_set", ["odd_and_broken_files"], indirect=True)
def test_a_heic_photo_decodes_and_a_damaged_one_does_not(photo_set: Path) -> None:
    pixels = read_photo(photo_set / "arrow.heic").pixels
    assert min(pixels.shape[:2]) > 1000
    assert pixels.std() > 10.0
    for name in ("corrupted.heic", "empty.heic", "truncated.heic", "200MP.heic"):
        refused(photo_set / name)


def test_a_picture_without_greys_is_refused() -> None:
    bilevel = Image.fromarray(picture()).convert("1")
    with pytest.raises(FileError, match="only black and white") as caught:
        read_photo(stored(bilevel, "TIFF", compression="group4"))
    assert "in colour" in caught.value.remedy


def test_a_file_larger_than_any_photo_is_refused_before_it_is_read(tmp_path: Path) -> None:
    path = tmp_path / "huge.jpg"
    with path.open("wb") as file:
        file.truncate(300_000_001)
    with pytest.raises(FileError, match="larger than 300 MB"):
        read_photo(path)


def test_a_file_of_forty_passes_over_the_picture_is_read_and_one_of_more_is_not() -> None:
    """A progressive JPEG has ten or so (ITU-T T.81, G.1.1): each is one more time that all of it is decoded."""
    check_scans(b"\xff\xda" * 40, "a.jpg")
    with pytest.raises(FileError, match="41 scans"):
        check_scans(b"\xff\xda" * 41, "a.jpg")


@pytest.mark.parametrize(("side", "read"), [(190, False), (210, True)])
def test_a_photo_has_two_hundred_pixels_a_side(side: int, read: bool) -> None:
    file = io.BytesIO()
    Image.new("RGB", (400, side), (90, 120, 150)).save(file, format="PNG")
    if read:
        assert read_photo(file.getvalue()).height_px == side
        return
    with pytest.raises(FileError, match=f"only 400 x {side} pixels"):
        read_photo(file.getvalue())


def test_the_largest_sensors_of_phones_but_one_are_read() -> None:
    """108 megapixels are read whole, 200 are more than anybody needs: common practice, no source."""
    assert 108_000_000 <= LARGEST_PIXELS < 200_000_000
