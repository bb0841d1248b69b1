"""The newest entry that a record was seen to hold, kept outside of it: an older copy in its place shows, and so does a
clock that went back."""

from __future__ import annotations

import contextlib
import json
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from areakit.errors import AreakitError, RecordChanged
from areakit.foreign_text import json_from
from areakit.output import write_whole

if TYPE_CHECKING:
    from areakit.records.journal import Journal

MOST_RECORDS = 200
CLOCK_MAY_DIFFER = timedelta(minutes=2)
"""Between two computers that write into one record. Common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Newest:
    """The last entry of a record: its number in the whole of it, its digest, and when it was written."""

    number: int
    digest: str
    at: str


class Marks:
    """The newest entries that this user's programs saw, by the path of the record.

    Parameters
    ----------
    file : Path
        Where they are kept; a file that cannot be read or written is as good as none.
    """

    def __init__(self, file: Path) -> None:
        self._file = file

    def of(self, record: Path) -> Newest | None:
        """Return what was seen last, or None."""
        with contextlib.suppress(KeyError, TypeError):
            found = Newest(**self._all()[_name(record)])
            if isinstance(found.number, int) and isinstance(found.digest, str) and isinstance(found.at, str):
                return found
        return None

    def keep(self, record: Path, newest: Newest) -> None:
        """Remember the newest entry."""
        kept = {name: one for name, one in self._all().items() if name != _name(record)}
        kept = dict([*kept.items(), (_name(record), asdict(newest))][-MOST_RECORDS:])
        with contextlib.suppress(OSError, AreakitError):
            self._file.parent.mkdir(parents=True, exist_ok=True)
            write_whole(self._file, json.dumps(kept, ensure_ascii=False).encode("utf-8", "surrogateescape"))

    def _all(self) -> dict[str, Any]:
        try:
            body = json_from(self._file.read_text(encoding="utf-8", errors="surrogateescape"))
        except (OSError, ValueError):
            return {}
        return body if isinstance(body, dict) else {}


def _name(record: Path) -> str:
    return str(record.resolve())


def newest_of(journal: Journal) -> Newest | None:
    """Return the newest entry of an open record; None for an empty one."""
    row = journal.newest()
    return None if row is None else Newest(number=row[0], digest=row[1], at=row[2])


def older_copy(journal: Journal, seen: Newest | None) -> RecordChanged | None:
    """Return the error for a record that lacks what it was seen to hold, or holds another entry in its place."""
    now = newest_of(journal)
    if seen is None or now is None or journal.digest_of(seen.number) == seen.digest:
        return None
    return RecordChanged(
        f"{journal.path} ends with entry {now.number} of {now.at}, and entry {seen.number} of {seen.at} was kept in "
        "it: an older or another copy was put in its place.",
        remedy="Put the newer file back; if this one is to hold, say so.",
        fields={"areakit job check --as-it-is": ""},
        code="OLDER_COPY",
    )


def clock_words(newest: Newest | None, now: datetime) -> str:
    """Return what there is to say of a clock that stands before the newest entry; empty where it does not."""
    ahead = timedelta(0)
    with contextlib.suppress(TypeError, ValueError):  # an imported entry may hold any text
        ahead = datetime.fromisoformat(newest.at) - now if newest is not None else ahead
    if newest is None or ahead <= CLOCK_MAY_DIFFER:
        return ""
    return (
        f"The clock of this computer says {now.isoformat(timespec='minutes')}, and the newest entry is of {newest.at}. "
        "Set the clock: entries get the time that it shows."
    )
