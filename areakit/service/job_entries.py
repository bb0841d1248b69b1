"""What the bench adds to a job, as text with units: one request a kind of entry, each field said once."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal, Protocol

from areakit.errors import InputError, NotReady
from areakit.service.asked import About, Text, Whole
from areakit.service.record_requests import REMARKS

if TYPE_CHECKING:
    from areakit.service.desk import Desk
    from areakit.service.job import Written


class EntryRequest(Protocol):
    """One entry as asked for; ``write`` acknowledges it once it is on the disk."""

    def write(self, desk: "Desk", number: str, *, after: int | None = None) -> "Written":
        """Add it to the job of a number; RecordChanged if there is a later entry than ``after``."""
        ...


class _Simple:
    """An entry whose fields go into the record as they are typed, or as quantities."""

    kind: ClassVar[str]

    def doc(self, desk: "Desk", number: str) -> dict[str, Any]:
        """Return the entry as the record keeps it; InputError where it does not fit the job of that number."""
        return {one.name: getattr(self, one.name) for one in fields(self)}  # type: ignore[arg-type]

    def write(self, desk: "Desk", number: str, *, after: int | None = None) -> "Written":
        """Add it to the job of a number."""
        from areakit.service.job import add

        return add(desk, number, self.kind, doc=self.doc(desk, number), after=after)


@dataclass(frozen=True, kw_only=True)
class Weighing(_Simple):
    """The mass of all pieces together."""

    kind: ClassVar = "weighed"
    when: Annotated[Literal["before", "after"], About("Before or after the work.", typed=False)]
    mass: Annotated[str, About("Mass of all pieces together.", example="41.200 ± 0.002 g", typed=False)]
    remarks: Annotated[str, REMARKS] = ""

    def doc(self, desk: "Desk", number: str) -> dict[str, Any]:
        """Return the entry as the record keeps it."""
        from areakit.service.desk import quantity

        return {**super().doc(desk, number), "mass": quantity(self.mass, "mass", "balance")}


@dataclass(frozen=True, kw_only=True)
class Requirement(_Simple):
    """What the customer or a standard asks for, in words."""

    kind: ClassVar = "required"
    text: Annotated[str, About("What is asked for, in words.", typed=False)]
    metal: Annotated[str, About("Layer that it is about.", example="gold", shape="METAL")] = ""
    minimum: Annotated[Text, About("Minimum thickness.", example="2.5 um", shape="LENGTH")] = None
    standard: Annotated[str, About("Its standard, with the edition.", example="ISO 4524-1:2023")] = ""

    def doc(self, desk: "Desk", number: str) -> dict[str, Any]:
        """Return the entry as the record keeps it."""
        from areakit.service.desk import THINNEST, thickness

        return {**super().doc(desk, number), "minimum": thickness(self.minimum, "requirement", least=THINNEST)}


@dataclass(frozen=True, kw_only=True)
class Rework(_Simple):
    """What was done again, and because of which entry."""

    kind: ClassVar = "reworked"
    what: Annotated[str, About("What was done again.", typed=False)]
    because: Annotated[Whole, About("Entry number of the test or defect that led to it.", shape="N")] = None
    remarks: Annotated[str, REMARKS] = ""

    def doc(self, desk: "Desk", number: str) -> dict[str, Any]:
        """Return the entry as the record keeps it; InputError if the job has no entry that led to it."""
        if self.because is not None:
            from areakit.service.job import show_job

            show_job(desk, number).entry(self.because)
        return super().doc(desk, number)


@dataclass(frozen=True, kw_only=True)
class Remark(_Simple):
    """Words that fit nowhere else."""

    kind: ClassVar = "remarked"
    text: Annotated[str, About("The words.", typed=False)]


@dataclass(frozen=True, kw_only=True)
class SignOff:
    """Somebody answers for the record as it stands; ``despite`` says why, where points are open."""

    statement: Annotated[str, About("What is answered for.", typed=False)]
    role: Annotated[str, About("Of whoever signs.", example="inspector")] = ""
    despite: Annotated[str, About("Why to release it although points are open; papers show it.")] = ""

    def write(self, desk: "Desk", number: str, *, after: int | None = None) -> "Written":
        """Add it to the job of a number, unless points are open and nobody said why to go on.

        NotReady with every open point.
        """
        from areakit.service.job import add, release_points

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
        remedy="Do and record what is missing. To release it all the same, say why, and who answers "
        "in what role; the papers show both.",
        fields={"despite": "", "role": "", "who": ""},
    )


@dataclass(frozen=True, kw_only=True)
class Correction(_Simple):
    """New values for some fields of an entry, or its withdrawal, with the reason."""

    kind: ClassVar = "corrected"
    entry: Annotated[int, About("Its number.", typed=False)]
    reason: Annotated[str, About("Why; it is kept.")]
    fields: Annotated[Mapping[str, Any] | None, About("New values by their names.", typed=False)] = None
    withdraw: Annotated[bool, About("The entry no longer counts.")] = False

    def doc(self, desk: "Desk", number: str) -> dict[str, Any]:
        """Return the entry as the record keeps it."""
        fields = dict(self.fields or {})
        return {"entry": self.entry, "fields": fields, "withdrawn": self.withdraw, "reason": self.reason}


@dataclass(frozen=True, kw_only=True)
class Trial(_Simple):
    """A test by its method, with a value where it gives a thickness."""

    kind: ClassVar = "tested"
    method: Annotated[str, About("Test by its name: tape, bend, burnishing, visual, xrf.", typed=False)]
    result: Annotated[Literal["pass", "fail", "value"], About("How it ended.", typed=False)]
    place: Annotated[str, About("Where on the part, in words.")] = ""
    value: Annotated[Text, About("What was measured.", example="2.6 ± 0.2 um", shape="VALUE")] = None
    remarks: Annotated[str, REMARKS] = ""
    place_mm: Annotated[tuple[float, float] | None, About("Where on the outline. [mm]", typed=False)] = None
    metal: Annotated[str, About("Layer of a thickness.", "the top one", example="gold", shape="METAL")] = ""

    def doc(self, desk: "Desk", number: str) -> dict[str, Any]:
        """Return the entry as the record keeps it; InputError for a method of thickness without a value."""
        from areakit.records.methods import method
        from areakit.service.desk import thickness

        used = method(self.method)
        if used.purpose == "thickness" and self.value is None:
            raise InputError(f"{used.title} gives a thickness.", remedy="Give it.", fields={"value": "2.6 ± 0.2 um"})
        if self.place_mm:
            _check_inside(desk, number, [self.place_mm])
        place_mm = list(self.place_mm) if self.place_mm else None
        value = thickness(self.value, used.title.lower())
        return {**super().doc(desk, number), "place_mm": place_mm, "value": value}


@dataclass(frozen=True, kw_only=True)
class Defect(_Simple):
    """A defect at one point of the outline, or inside three and more. [mm]"""

    kind: ClassVar = "defect"
    what: Annotated[str, About("What it is.", typed=False)]
    points_mm: Annotated[tuple[tuple[float, float], ...], About("Its point, or its ring. [mm]", typed=False)]
    remarks: Annotated[str, REMARKS] = ""

    def doc(self, desk: "Desk", number: str) -> dict[str, Any]:
        """Return the entry as the record keeps it; InputError for two points, or one off the part."""
        if len(self.points_mm) == 2 or not self.points_mm:
            raise InputError(
                f"A defect lies at one point or inside three or more; {len(self.points_mm)} were given.",
                remedy="Give one point, or three and more round a region.",
                fields={"at": "x,y"},
            )
        _check_inside(desk, number, self.points_mm)
        first, *others = [list(point) for point in self.points_mm]
        geometry = {"type": "Point", "coordinates": first}
        if others:
            geometry = {"type": "Polygon", "coordinates": [[first, *others, first]]}
        return {"what": self.what, "geometry": geometry, "remarks": self.remarks}


def _check_inside(desk: "Desk", number: str, points_mm: Iterable[tuple[float, float]]) -> None:
    """Raise InputError for a point outside the box round the outline, a twentieth of its size left over."""
    from areakit.service.job import show_job

    part = show_job(desk, number).measured_part
    outline = part.get("outline") if part else None
    if not outline:
        return
    ends = [(min(axis), max(axis)) for axis in zip(*outline["coordinates"][0], strict=True)]
    slack = max(high - low for low, high in ends) / 20
    for point in points_mm:
        if not all(low - slack <= value <= high + slack for value, (low, high) in zip(point, ends, strict=True)):
            (x0, x1), (y0, y1) = ends
            raise InputError(
                f"({point[0]:g}, {point[1]:g}) mm lies off the part, which reaches from ({x0:.1f}, {y0:.1f}) to "
                f"({x1:.1f}, {y1:.1f}) mm.",
                remedy="Read the place off the outline of this job.",
            )


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
