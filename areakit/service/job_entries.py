"""What the bench adds to a job, as text with units: one request a kind of entry."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any, ClassVar, Literal, Protocol

from areakit.errors import NotReady
from areakit.service.desk import Desk, quantity
from areakit.service.job import Written, add, add_defect, add_test, release_points


class EntryRequest(Protocol):
    """One entry as asked for; ``write`` acknowledges it once it is on the disk."""

    def write(self, desk: Desk, number: str, *, after: int | None = None) -> Written:
        """Add it to the job of a number; RecordChanged if there is a later entry than ``after``."""
        ...


class _Simple:
    """An entry whose fields go into the record as they are typed, or as quantities."""

    kind: ClassVar[str]

    def doc(self) -> dict[str, Any]:
        """Return the entry as the record keeps it."""
        return {one.name: getattr(self, one.name) for one in fields(self)}  # type: ignore[arg-type]

    def write(self, desk: Desk, number: str, *, after: int | None = None) -> Written:
        """Add it to the job of a number."""
        return add(desk, number, self.kind, doc=self.doc(), after=after)


@dataclass(frozen=True, kw_only=True)
class Weighing(_Simple):
    """The mass of all pieces together, as ``41.200 ± 0.002 g``."""

    kind: ClassVar = "weighed"
    when: Literal["before", "after"]
    mass: str
    remarks: str = ""

    def doc(self) -> dict[str, Any]:
        """Return the entry as the record keeps it."""
        return {"when": self.when, "mass": quantity(self.mass, "mass", "balance"), "remarks": self.remarks}


@dataclass(frozen=True, kw_only=True)
class Requirement(_Simple):
    """What the customer or a standard asks for, in words; ``minimum`` as ``2.5 um``, ``standard`` with its edition."""

    kind: ClassVar = "required"
    text: str
    metal: str = ""
    minimum: str | None = None
    standard: str = ""

    def doc(self) -> dict[str, Any]:
        """Return the entry as the record keeps it."""
        minimum = quantity(self.minimum, "length", "requirement")
        return {"text": self.text, "metal": self.metal, "minimum": minimum, "standard": self.standard}


@dataclass(frozen=True, kw_only=True)
class Rework(_Simple):
    """What was done again, and because of which entry."""

    kind: ClassVar = "reworked"
    what: str
    because: int | None = None
    remarks: str = ""


@dataclass(frozen=True, kw_only=True)
class Remark(_Simple):
    """Words that fit nowhere else."""

    kind: ClassVar = "remarked"
    text: str


@dataclass(frozen=True, kw_only=True)
class SignOff:
    """Somebody answers for the record as it stands; ``despite`` says why, where points are open."""

    statement: str
    role: str = ""
    despite: str = ""

    def write(self, desk: Desk, number: str, *, after: int | None = None) -> Written:
        """Add it to the job of a number, unless points are open and nobody said why to go on.

        Raises
        ------
        NotReady
            With every open point.
        """
        job, points = release_points(desk, number)
        answered = self.despite.strip() and self.role.strip()
        if points and not answered and after in (None, job.last):  # who has not seen the last entry is told that first
            raise _not_ready(number, [point.message for point in points])
        doc = {
            "statement": self.statement,
            "role": self.role,
            "despite": self.despite.strip() if points else "",
            "open_points": [point.message for point in points],
        }
        return add(desk, number, "signed", doc=doc, after=job.last if after is None else after)


def _not_ready(number: str, points: list[str]) -> NotReady:
    count = f"{len(points)} point{'s are' if len(points) > 1 else ' is'} open"
    return NotReady(
        f"Job {number} is not ready for release, {count}: {' '.join(points)}",
        remedy="Do and record what is missing. To release it all the same, say why with --despite, and who answers "
        "with --role and --who; the papers show both.",
    )


@dataclass(frozen=True, kw_only=True)
class Correction(_Simple):
    """New values for some fields of an entry, or its withdrawal, with the reason."""

    kind: ClassVar = "corrected"
    entry: int
    reason: str
    fields: Mapping[str, Any] | None = None
    withdraw: bool = False

    def doc(self) -> dict[str, Any]:
        """Return the entry as the record keeps it."""
        return {
            "entry": self.entry,
            "fields": dict(self.fields or {}),
            "withdrawn": self.withdraw,
            "reason": self.reason,
        }


@dataclass(frozen=True, kw_only=True)
class Trial:
    """A test by its method; ``value`` as ``0.61 ± 0.06 um`` where the method gives a thickness."""

    method: str
    result: Literal["pass", "fail", "value"]
    place: str = ""
    value: str | None = None
    remarks: str = ""
    place_mm: tuple[float, float] | None = None
    metal: str = ""

    def write(self, desk: Desk, number: str, *, after: int | None = None) -> Written:
        """Add it to the job of a number."""
        return add_test(
            desk, number, self.method, result=self.result, place=self.place, value=self.value, remarks=self.remarks,
            place_mm=self.place_mm, metal=self.metal, after=after,
        )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Defect:
    """A defect at one point of the outline, or inside three and more. [mm]"""

    what: str
    points_mm: tuple[tuple[float, float], ...]
    remarks: str = ""

    def write(self, desk: Desk, number: str, *, after: int | None = None) -> Written:
        """Add it to the job of a number."""
        return add_defect(desk, number, self.what, points_mm=list(self.points_mm), remarks=self.remarks, after=after)


KINDS: Mapping[str, type[EntryRequest]] = {
    "weighed": Weighing,
    "required": Requirement,
    "reworked": Rework,
    "remarked": Remark,
    "signed": SignOff,
    "corrected": Correction,
    "tested": Trial,
    "defect": Defect,
}
