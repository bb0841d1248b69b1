"""What a traveller says about a job, in words and figures, before it is laid out on paper or screen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from areakit.errors import Fields
from areakit.geometry.forms.words import PLATED
from areakit.records.codec import fields_of, quantity_from_json
from areakit.records.entry_words import defect_place, entry_words, quantity_words
from areakit.records.job import Entry, Job
from areakit.records.methods import METHODS
from areakit.records.outcome import outcome_words, outcomes_of
from areakit.records.part_outlines import form_as_said
from areakit.records.release import plan_of
from areakit.records.runs import Run, runs_of
from areakit.reports.step_facts import Hazard, StepFacts, hazards_of, steps_of
from areakit.uncertainty import Measured
from areakit.units import show, show_found

Ring = list[tuple[float, float]]
MOST_SHARES = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkFacts:
    """A defect or a test place on the outline: its sign on the drawing, words, and where."""

    sign: str
    words: str
    points: Ring
    defect: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class JobFacts:
    """Everything that goes on the traveller, in its order.

    ``outcomes`` hold each weight gain and reading against what its charge let expect. ``allowances`` hold metal, and
    mean over minimum where the plan predicted it over the outline. ``form`` is what the part is of as it was written,
    empty for a flat one.
    """

    number: str
    state: str
    order: tuple[tuple[str, str], ...]
    photo: str | None
    rings: tuple[Ring, ...]
    form: str
    areas: tuple[tuple[str, str], ...]
    budget: tuple[tuple[str, float], ...]
    requirements: tuple[str, ...]
    allowances: tuple[tuple[str, str], ...]
    steps: tuple[StepFacts, ...]
    hands: tuple[str, ...]
    hazards: tuple[Hazard, ...]
    findings: tuple[str, ...]
    results: tuple[tuple[str, str, str, str], ...]
    marks: tuple[MarkFacts, ...]
    weighings: tuple[str, ...]
    outcomes: tuple[str, ...]
    remarks: tuple[str, ...]
    signatures: tuple[tuple[str, str, str], ...]
    changes: tuple[str, ...]
    seal: str


def facts_of(job: Job) -> JobFacts:
    """Return the facts of a job as it stands."""
    runs = runs_of(job)
    plan = plan_of(job)
    photo = job.latest("photographed")
    return JobFacts(
        number=job.number,
        state=job.state,
        order=_order(job),
        photo=photo.doc["sha256"] if photo else None,
        rings=rings_of(job),
        form=form_as_said(job.measured_part or {}),
        areas=_areas(job),
        budget=_budget(job.area),
        requirements=tuple(_requirement(entry) for entry in job.all_of("required")) + _planned_minima(plan),
        allowances=_allowances(plan),
        steps=steps_of(plan, runs, pieces=job.quantity),
        hands=_hands(plan),
        hazards=hazards_of(plan),
        findings=tuple(_finding_lines(job, runs, plan)),
        results=tuple(_result(entry) for entry in job.all_of("tested")),
        marks=_marks(job),
        weighings=_weighings(job),
        outcomes=tuple(" ".join(outcome_words(one)) for one in outcomes_of(job)),
        remarks=tuple(_signed_words(e) for kind in ("reworked", "remarked") for e in job.all_of(kind)),
        signatures=tuple((e.who, e.at[:16].replace("T", " "), entry_words(e)) for e in job.all_of("signed")),
        changes=_changes(job),
        seal=job.history[-1].digest[:16],
    )  # fmt: skip


def _signed_words(entry: Entry) -> str:
    return f"{entry.at[:10]} {entry.who}: {entry_words(entry)}"


def _order(job: Job) -> tuple[tuple[str, str], ...]:
    opened = job.opened
    rows = [
        ("Part", opened["part"]),
        ("Pieces", str(job.quantity)),
        ("Customer reference", opened["customer"]),
        ("Date", opened["date"]),
        ("Base metal", opened["base"]),
        ("Condition", opened["condition"]),
    ]
    return tuple((label, value) for label, value in rows if value)


def rings_of(job: Job) -> tuple[Ring, ...]:
    """Return the outline of a job's part, its holes after it; nothing where it has none. [mm]"""
    part = job.measured_part
    outline = part.get("outline") if part else None
    if not isinstance(outline, dict) or outline.get("type") != "Polygon":
        return ()
    return tuple([(float(x), float(y)) for x, y in ring] for ring in outline["coordinates"])


def _areas(job: Job) -> tuple[tuple[str, str], ...]:
    part = job.measured_part
    rows: list[tuple[str, str]] = []
    if part is not None:
        form, faces = form_as_said(part), str(part.get("faces", "not stated"))
        rows += [("Form", form)] if form else []
        names = (
            ("Thickness of the part", "thickness", "mm"),
            ("Outline as seen" if form else "One face", "face_area", "cm2"),
            ("Perimeter, holes included", "perimeter", "mm"),
            ("Side walls", "side_wall_area", "cm2"),
            ("Significant surface", "significant_area", "cm2"),
        )
        rows += [(label, show(quantity_from_json(part[name]), unit)) for label, name, unit in names if part.get(name)]
        rows.append(("Plated", PLATED.get(faces, faces)) if form else ("Faces plated", faces))
    if job.area is not None:
        rows.append(("Plated area of one piece", show(job.area, "cm2")))
        if job.quantity > 1:
            rows.append((f"Plated area of {job.quantity} pieces", show(job.area.times(job.quantity), "cm2")))
    return tuple(rows)


def _budget(area: Measured | None) -> tuple[tuple[str, float], ...]:
    """Return the inputs of the area and their share of its variance, largest first, the small ones together."""
    if area is None or area.standard_uncertainty == 0.0:
        return ()
    variance = area.standard_uncertainty**2
    shares = sorted(((name, part * part / variance) for name, part in area.budget.items()), key=lambda item: -item[1])
    if len(shares) <= MOST_SHARES:
        return tuple(shares)
    rest = sum(share for _, share in shares[MOST_SHARES - 1 :])
    return (*shares[: MOST_SHARES - 1], (f"{len(shares) - MOST_SHARES + 1} others", rest))


def _requirement(entry: Entry) -> str:
    minimum = quantity_words(entry, "minimum", "um")
    standard = entry.doc.get("standard") or ""
    said = "; ".join(part for part in (standard, f"minimum {minimum}" if minimum else "") if part)
    return f"{entry.doc['text']} ({said})" if said else str(entry.doc["text"])


def _planned_minima(plan: Mapping[str, Any]) -> tuple[str, ...]:
    lines = []
    for layer in plan.get("layers", []):
        needed, mean = layer.get("minimum_needed"), layer.get("mean_target")
        minimum = f"minimum {needed['value']:.3g} µm on significant surfaces; " if needed else ""
        aim = f"mean {mean['value']:.3g} µm" if mean else "as planned"
        lines.append(f"Planned {layer['metal']}: {minimum}{aim}.")
    return tuple(lines)


def _allowances(plan: Mapping[str, Any]) -> tuple[tuple[str, str], ...]:
    """Return the allowance of each layer by brush, and the passes that it holds after."""
    found = []
    for layer in plan.get("layers", []):
        allowance, brush = layer.get("distribution_allowance"), layer.get("brush")
        if allowance and plan.get("distribution"):
            passes = f" after {show_found(quantity_from_json(brush['passes']))} passes" if brush else ""
            found.append((str(layer["metal"]), f"{show(quantity_from_json(allowance['quantity']), '1')}{passes}"))
    return tuple(found)


def _hands(plan: Mapping[str, Any]) -> tuple[str, ...]:
    """Return strokes, spells and breaks of each layer by brush, and of all together; plans of before hold none."""
    works = [layer["hands"] for layer in plan.get("layers", []) if layer.get("hands")]
    lines = [str(work["words"]) for work in works]
    if len(works) > 1 and not any(work["too_fast"] for work in works):
        time, whole = (sum(work[name]["value"] for work in works) for name in ("time", "whole"))
        lines.append(f"All layers: {time:.0f} min with the tool in hand, {whole:.0f} min with the breaks.")
    return tuple(lines)


ORIGINS = ("UNVERIFIED_FIGURE", "STATED_DEFAULT")
"""Flags that only tell where a figure is from: counted on paper, and named by the plan."""


def _finding_lines(job: Job, runs: tuple[Run, ...], plan: Mapping[str, Any]) -> list[str]:
    measured = job.latest("measured")
    flags = list(measured.doc["line"].get("flags", [])) if measured else []
    bodies = [one for one in (*flags, *plan.get("findings", []), *plan.get("flags", [])) if _of_the_part(job, one)]
    told = [one for one in bodies if one["code"] not in ORIGINS]
    lines = list(dict.fromkeys(_advice(str(one["message"]), str(one["remedy"]), fields_of(one)) for one in told))
    count = len({str(one["message"]) for one in bodies if one["code"] in ORIGINS})
    if count:
        lines.append(f"{count} figure{'s' * (count != 1)} behind the plan are no label's and no coupon's of this shop.")
    return lines + [_advice(f.message, f.remedy, f.fields) for run in runs for f in run.findings]


def _of_the_part(job: Job, flag: Mapping[str, Any]) -> bool:
    """Whether a flag is of the job's own part, or of all of them."""
    part = job.measured_part
    return flag.get("part") is None or part is None or flag["part"] == part.get("id")


def _advice(message: str, remedy: str, fields: Fields) -> str:
    """Return a message with what to do, where that is done at the bench and not by another entry."""
    return message if fields else f"{message} {remedy}"


def _result(entry: Entry) -> tuple[str, str, str, str]:
    doc = entry.doc
    title = METHODS[doc["method"]].title if doc["method"] in METHODS else doc["method"]
    value = quantity_words(entry, "value", "um")
    result = " ".join(part for part in ("" if doc["result"] == "value" else doc["result"], value) if part)
    place = doc["place"]
    if doc["place_mm"]:
        place = f"{place} T{entry.number} at ({doc['place_mm'][0]:g}, {doc['place_mm'][1]:g}) mm".strip()
    return title, result, place, " ".join(part for part in (entry.who, entry.at[:10], doc["remarks"]) if part)


def _marks(job: Job) -> tuple[MarkFacts, ...]:
    made = []
    for entry in job.all_of("defect"):
        geometry = entry.doc["geometry"]
        points = [geometry["coordinates"]] if geometry["type"] == "Point" else geometry["coordinates"][0]
        words = f"{entry.doc['what']} {defect_place(geometry)}"
        ring = [(float(x), float(y)) for x, y in points]
        made.append(MarkFacts(sign=f"D{entry.number}", words=words, points=ring, defect=True))
    for entry in job.all_of("tested"):
        if entry.doc["place_mm"]:
            x, y = entry.doc["place_mm"]
            made.append(MarkFacts(sign=f"T{entry.number}", words=entry_words(entry), points=[(x, y)], defect=False))
    return tuple(made)


def _weighings(job: Job) -> tuple[str, ...]:
    lines = [entry_words(entry) for entry in job.all_of("weighed")]
    if job.gain is not None:
        lines.append(f"gain: {show(job.gain, 'mg')} on all pieces")
    return tuple(lines)


def _changes(job: Job) -> tuple[str, ...]:
    lines = []
    for entry in job.entries:
        for one in entry.corrections:
            what = "withdrawn" if one.withdrawn else ", ".join(one.fields)
            lines.append(f"{one.at[:10]} {one.who}: entry {entry.number} ({entry.kind}): {what}; {one.reason}")
    return tuple(lines)
