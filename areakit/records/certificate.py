"""The code on a certificate: which record it was made from, with digits that show a slip in the code itself.

A code is the job's number, the entry that keeps the certificate, the first digits of that entry's digest (which rests
on every entry before it) and check digits over the rest: ``2026-0001/14/7f3a-90bc-1122-8d0e-55aa/9c41``.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from areakit.errors import CodeChanged, InputError, OtherJob, RecordDiffers
from areakit.records.event import Event

DIGITS, CHECK_DIGITS = 20, 4
"""Hexadecimal digits of the digest that a code shows (80 bits), and of the check over them: a slip in the code passes
for whole once in 65 536."""
_SHAPE = re.compile(r"(?P<number>.+)/(?P<entry>\d{1,9})/(?P<digest>[^/]+)/(?P<check>[^/]+)")
_REMEDY = "Copy it from the certificate as it stands there: NUMBER/ENTRY/DIGITS/CHECK."


@dataclass(frozen=True, slots=True, kw_only=True)
class Code:
    """A code as it was read: the job, the entry that keeps the certificate, and the first digits of its digest."""

    number: str
    entry: int
    digest: str

    def __str__(self) -> str:
        groups = "-".join(self.digest[at : at + 4] for at in range(0, len(self.digest), 4))
        return f"{self.number}/{self.entry}/{groups}/{self._check}"

    @property
    def _check(self) -> str:
        return hashlib.sha256(f"{self.number}/{self.entry}/{self.digest}".encode()).hexdigest()[:CHECK_DIGITS]


def code_of(event: Event) -> Code:
    """Return the code of the entry that keeps a certificate."""
    return Code(number=event.key, entry=event.sequence, digest=event.digest[:DIGITS])


def read_code(text: str) -> Code:
    """Return the code that somebody typed.

    InputError if it has not the shape of a code; CodeChanged if its check digits are not those of the rest: a letter or
    a figure in it is another than on the certificate.
    """
    match = _SHAPE.fullmatch(text.strip())
    if match is None:
        raise InputError(f"{text[:60]!r} is not the code of a certificate.", remedy=_REMEDY)
    digest, check = (re.sub(r"[\s-]", "", match[name]).lower() for name in ("digest", "check"))
    code = Code(number=match["number"], entry=int(match["entry"]), digest=digest)
    if len(digest) != DIGITS or str(code).rpartition("/")[2] != check:
        raise CodeChanged(
            f"The code is not whole: its last digits are {check[:8]}, and the rest of it gives "
            f"{str(code).rpartition('/')[2]}.",
            remedy="A letter or a figure in it was changed or mistyped; copy it again from the certificate.",
        )
    return code


def certified(code: Code, number: str, history: Sequence[Event]) -> Event:
    """Return the entry that keeps the certificate of a code, where nothing was changed before it or came after it.

    OtherJob if the code is of another job; RecordDiffers if the record is not the one that the certificate was made
    from, or went on after it.

    Parameters
    ----------
    number : str
        The job that the certificate is said to be of.
    history : sequence of Event
        All events of that job.
    """
    if code.number != number:
        raise OtherJob(
            f"The code is of job {code.number}, not of job {number}.",
            remedy=f"Ask for job {code.number}, or look for the certificate of job {number}.",
        )
    event = next((one for one in history if one.sequence == code.entry), None)
    if event is None or event.digest[:DIGITS] != code.digest or event.kind != "certified":
        found = f"its entry {code.entry} gives {event.digest[:8]}" if event else f"it has no entry {code.entry}"
        raise RecordDiffers(
            f"The record of job {number} is not the one that this certificate was made from: {found}, and the code "
            f"says {code.digest[:8]}.",
            remedy="Do not rely on the certificate; compare the record with a backup.",
        )
    broken = next((two for one, two in pairwise(history) if two.previous != one.digest), None)
    if broken is not None:
        raise RecordDiffers(
            f"The record of job {number} was changed before its entry {broken.sequence}: the digests do not join.",
            remedy="Do not rely on the certificate; check the journal, and compare the record with a backup.",
            fields={"areakit job check": ""},
        )
    later = [one for one in history if one.sequence > event.sequence and one.kind != "certified"]
    if later:
        raise RecordDiffers(
            _went_on(number, later[0]),
            remedy="Look at what was written since; ask for a new one.",
            fields={f"areakit job history {number}": ""},
        )
    return event


def _went_on(number: str, event: Event) -> str:
    what = f"corrected entry {event.doc['entry']}" if event.kind == "corrected" else f"added: {event.kind}"
    return f"The record of job {number} was changed after this certificate: entry {event.sequence}, {event.who} {what}."


def check_bottles(stated: Sequence[Mapping[str, Any]], now: Mapping[str, Mapping[str, str]]) -> None:
    """Raise RecordDiffers where a bottle has another solution, lot or expiry today than the certificate states."""
    for one in stated:
        there = now.get(one["label"], {})
        for name in ("solution", "lot", "expiry"):
            if there.get(name) != one[name]:
                raise RecordDiffers(
                    f"Bottle {one['label']} was changed after this certificate: its {name} was "
                    f"{one[name] or 'not said'}, and is {there.get(name) or 'not said'} now.",
                    remedy="Ask for a new certificate.",
                )
