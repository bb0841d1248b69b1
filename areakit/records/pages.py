"""Rows of a journal read from the raw bytes of its file and of its log, without trusting any index or page header.

A row is found by the header of its record (SQLite file format, sections 1.5, 1.6, 2.1 and 4.1), wherever in a page it
lies. Whether what was found is whole is for the caller to check: every row carries its digest, every file its hash.
"""

from __future__ import annotations

import mmap
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from areakit.records.event import FIELDS

_USUAL_PAGE = 4096
_HASH = b"\x81\x0d"
"""Serial type of a text of 64 letters, 13 + 2 x 64: a digest, or the hash of a file."""
_SHORTEST_HEADER, _LONGEST_HEADER = 12, 60
_MOST_PAGES = 50_000_000
"""Two hundred gigabytes; a header that says more is damaged."""
_WAL_HEADER, _FRAME_HEADER = 32, 24
_INTEGER_BYTES = (0, 1, 2, 3, 4, 6, 8)


@dataclass(frozen=True, slots=True, kw_only=True)
class RawRow:
    """The columns of an event as they were found, and the number of its row, where it can be read."""

    number: int | None
    values: tuple[Any, ...]


class Store:
    """The pages of a journal: those of the file, those of its log, and the file with its log laid over it."""

    def __init__(self, path: Path) -> None:
        self._main = _mapped(path)
        wal = _mapped(path.with_name(f"{path.name}-wal"))
        self.size = _page_size(self._main, wal)
        self._frames: list[tuple[int, bytes]] = list(self._read_frames(wal))
        self._newest = dict(self._frames)
        self.count = max([-(-len(self._main) // self.size), *self._newest])
        stated = int.from_bytes(self._main[28:32], "big") if self._main[:15] == b"SQLite format 3" else 0
        self.stated = stated if stated <= _MOST_PAGES else 0

    def _read_frames(self, wal: bytes | mmap.mmap) -> Iterator[tuple[int, bytes]]:
        step = _FRAME_HEADER + self.size
        for at in range(_WAL_HEADER, len(wal) - step + 1, step):
            number = int.from_bytes(wal[at : at + 4], "big")
            if 0 < number < 1 << 31:
                yield number, wal[at + _FRAME_HEADER : at + step]

    def page(self, number: int, *, logged: bool) -> bytes:
        """Return one page, from 1; empty where there is none."""
        if logged and number in self._newest:
            return self._newest[number]
        return self._main[(number - 1) * self.size : number * self.size] if number > 0 else b""

    def places(self) -> Iterator[tuple[bytes, bool]]:
        """Yield every page, and whether what it points to is to be looked for in the log first."""
        for number in self._newest:
            yield self._newest[number], True
        for number in range(1, self.count + 1):
            yield self.page(number, logged=False), True
            if self._newest:
                yield self.page(number, logged=False), False
        for _, older in self._frames:
            yield older, True


def event_rows(store: Store) -> Iterator[RawRow]:
    """Yield whatever looks like an event."""
    for page, logged in store.places():
        end = page.find(_HASH)
        while end >= 0:
            for length in range(_SHORTEST_HEADER, _LONGEST_HEADER):  # the digest's type ends the header
                start = end + len(_HASH) - length
                if start >= 0 and page[start] == length and page[start + 1] == 0:
                    types = _types(page, start, length)
                    if types is not None and _is_event(types):
                        values = _values(store, page, start, types, logged=logged)
                        if values is not None:
                            yield RawRow(number=_row_number(page, start, types), values=values[1:])
            end = page.find(_HASH, end + 1)


def file_rows(store: Store) -> Iterator[tuple[str, str, str, bytes]]:
    """Yield whatever looks like a stored file: hash, name, media type, content."""
    for page, logged in store.places():
        first = page.find(_HASH)
        while first >= 0:
            types = _types(page, first - 1, page[first - 1]) if first else None
            if types is not None and len(types) == 4 and _are_texts(types[:3]) and types[3] >= 12 and not types[3] % 2:
                values = _values(store, page, first - 1, types, logged=logged)
                if values is not None:
                    yield values[0], values[1], values[2], values[3]
            first = page.find(_HASH, first + 1)


def _mapped(path: Path) -> bytes | mmap.mmap:
    try:
        with path.open("rb") as file:
            return mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)
    except (OSError, ValueError):  # not there, or empty
        return b""


def _page_size(main: bytes | mmap.mmap, wal: bytes | mmap.mmap) -> int:
    """Return the page size of the first header that makes sense."""
    stated = int.from_bytes(main[16:18], "big") if main[:15] == b"SQLite format 3" else 0
    for size in (65536 if stated == 1 else stated, int.from_bytes(wal[8:12], "big")):
        if 512 <= size <= 65536 and not size & (size - 1):
            return size
    return _USUAL_PAGE


def _types(page: bytes, start: int, length: int) -> tuple[int, ...] | None:
    """Return the serial types of a record header that is so long; None where they do not fill it."""
    place, end = start + 1, start + length
    if end > len(page):
        return None
    found = []
    while place < end:
        try:
            kind, place = _varint(page, place)
        except IndexError:
            return None
        found.append(kind)
    return tuple(found) if place == end else None


def _is_event(types: tuple[int, ...]) -> bool:
    whole_number = 1 + FIELDS.index("sequence")
    texts = types[1:whole_number] + types[whole_number + 1 :]
    return len(types) == len(FIELDS) + 1 and _are_texts(texts) and types[whole_number] in {1, 2, 3, 4, 5, 6, 8, 9}


def _are_texts(types: tuple[int, ...]) -> bool:
    return all(kind >= 13 and kind % 2 for kind in types)


def _width(kind: int) -> int:
    """Return the bytes of a value (file format, section 2.1)."""
    if kind >= 12:
        return (kind - 12) // 2
    return _INTEGER_BYTES[kind] if kind < len(_INTEGER_BYTES) else 0


def _values(store: Store, page: bytes, start: int, types: tuple[int, ...], *, logged: bool) -> tuple[Any, ...] | None:
    header = page[start]
    payload = _payload(store, page, start, header + sum(map(_width, types)), logged=logged)
    if payload is None:
        return None
    values: list[Any] = []
    at = header
    for kind in types:
        part = payload[at : at + _width(kind)]
        at += _width(kind)
        if kind in (0, 8, 9):
            values.append({0: None, 8: 0, 9: 1}[kind])
        elif kind < 12:
            values.append(int.from_bytes(part, "big", signed=True))
        elif kind % 2:
            try:
                values.append(part.decode("utf-8"))
            except UnicodeDecodeError:
                return None
        else:
            values.append(part)
    return tuple(values)


def _payload(store: Store, page: bytes, start: int, length: int, *, logged: bool) -> bytes | None:
    """Return a record with its overflow pages (file format, section 1.6); None where they are not all there."""
    usable = store.size
    if length <= usable - 35:
        return page[start : start + length] if start + length <= len(page) else None
    least = (usable - 12) * 32 // 255 - 23
    local = least + (length - least) % (usable - 4)
    local = local if local <= usable - 35 else least
    if start + local + 4 > len(page) or length > store.count * usable:
        return None
    parts, kept = [page[start : start + local]], local
    following = int.from_bytes(page[start + local : start + local + 4], "big")
    while kept < length:
        more = store.page(following, logged=logged)
        part = more[4 : 4 + min(usable - 4, length - kept)]
        if not part:
            return None
        parts.append(part)
        kept += len(part)
        following = int.from_bytes(more[:4], "big")
    return b"".join(parts)


def _row_number(page: bytes, start: int, types: tuple[int, ...]) -> int | None:
    """Return the number that stands before a record, behind the record's length; None where they do not fit."""
    length = page[start] + sum(map(_width, types))
    for at in range(max(start - 18, 0), start - 1):
        try:
            stated, place = _varint(page, at)
            number, place = _varint(page, place)
        except IndexError:
            continue
        if stated == length and place == start:
            return number if number < 1 << 40 else None
    return None


def _varint(data: bytes, place: int) -> tuple[int, int]:
    """Return a number of up to nine bytes, and the place behind it (file format, section 1.6)."""
    value = 0
    for index in range(8):
        byte = data[place + index]
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, place + index + 1
    return value << 8 | data[place + 8], place + 9
