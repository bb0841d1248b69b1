"""Small files that unfold to very much, one or more for each format that is read: ``python -m tests.fuzz.bombs``.

Each must be refused, or answered, within the limits of time and memory of ``tests.fuzz.isolation``.
"""

from __future__ import annotations

import gzip
import io
import random
import struct
import time
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from PIL import Image

from areakit.errors import AreakitError
from tests.fuzz import photo_seeds as photo
from tests.fuzz import text_seeds as text
from tests.fuzz.targets import READERS

SECONDS, MEMORY = 5.0, 600_000_000
"""Most processor time and memory that one may take. [s], [byte]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bomb:
    """One file: which reader of ``targets`` gets it, and what it would unfold to."""

    reader: str
    unfolds: str
    make: Callable[[], bytes]


def png(*chunks: bytes) -> bytes:
    """Return a PNG of chunks, each its type and its data (ISO/IEC 15948, 5.3)."""
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(c) - 4) + c + struct.pack(">I", zlib.crc32(c)) for c in (*chunks, b"IEND")
    )


def png_head(width: int, height: int, bits: int = 8, kind: int = 2) -> bytes:
    return b"IHDR" + struct.pack(">IIBBBBB", width, height, bits, kind, 0, 0, 0)


def _png_pixels() -> bytes:
    return png(png_head(60_000, 60_000, 1, 0), b"IDAT" + zlib.compress(bytes(450_000_000), 1))


def _png_text() -> bytes:
    small = b"IDAT" + zlib.compress(bytes(301 * 100), 9)
    return png(png_head(100, 100), b"zTXtk\0\0" + zlib.compress(bytes(400_000_000), 1), small)


def _png_profile() -> bytes:
    small = b"IDAT" + zlib.compress(bytes(301 * 100), 9)
    return png(png_head(100, 100), b"iCCPk\0\0" + zlib.compress(bytes(400_000_000), 1), small)


def _tiff_strip() -> bytes:
    """One strip, packed by deflate, of 40 000 x 40 000 pixels (TIFF 6.0 and its technical note 2)."""
    strip = zlib.compress(bytes(200_000_000), 1)
    entries = [(256, 4, 1, 40_000), (257, 4, 1, 40_000), (258, 3, 1, 8), (259, 3, 1, 8), (262, 3, 1, 1),
               (273, 4, 1, 8), (277, 3, 1, 1), (278, 4, 1, 40_000), (279, 4, 1, len(strip))]  # fmt: skip
    directory = struct.pack("<H", len(entries)) + b"".join(struct.pack("<HHII", *one) for one in entries) + bytes(4)
    return b"II*\0" + struct.pack("<I", 8 + len(strip)) + strip + directory


def _webp() -> bytes:
    """A lossless picture whose head claims 16 384 x 16 384 pixels (RFC 9649, 3.4)."""
    data = b"\x2f" + struct.pack("<I", 16_383 | 16_383 << 14) + random.Random(1).randbytes(400)
    body = b"WEBPVP8L" + struct.pack("<I", len(data)) + data + b"\0" * (len(data) % 2)
    return b"RIFF" + struct.pack("<I", len(body)) + body


def _heic() -> bytes:
    """A picture in HEIF boxes whose extent says 60 000 x 60 000 (ISO/IEC 23008-12, 6.5.3)."""
    page = io.BytesIO()
    Image.new("RGB", (256, 256)).save(page, "AVIF")
    data = page.getvalue().replace(b"ftypavif", b"ftypheic", 1)
    at = data.index(b"ispe") + 8
    return data[:at] + struct.pack(">II", 60_000, 60_000) + data[at + 8 :]


def _dxf_array() -> bytes:
    """A block of one circle, inserted in 30 000 rows and columns."""
    block = "SECTION 2 BLOCKS 0 BLOCK 2 A 0 CIRCLE 8 0 10 0 20 0 40 1 0 ENDBLK 0 ENDSEC"
    insert = "SECTION 2 ENTITIES 0 INSERT 2 A 10 0 20 0 70 30000 71 30000 44 3 45 3 0 ENDSEC 0 EOF"
    return "\n".join(["0", *block.split(), "0", *insert.split(), ""]).encode()


def _spreading_svg() -> bytes:
    """Ten groups, each four times the one before (SVG 2, 5.6)."""
    groups = '<g id="g0"><path d="M0 0h9v9z"/></g>' + "".join(
        f'<g id="g{n}">{4 * f"""<use href="#g{n - 1}"/>"""}</g>' for n in range(1, 11)
    )
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="90mm" viewBox="0 0 90 90">'
    return f'{head}<defs>{groups}</defs><use href="#g10"/></svg>'.encode()


def seeded(make: Callable[[random.Random], bytes], seed: int = 7) -> Callable[[], bytes]:
    return lambda: make(random.Random(seed))


BOMBS = {
    "PNG, pixels": Bomb(reader="photo", unfolds="3600 megapixels", make=_png_pixels),
    "PNG, text": Bomb(reader="photo", unfolds="400 MB of comment", make=_png_text),
    "PNG, profile": Bomb(reader="photo", unfolds="400 MB of colour profile", make=_png_profile),
    "JPEG, size": Bomb(reader="photo", unfolds="4290 megapixels", make=seeded(photo.huge_jpeg)),
    "JPEG, scans": Bomb(reader="photo", unfolds="1000 scans", make=seeded(photo.scan_bomb)),
    "TIFF, strip": Bomb(reader="photo", unfolds="1600 megapixels", make=_tiff_strip),
    "TIFF, counts": Bomb(reader="photo", unfolds="billions of values", make=seeded(photo.tiff_bomb)),
    "WebP": Bomb(reader="photo", unfolds="268 megapixels", make=_webp),
    "HEIC": Bomb(reader="HEIC", unfolds="3600 megapixels", make=_heic),
    "SVG, packed": Bomb(reader="SVG", unfolds="300 MB", make=lambda: gzip.compress(bytes(300_000_000), 1)),
    "SVG, entities": Bomb(reader="SVG", unfolds="a billion words", make=seeded(text.entities_svg)),
    "SVG, uses": Bomb(reader="SVG", unfolds="a million paths", make=_spreading_svg),
    "SVG, groups": Bomb(reader="SVG", unfolds="deep nesting", make=seeded(text.nested_svg)),
    "DXF, array": Bomb(reader="DXF", unfolds="900 million circles", make=_dxf_array),
    "DXF, vertices": Bomb(reader="DXF", unfolds="many vertices", make=seeded(text.long_dxf)),
    "PDF, stream": Bomb(reader="PDF", unfolds="56 MB of lines", make=seeded(text.folded_pdf, 2)),
    "PDF, forms": Bomb(reader="PDF", unfolds="30 000 forms", make=seeded(text.folded_pdf)),
    "GeoJSON": Bomb(reader="GeoJSON", unfolds="100 000 brackets deep", make=lambda: b"[" * 100_000),
    "WKT": Bomb(reader="WKT", unfolds="many rings", make=seeded(text.wide_wkt)),
    "TOML": Bomb(reader="rates TOML", unfolds="deep keys", make=seeded(text.nested_toml)),
    "CSV": Bomb(reader="claims CSV", unfolds="long rows", make=seeded(text.long_csv)),
    "JSON": Bomb(reader="plan JSON", unfolds="a number of 5 million digits", make=lambda: b"9" * 5_000_000),
    "export": Bomb(reader="journal export", unfolds="deep nesting", make=seeded(text.nested)),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What came of one: answered or the refusal's words, processor time, and memory on top. [s], [byte]"""

    told: str
    size: int
    seconds: float
    memory: int


def drop(name: str) -> Outcome:
    """Give one to its reader; anything but an answer or a refusal is raised."""
    bomb = BOMBS[name]
    data = bomb.make()
    before = _forget_peak()
    started = time.process_time()
    try:
        told = str(READERS[bomb.reader].read(data) or "answered")
    except AreakitError as error:
        told = error.message
    return Outcome(told=told, size=len(data), seconds=time.process_time() - started, memory=_peak() - before)


def _forget_peak() -> int:
    Path("/proc/self/clear_refs").write_text("5", encoding="ascii")
    return _peak()


def _peak() -> int:
    """Return the most memory that this process had since its peak was forgotten. [byte]"""
    lines = Path("/proc/self/status").read_text(encoding="ascii").splitlines()
    return next(1024 * int(line.split()[1]) for line in lines if line.startswith("VmHWM"))


def main() -> int:
    print("| bomb | would unfold to | sent, kB | told | s | MB |\n|---|---|---|---|---|---|")
    worst = 0
    for name, bomb in BOMBS.items():
        found = drop(name)
        worst |= found.seconds > SECONDS or found.memory > MEMORY
        print(
            f"| {name} | {bomb.unfolds} | {found.size / 1e3:.0f} | {found.told} | {found.seconds:.2f} | "
            f"{found.memory / 1e6:.0f} |"
        )
    return int(worst)


if __name__ == "__main__":
    raise SystemExit(main())
