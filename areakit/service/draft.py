"""What was typed on the page, and the photos that it is about, kept until a job holds them."""

from __future__ import annotations

import hashlib
import json
import re
import shutil
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from areakit.errors import FileError, InputError
from areakit.output import refusal, write_whole

MOST_DRAFTS, MOST_PHOTOS = 16, 24
KEPT_SECONDS = 7 * 86_400
"""A draft that nobody touched for a week is thrown away."""
_FRESH_SECONDS = 60.0
"""A photo this young may not yet stand in the document that will name it."""
_NAME, _DIGEST = re.compile(r"[0-9a-f]{32}"), re.compile(r"[0-9a-f]{64}")
_DOCUMENT = "draft.json"


@dataclass(frozen=True, slots=True, kw_only=True)
class Drafts:
    """A folder of drafts, each a folder of its own with one document and the photos that it names by their digest."""

    folder: Path

    def read(self, name: str) -> dict[str, Any]:
        """Return the document of a draft.

        InputError, FileError for a name that is none, and where there is no such draft.
        """
        try:
            found = json.loads((self._place(name) / _DOCUMENT).read_text(encoding="utf-8"))
        except (OSError, ValueError):
            found = None
        if not isinstance(found, dict):
            raise _gone("There is no such draft.")
        return found

    def write(self, name: str, document: Mapping[str, Any]) -> None:
        """Keep the document of a draft in one step, and drop photos that it no longer names."""
        place, text = self._place(name), json.dumps(document, ensure_ascii=False)
        self._make_room(name)
        try:
            place.mkdir(mode=0o700, parents=True, exist_ok=True)
        except OSError as error:
            raise refusal(place, error) from None
        write_whole(place / _DOCUMENT, text.encode("utf-8"))
        for photo in _photos(place):
            if photo.name not in text and time.time() - photo.stat().st_mtime > _FRESH_SECONDS:
                photo.unlink(missing_ok=True)

    def keep_photo(self, name: str, content: bytes) -> str:
        """Keep the bytes of a photo, and return their SHA-256 digest, by which the draft names it."""
        place, digest = self._place(name), hashlib.sha256(content).hexdigest()
        if not content:
            raise FileError("The photo is empty.", remedy="Send the bytes of its file.")
        if (place / digest).is_file():
            return digest
        if sum(1 for _ in _photos(place)) >= MOST_PHOTOS:
            raise InputError(
                f"The draft holds {MOST_PHOTOS} photos already.", remedy="Open a job with them, or take some out."
            )
        self._make_room(name)
        try:
            place.mkdir(mode=0o700, parents=True, exist_ok=True)
        except OSError as error:
            raise refusal(place, error) from None
        write_whole(place / digest, content)
        return digest

    def photo(self, name: str, digest: str) -> bytes:
        """Return a kept photo.

        InputError, FileError for a name or a digest that is none, and where there is no such photo.
        """
        if not _DIGEST.fullmatch(digest):
            raise InputError(f"{digest[:20]!r} is not the digest of a photo.", remedy="Send the photo itself.")
        try:
            return (self._place(name) / digest).read_bytes()
        except OSError:
            raise _gone("The draft holds no such photo.") from None

    def forget(self, name: str) -> None:
        """Throw a draft away."""
        shutil.rmtree(self._place(name), ignore_errors=True)

    def _place(self, name: str) -> Path:
        if not _NAME.fullmatch(name):
            raise InputError(f"{name[:40]!r} is not the name of a draft.", remedy="Use 32 digits and letters a to f.")
        return self.folder / name

    def _make_room(self, name: str) -> None:
        """Throw away what is a week old, and the oldest where there are too many."""
        others = sorted(
            (one for one in self._all() if one.name != name), key=lambda one: one.stat().st_mtime, reverse=True
        )
        for number, one in enumerate(others):
            if number >= MOST_DRAFTS - 1 or time.time() - one.stat().st_mtime > KEPT_SECONDS:
                shutil.rmtree(one, ignore_errors=True)

    def _all(self) -> Iterator[Path]:
        if self.folder.is_dir():
            yield from (one for one in self.folder.iterdir() if _NAME.fullmatch(one.name))


def _photos(place: Path) -> Iterator[Path]:
    if place.is_dir():
        yield from (one for one in place.iterdir() if _DIGEST.fullmatch(one.name))


def _gone(message: str) -> FileError:
    return FileError(message, remedy="Take or choose the photo again.", code="NO_DRAFT")
