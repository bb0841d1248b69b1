"""The log of a batch: one line of JSON a photo, only ever added to, so that a batch can go on where it stopped."""

from __future__ import annotations

import hashlib
import json
import math
import os
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from areakit.errors import AreakitError, FileError
from areakit.foreign_text import json_from
from areakit.output import refusal
from areakit.records.codec import quantity_from_json

SCHEMA = "areakit.batch/1"
AREAS = ("face_area", "side_wall_area", "plated_area")
"""Areas of a part that a batch adds up, each null or in mm2."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchRow:
    """What one photo of a batch gave.

    Parameters
    ----------
    photo : str
        File name.
    sha256 : str or None
        Hash of the photo's bytes; None where it could not be read or its worker was lost, which is tried again.
    settings : str
        Digest of the request and of the versions that answered it.
    answer : dict
        The JSON line of the photo, as ``areakit measure --json`` prints it.
    overlay : str or None
        Name of its picture in the folder of overlays.
    exit_code : int
        0 measured, else the exit code of the refusal.
    pieces : int
        How many pieces are like each part in the photo.
    """

    photo: str
    sha256: str | None
    settings: str
    answer: dict[str, Any]
    overlay: str | None
    exit_code: int
    pieces: int = 1

    @property
    def key(self) -> tuple[str, str | None, str]:
        """What the answer depends on."""
        return self.photo, self.sha256, self.settings


class BatchLog:
    """The log in one file.

    Raises
    ------
    FileError
        If the file cannot be read, written, or is no log of a batch.
    """

    def __init__(self, path: Path) -> None:
        self._path = path

    def rows(self) -> list[BatchRow]:
        """Return every whole row; a last line that was cut off by a crash is left out."""
        try:
            text = self._path.read_text(encoding="utf-8", errors="replace")
        except FileNotFoundError:
            return []
        except OSError as error:
            raise self._refused(f"cannot be read ({error.strerror})") from error
        lines = text.split("\n")[:-1]
        rows = [row for row in map(_row, lines) if row is not None]
        if lines and not rows:
            raise self._refused("is not the log of a batch")
        return rows

    def add(self, row: BatchRow) -> None:
        """Append one row; when this returns, the row is on the disk."""
        body = {"schema": SCHEMA, **{name: getattr(row, name) for name in BatchRow.__dataclass_fields__}}
        line = json.dumps(body, ensure_ascii=False, allow_nan=False).encode()
        try:
            with self._path.open("ab+") as file:
                if file.tell():
                    file.seek(-1, os.SEEK_END)
                    line = line if file.read(1) == b"\n" else b"\n" + line  # after a line that was cut off
                file.write(line + b"\n")
                file.flush()
                os.fsync(file.fileno())
        except OSError as error:
            raise refusal(self._path, error) from error

    def _refused(self, what: str) -> FileError:
        return FileError(f"{self._path} {what}.", remedy="Name another folder for the results.")


def _row(line: str) -> BatchRow | None:
    try:
        body = json_from(line)
        if body.pop("schema") != SCHEMA:
            return None
        row = BatchRow(**body)
    except (ValueError, TypeError, KeyError, AttributeError):
        return None
    return row if _is_sound(row) else None


def _is_sound(row: BatchRow) -> bool:
    """Tell whether a row can be shown and added up; one that cannot is measured again."""
    answer = row.answer
    try:
        for part in answer["parts"]:
            for name in AREAS:
                if part[name] is not None and quantity_from_json(part[name]).unit != "mm2":
                    return False
            if not isinstance(part["id"], int) or not math.isfinite(part["perimeter"]["value"]):
                return False
        flags = [(one["code"], one["message"], one["remedy"], one.get("part")) for one in answer["flags"]]
        words = (row.photo, row.settings, answer["status"], row.overlay or "", row.sha256 or "")
        texts = [text for flag in flags for text in flag[:3]]
        named = row.overlay is None or Path(row.overlay).name == row.overlay
        return (
            named
            and isinstance(row.exit_code, int)
            and isinstance(row.pieces, int)
            and row.pieces > 0
            and all(isinstance(one, str) for one in (*words, *texts))
            and (bool(answer["parts"]) or bool(flags))
        )
    except (AreakitError, KeyError, TypeError, AttributeError, OverflowError):
        return False


def file_hash(path: Path) -> str | None:
    """Return the hash of a file's bytes; None if it cannot be read."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return None


def answered(rows: Iterable[BatchRow]) -> dict[tuple[str, str | None, str], BatchRow]:
    """Return the last row of each key that need not be asked again."""
    return {row.key: row for row in rows if row.sha256 is not None}
