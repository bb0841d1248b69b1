"""A file that the record keeps."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredFile:
    """A file kept in the journal: its hash, name, media type and content."""

    sha256: str
    name: str
    media: str
    content: bytes
