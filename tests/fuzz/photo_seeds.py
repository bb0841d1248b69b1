"""Sound photos to break, and pictures that are bombs from the start."""

from __future__ import annotations

import io
import os
import random
import struct
import zlib
from functools import cache
from pathlib import Path

import numpy as np
from PIL import Image

from areakit.datafiles import data_dir

Random = random.Random
LARGEST_SEED = 400_000


def stored(image: Image.Image, kind: str, **how: object) -> bytes:
    page = io.BytesIO()
    image.save(page, kind, **how)
    return page.getvalue()


@cache
def _picture() -> Image.Image:
    with Image.open(data_dir("demo_images") / "pierced-badge.jpg") as image:
        return image.convert("RGB").reduce(8)  # 408 x 306


def given_photos(*suffixes: str) -> list[bytes]:
    """Odd and broken files, where AREAKIT_PHOTOS names their folder."""
    named = os.environ.get("AREAKIT_PHOTOS")
    folder = Path(named) / "odd_and_broken_files" if named else None
    if folder is None or not folder.is_dir():
        return []
    files = [path for path in sorted(folder.iterdir()) if path.suffix in suffixes]
    return [path.read_bytes() for path in files if 0 < path.stat().st_size < LARGEST_SEED]


@cache
def photos() -> list[bytes]:
    image = _picture()
    exif = Image.Exif()
    exif[0x0112] = 6
    grey16 = Image.fromarray(np.asarray(image.convert("L")).astype(np.uint16) * 257)
    made = [
        stored(image, "JPEG", quality=90, exif=exif),
        stored(image, "JPEG", progressive=True),
        stored(image, "JPEG", restart_marker_rows=2),
        stored(image.convert("L"), "JPEG"),
        stored(image.convert("CMYK"), "JPEG"),
        stored(image, "PNG", dpi=(300, 300)),
        stored(grey16, "PNG"),
        stored(image.convert("P"), "PNG", transparency=3),
        stored(image.convert("RGBA"), "PNG"),
        stored(image, "TIFF", dpi=(600, 600)),
        stored(image, "TIFF", compression="tiff_lzw"),
        stored(image, "TIFF", compression="tiff_deflate"),
        stored(image.convert("1"), "TIFF", compression="group4"),
        stored(grey16, "TIFF"),
        stored(image, "WEBP", quality=80),
        stored(image, "WEBP", lossless=True),
    ]
    return made + given_photos(".jpg", ".png", ".tif", ".tiff", ".gif", ".bmp", ".jp2", ".avif")


@cache
def heics() -> list[bytes]:
    """HEIC files: those given, else an AVIF-free minimum of boxes, since nothing here writes HEIC."""
    boxes = struct.pack(">I4s4sI4s", 20, b"ftyp", b"heic", 0, b"mif1") + struct.pack(">I4sI", 12, b"meta", 0)
    return [*given_photos(".heic", ".heif"), boxes + bytes(400)]


@cache
def measured() -> bytes:
    """A small photo that is measured in a tenth of a second."""
    with Image.open(data_dir("demo_images") / "pierced-badge.jpg") as image:
        return stored(image.reduce(3), "JPEG", quality=92)


def png_bomb(rng: Random) -> bytes:
    """Few bytes that claim or unfold to very many pixels (ISO/IEC 15948, 11.2.2)."""
    width, height = rng.choice(((60_000, 60_000), (2**31 - 1, 1), (11_000, 10_900), (200, 2**31 - 1)))
    chunks = [
        b"IHDR" + struct.pack(">IIBBBBB", width, height, rng.choice((1, 8, 16)), rng.choice((0, 2, 3, 6)), 0, 0, 0),
        b"IDAT" + zlib.compress(bytes(200_000)),
        rng.choice((b"zTXt", b"iTXt", b"iCCP")) + b"k\0\0" + zlib.compress(bytes(20_000_000)),
        b"IEND",
    ]
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(c) - 4) + c + struct.pack(">I", zlib.crc32(c)) for c in chunks
    )


def scan_bomb(rng: Random) -> bytes:
    """A progressive JPEG whose first scan comes hundreds of times."""
    data = stored(_picture(), "JPEG", progressive=True)
    start = data.index(b"\xff\xda")
    end = data.index(b"\xff", start + 2)
    return data[:start] + rng.choice((30, 1000)) * data[start:end] + data[start:]


def huge_jpeg(rng: Random) -> bytes:
    """A JPEG header that claims the largest size (ITU-T T.81, B.2.2)."""
    data = bytearray(stored(_picture(), "JPEG", progressive=rng.random() < 0.5))
    frame = max(data.find(b"\xff\xc0"), data.find(b"\xff\xc2"))
    data[frame + 5 : frame + 9] = struct.pack(">HH", *rng.choice(((65_500, 65_500), (10_900, 11_000), (65_500, 1))))
    return bytes(data)


def tiff_bomb(rng: Random) -> bytes:
    """A TIFF whose directories point at each other, or whose entries claim billions of values (TIFF 6.0, section 2)."""
    count = rng.choice((1, 2**16, 2**31, 2**32 - 1))
    entries = [(256, 3, 1, 4000), (257, 3, 1, 4000), (258, 3, count, 8), (259, 3, 1, rng.choice((1, 5, 7, 8, 32773))),
               (262, 3, 1, 2), (273, 4, count, 8), (277, 3, 1, 3), (278, 4, 1, 1), (279, 4, count, 8)]  # fmt: skip
    body = b"II*\0" + struct.pack("<I", 8) + struct.pack("<H", len(entries))
    body += b"".join(struct.pack("<HHII", *entry) for entry in entries)
    return body + struct.pack("<I", 8) + rng.randbytes(600)


BOMBS = (png_bomb, scan_bomb, huge_jpeg, tiff_bomb)
