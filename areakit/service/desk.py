"""Who writes, when, and into which journal."""

from __future__ import annotations

import contextlib
import hashlib
import re
import uuid
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import count
from pathlib import Path
from typing import Any

from areakit.errors import AreakitError, InputError, RangeError
from areakit.records.codec import quantity_json
from areakit.records.entries import TEMPERATURES
from areakit.records.event import Event
from areakit.records.journal import Journal, begun
from areakit.service.entries import SI_UNIT
from areakit.service.newest import Marks, clock_words, newest_of, older_copy
from areakit.uncertainty import COVERAGE_FACTOR, Measured
from areakit.units import parse_with_tolerance

THINNEST, THICKEST = 1e-9, 0.02
"""What a deposit can be asked for: a nanometre to two centimetres (common practice, no source). [m]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk:
    """The journal's file, the name of who writes, and the present time with its offset from UTC.

    With a ``key`` what is written is named after it, so that the same press made twice is known as one. With ``marks``
    nothing is added to an older copy of the journal.
    """

    path: Path
    who: str
    now: datetime
    key: str | None = None
    marks: Marks | None = field(default=None, repr=False, compare=False)
    _made: Iterator[int] = field(default_factory=count, repr=False, compare=False)

    @property
    def at(self) -> str:
        """The present time as ISO 8601, to the second."""
        return self.now.isoformat(timespec="seconds")

    @property
    def today(self) -> str:
        """The present date."""
        return self.now.date().isoformat()

    def to_write(self) -> Journal:
        """Open the journal to add to it.

        Raises
        ------
        RecordChanged
            If an older copy was put in its place.
        """
        journal = Journal(self.path, new_id=self._new_id, acknowledged=self._mark)
        if self.marks is not None and (older := older_copy(journal, self.marks.of(self.path))) is not None:
            journal.close()
            raise older
        return journal

    def _mark(self, journal: Journal) -> None:
        """Remember the newest entry, outside of the journal."""
        newest = newest_of(journal)
        if self.marks is not None and newest is not None:
            self.marks.keep(self.path, newest)

    def accept(self) -> None:
        """Take the journal as it is, also where it is an older copy."""
        with self.to_read() as journal:
            self._mark(journal)

    def notes(self) -> tuple[str, ...]:
        """Return what there is to say of the journal before anything is done with it."""
        seen = None if self.marks is None else self.marks.of(self.path)
        if self.marks is None or not self.path.is_file():
            gone = f"{self.path} is gone; entry {seen.number} of {seen.at} was kept in it." if seen else ""
            return (f"{gone} Put it back, or name another journal: a new one begins.",) if gone else ()
        with contextlib.suppress(AreakitError), self.to_read() as journal:
            older = older_copy(journal, seen)
            words = (
                f"An older copy of {self.path} was put in its place; the check of the journal says more."
                if older
                else ""
            )
            return tuple(text for text in (words, clock_words(newest_of(journal), self.now)) if text)
        return ()

    def to_change(self) -> Journal:
        """Open the journal to add to what it holds; one that is not there is not made for that."""
        return self.to_write() if self.path.is_file() else self.to_read()

    def to_read(self) -> Journal:
        """Open the journal to look into it."""
        return Journal(self.path, write=False)

    def kept_before(self) -> Event | None:
        """Return the first entry that was written with this key, or None.

        Raises
        ------
        InputError
            For a key that is empty, longer than 200 characters, or holds control characters.
        """
        if self.key is None:
            return None
        if not self.key.strip() or len(self.key) > _LONGEST_KEY or not self.key.isprintable():
            raise InputError(
                f"A key must have 1 to {_LONGEST_KEY} plain characters.", remedy="Give each press a key of its own."
            )
        opened = begun(self.path)
        if opened is None:
            return None
        with opened as journal:
            return journal.event(_keyed(self.key, 0))

    def _new_id(self) -> str:
        return uuid.uuid4().hex if self.key is None else _keyed(self.key, next(self._made))


_LONGEST_KEY = 200


def _keyed(key: str, number: int) -> str:
    """Return the name of the nth event that is written with a key."""
    return hashlib.sha256(f"{key}\x1f{number}".encode("utf-8", "surrogatepass")).hexdigest()[:32]


def read_time(text: str | None, now: datetime) -> tuple[str, float]:
    """Return a typed time as ISO 8601, and to how many seconds it was typed.

    ``09:30`` and ``09:30:15`` are of today; a date or an offset from UTC may be given with it.
    """
    if text is None:
        return now.isoformat(timespec="seconds"), 1.0
    words = text.strip()
    step = 60.0 if re.search(r"(^|[T ])\d?\d:\d\d(Z|[+-]\d\d:\d\d)?$", words) else 1.0
    if re.fullmatch(r"\d?\d:\d\d(:\d\d)?", words):
        words = f"{now.date().isoformat()}T{words.zfill(8 if words.count(':') == 2 else 5)}"
    try:
        found = datetime.fromisoformat(words)
    except ValueError:
        raise InputError(f"{text[:40]!r} is not a time.", remedy="Write 09:30, 09:30:15 or 2026-03-14T09:30.") from None
    if found.tzinfo is None:
        found = found.replace(tzinfo=now.tzinfo)
    if found - now > timedelta(minutes=1):
        raise InputError(f"{text[:40]} lies in the future.", remedy="Check the clock, or give the date with it.")
    return found.isoformat(timespec="seconds"), step


def read_date(text: str | None, now: datetime) -> str:
    """Return a typed ISO date, or today."""
    if text is None:
        return now.date().isoformat()
    try:
        return datetime.strptime(text.strip(), "%Y-%m-%d").date().isoformat()
    except ValueError:
        raise InputError(f"{text[:40]!r} is not a date.", remedy="Write it as 2026-03-14.") from None


def quantity(text: str | None, kind: str, name: str) -> dict[str, Any] | None:
    """Return a typed quantity as JSON in SI, its ± taken as expanded uncertainty; None for None."""
    if text is None:
        return None
    value, tolerance = parse_with_tolerance(text, kind)
    return quantity_json(Measured(value=value, unit=SI_UNIT[kind], budget={name: (tolerance or 0.0) / COVERAGE_FACTOR}))


def plain(text: str | None, kind: str) -> float | None:
    """Return a typed number in SI without uncertainty; None for None."""
    return None if text is None else parse_with_tolerance(text, kind)[0]


def temperature(text: str | None) -> float | None:
    """Return a typed temperature in degrees Celsius: ``55`` or ``55 °C``; ``131 °F`` is turned over."""
    if text is None:
        return None
    match = re.fullmatch(r"\s*(-?\d+(?:[.,]\d+)?)\s*(?:°?\s*([CF])|deg([CF]))?\s*", text)
    if not match:
        raise InputError(f"{text[:40]!r} is not a temperature.", remedy="Write it as 55 °C or 131 °F.")
    value = float(match.group(1).replace(",", "."))
    value = round((value - 32) / 1.8, 2) if "F" in (match.group(2), match.group(3)) else value
    low, high = TEMPERATURES
    if not low <= value <= high:
        raise RangeError(
            f"{text.strip()[:40]} is outside {low} to {high} °C.", remedy="Give the temperature of the solution."
        )
    return value


def thickness(text: str | None, name: str, *, least: float = 0.0) -> dict[str, Any] | None:
    """Return a typed thickness of a deposit as JSON; RangeError unless it is from ``least`` [m] to :data:`THICKEST`."""
    value = plain(text, "length")
    if value is not None and not least <= value <= THICKEST:
        raise RangeError(
            f"{text!r} is no thickness of a deposit: above {THICKEST * 1e3:g} mm, or not above zero.",
            remedy="Check the figure and its unit, such as 2.6 um.",
        )
    return quantity(text, "length", name)
