"""A look at a PDF file before it is opened: how much its streams unfold to, and how often they place each other.

The PDF library cannot be stopped once it has begun, so anything that cannot be checked here is refused.
"""

from __future__ import annotations

import base64
import binascii
import re
import zlib
from collections.abc import Iterator

from areakit.errors import FileError

_MOST_BYTES = 8_000_000
_MOST_STREAMS = 500
_MOST_UNFOLDED = 3_000_000
_MOST_PLACINGS = 20_000
_STREAM = re.compile(rb"(?<!end)stream\r?\n")
_FILTER = re.compile(rb"/Filter\s*(\[[^\]]*\]|/[A-Za-z0-9]+|\d+\s+\d+\s+R)?")
_NAME = re.compile(rb"/([A-Za-z0-9]+)")
_LENGTH = re.compile(rb"/Length\s+(\d+)(\s+\d+\s+R)?")
_PLACES = re.compile(rb"/[^\s/]+\s+Do\b")
_PICTURES = frozenset({b"DCTDecode", b"JPXDecode", b"CCITTFaxDecode", b"JBIG2Decode"})
_SAVE_AGAIN = "Save only the outline of the part, without pictures or groups, into a PDF file of its own."


def check_pdf(data: bytes) -> None:
    """Refuse a file whose streams unfold too far, or whose groups place each other too often.

    Raises FileError if so, or if it is locked or packed in a way that cannot be checked.
    """
    if b"/Encrypt" in data:
        raise FileError("The PDF file is locked.", remedy="Save it without a password.")
    streams = sum(1 for _ in _STREAM.finditer(data))
    if len(data) > _MOST_BYTES or streams > _MOST_STREAMS:
        raise FileError(
            f"The PDF file has {len(data) / 1e6:.1f} MB and {streams} streams; the limits are "
            f"{_MOST_BYTES / 1e6:.0f} MB and {_MOST_STREAMS}.",
            remedy=_SAVE_AGAIN,
        )
    room, placings = _MOST_UNFOLDED, 1
    for text in _streams(data):
        room -= len(text)
        placings *= max(len(_PLACES.findall(text)), 1)
        if room < 0:
            limit = _MOST_UNFOLDED / 1e6
            raise FileError(f"The PDF file unfolds to more than {limit:.0f} MB; that is the limit.", remedy=_SAVE_AGAIN)
        if placings > _MOST_PLACINGS:
            raise FileError(
                f"The groups of the PDF file place each other more than {_MOST_PLACINGS} times; that is the limit.",
                remedy=_SAVE_AGAIN,
            )


def _streams(data: bytes) -> Iterator[bytes]:
    """Yield every stream unfolded, at most one byte longer than the limit; pictures are passed over."""
    for found in _STREAM.finditer(data):
        head = data[max(data.rfind(b"obj", 0, found.start()), 0) : found.start()]
        names = _filters(head)
        if names and names[-1] in _PICTURES:
            continue
        yield _unfolded(data[found.end() :], head, names)


def _filters(head: bytes) -> list[bytes]:
    found = _FILTER.search(head)
    if found is None:
        return []
    written = found.group(1) or b""
    if not written or written.endswith(b"R"):
        raise _unknown(b"an indirect filter")
    return [bytes(name) for name in _NAME.findall(written)]


def _unfolded(body: bytes, head: bytes, names: list[bytes]) -> bytes:
    if not names:
        length = _LENGTH.search(head)
        if length is None or length.group(2):
            return body[: max(body.find(b"endobj"), 0)]
        return body[: int(length.group(1)[:9])]
    for name in names:
        if name == b"FlateDecode":
            body = _inflated(body)
        elif name == b"ASCII85Decode":
            body = _ascii85(body)
        else:
            raise _unknown(name)
    return body


def _inflated(body: bytes) -> bytes:
    try:
        return zlib.decompressobj().decompress(body, _MOST_UNFOLDED + 1)
    except zlib.error:
        raise FileError("A stream of the PDF file is damaged.", remedy="Export the drawing again.") from None


def _ascii85(body: bytes) -> bytes:
    try:
        return base64.a85decode(body[: body.index(b"~>")].strip())
    except (ValueError, binascii.Error):
        raise FileError("A stream of the PDF file is damaged.", remedy="Export the drawing again.") from None


def _unknown(name: bytes) -> FileError:
    shown = name.decode("ascii", "replace")[:30]
    return FileError(f"A stream of the PDF file is packed by {shown}, which is not read here.", remedy=_SAVE_AGAIN)
