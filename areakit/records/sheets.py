"""Copies of scale sheets and what their check lengths measured: a copy is known by its sheet's code and its name."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from areakit.errors import InputError
from areakit.flags import Flag, flag
from areakit.imaging.scale import CheckReading
from areakit.records.entries import Date, Name, Text
from areakit.records.event import Event

OLD_AFTER_DAYS = 90
"""Paper moves with the weather: after so many days a check is told to be old (practice)."""
Length = Annotated[float, Field(gt=1.0, lt=2000.0)]


class LengthsRead(BaseModel):
    """The two check lengths of a sheet copy as read, in mm, with their standard uncertainty and the day."""

    model_config = ConfigDict(extra="forbid", strict=True)
    sheet: Name
    read_x_mm: Length
    read_y_mm: Length
    uncertainty_mm: Annotated[float, Field(gt=0.0, le=2.0)] = 0.1
    date: Date
    with_what: Text = ""
    remarks: Text = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CopyCheck:
    """The last check of one sheet copy: sheet code, name of the copy, readings, day, and how many checks there were."""

    name: str
    sheet: str
    reading: CheckReading
    date: str
    who: str
    checks: int

    @property
    def lengths_text(self) -> str:
        """Both lengths as ``areakit measure --check-lengths`` takes them."""
        x, y = self.reading.read_mm
        return f"{x:g} mm x {y:g} mm"

    def check_sheet(self, seen: str) -> None:
        """Raise InputError where a photo shows another sheet than this copy."""
        if seen != self.sheet:
            raise InputError(
                f"The photo shows sheet {seen}; the sheet copy {self.name} is a {self.sheet}.",
                remedy="Name the sheet copy that is in the photo, or give its check lengths.",
                fields={"check_lengths": ""},
            )


def fold(name: str, events: Iterable[Event]) -> CopyCheck:
    """Return the last check of a sheet copy; InputError if there is none."""
    found = [event for event in events if event.kind == "lengths-read"]
    if not found:
        raise InputError(
            f"The sheet copy {name} was never checked.",
            remedy="Measure its two check lengths and keep them.",
            fields={"areakit sheet-check": ""},
        )
    last = found[-1]
    doc = last.doc
    return CopyCheck(
        name=name,
        sheet=doc["sheet"],
        reading=CheckReading(read_mm=(doc["read_x_mm"], doc["read_y_mm"]), uncertainty_mm=doc["uncertainty_mm"]),
        date=doc["date"],
        who=last.who,
        checks=len(found),
    )


def age_flags(check: CopyCheck, today: str) -> tuple[Flag, ...]:
    """Return the caution that a check is old, or nothing."""
    days = (date.fromisoformat(today) - date.fromisoformat(check.date)).days
    if days <= OLD_AFTER_DAYS:
        return ()
    return (flag("SHEET_CHECK_OLD", name=check.name, days=days, limit=OLD_AFTER_DAYS),)
