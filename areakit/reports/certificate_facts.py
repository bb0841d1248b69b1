"""What a certificate of conformance states, taken from the record as rows of words, and what its file says."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from areakit.errors import FileError
from areakit.plating.requirements import all_requirements
from areakit.records.bottles import Bottle
from areakit.records.codec import quantity_from_json
from areakit.records.entry_words import quantity_words
from areakit.records.job import Entry, Job
from areakit.records.methods import METHODS
from areakit.records.release import minimum_reached, needed_minima, plan_of, readings_of
from areakit.records.runs import Run, runs_of
from areakit.reports.bench_words import exact_setting
from areakit.reports.document import PAPERS
from areakit.reports.job_facts import JobFacts, facts_of
from areakit.units import in_unit, show

_SUBJECT = "areakit certificate "
"""What stands before the code in the file's own description."""
TITLE = "Certificate of conformance"
WITH_EXCEPTIONS = ", with exceptions"
NOT_SAID = "not stated"
Rows = list[list[str]]
_SET = ("voltage", "current", "temperature")


def described(code: str) -> str:
    """Return the description that goes into a certificate's file."""
    return f"{_SUBJECT}{code}"


def read_certificate(data: bytes) -> tuple[str, str, str]:
    """Return code, paper and all words of a certificate's file, blanks left out.

    Raises FileError if it is no PDF, or not a certificate of this kind.
    """
    import pypdfium2

    try:
        document = pypdfium2.PdfDocument(data)
        subject = str(document.get_metadata_value("Subject"))
        width = document[0].get_width()
        words = "".join(document[n].get_textpage().get_text_bounded() for n in range(len(document)))
    except (pypdfium2.PdfiumError, IndexError):
        raise FileError("The file is not a PDF that can be read.", remedy="Give the file of the certificate.") from None
    if not subject.startswith(_SUBJECT):
        raise FileError(
            "The PDF is not a certificate.",
            remedy="Give the file that was made as the certificate of the job.",
            fields={"areakit job certificate": ""},
        )
    paper = min(PAPERS, key=lambda name: abs(PAPERS[name][0] - width))
    return subject.removeprefix(_SUBJECT), paper, "".join(words.split())


def first_difference(said: str, recorded: str) -> tuple[str, str] | None:
    """Return where two texts part, a few letters of each; None where they are the same."""
    if said == recorded:
        return None
    at = next(
        (n for n, (a, b) in enumerate(zip(said, recorded, strict=False)) if a != b), min(len(said), len(recorded))
    )
    start = max(0, at - 12)
    return said[start : at + 12], recorded[start : at + 12]


def statement_of(job: Job, bottles: Mapping[str, Bottle], *, by: str, at: str) -> dict[str, Any]:
    """Return what the certificate of a released job states, as JSON: each section a list of rows of text.

    - ``bottles``: those that the job's runs name.
    - ``by``, ``at``: who writes it and when.
    """
    facts, plan, runs = facts_of(job), plan_of(job), runs_of(job)
    signed = job.all_of("signed")[-1]
    exceptions = exceptions_of(job, signed)
    return {
        "title": f"{TITLE}{WITH_EXCEPTIONS if exceptions else ''}",
        "conforms": _conforms(signed, exceptions),
        "issued": [by, at[:16].replace("T", " ")],
        "order": [list(row) for row in facts.order],
        "area": [list(row) for row in facts.areas],
        "requirements": _requirements(job, plan),
        "work": _work(facts),
        "also": _also(facts),
        "thickness": _thickness(job, plan, runs),
        "tests": [_test(entry) for entry in job.all_of("tested")],
        "mass": list(facts.weighings),
        "bottles": [_bottle(bottles[label]) for label in sorted(bottles)],
        "exceptions": exceptions,
        "corrections": len(facts.changes),
        "released": [signed.who, signed.doc["role"], signed.at[:16].replace("T", " "), signed.doc["statement"]],
    }


def bottle_facts(bottle: Bottle) -> dict[str, str]:
    """Return what a certificate says of a bottle, by name."""
    return {
        "label": bottle.label,
        "solution": bottle.solution,
        "lot": bottle.lot,
        "expiry": bottle.expiry or "",
    }


def _conforms(signed: Entry, exceptions: list[str]) -> str:
    if not exceptions:
        return "What is required below is borne out by the record of this job, without exception."
    return "What is required below is borne out by the record of this job, but for the exceptions named on this page."


def exceptions_of(job: Job, signed: Entry) -> list[str]:
    """Return every point that was open at the release, with who went on and why, and each step begun despite a stop."""
    points = [f"Open at the release: {point}" for point in signed.doc.get("open_points") or ()]
    if points:
        role = f", {signed.doc['role']}" if signed.doc["role"] else ""
        points.append(f"Released all the same by {signed.who}{role}: {signed.doc['despite']}")
    begun = [
        f"{entry.doc['title']} on {entry.doc['at'][:10]}, {entry.who}: {entry.doc['remarks']}"
        for entry in job.all_of("step")
        if "begun despite" in entry.doc["remarks"]
    ]
    return [*points, *begun]


def _requirements(job: Job, plan: Mapping[str, Any]) -> Rows:
    """Return what is asked for, its standard with the edition, and the minimum."""
    rows = [
        [str(e.doc["text"]), e.doc.get("standard") or NOT_SAID, quantity_words(e, "minimum", "um") or "-"]
        for e in job.all_of("required")
    ]
    for layer in plan.get("layers", []):
        needed = layer.get("minimum_needed")
        minimum = exact_setting(in_unit(quantity_from_json(needed), "m").value, "m") if needed else "-"
        named = all_requirements().get(layer.get("requirement") or "")
        where = f"{named.title} ({named.origin.text})" if named else "as planned for this order"
        rows.append([f"{str(layer['metal']).capitalize()} on significant surfaces", where, minimum])
    return rows


def _work(facts: JobFacts) -> Rows:
    """Return the steps that have readings: when, by whom, from which bottle, as set, and the charge."""
    return [
        [
            f"{step.number}  {step.title}",
            f"{run['begun']}, {run['who']}",
            run["bottle"] or "-",
            ", ".join(run[name] for name in _SET if run[name]) or "-",
            run["charge"] or "-",
        ]
        for step in facts.steps
        for run in step.runs
        if _has_readings(run)
    ]


def _has_readings(run: Mapping[str, str]) -> bool:
    return any(run[name] for name in (*_SET, "bottle", "charge"))


def _also(facts: JobFacts) -> list[str]:
    """Return the steps that were recorded without a reading, such as rinses: each with its time."""
    return [
        f"{step.number} {step.title} ({run['begun'][:16]}, {run['who']})"
        for step in facts.steps
        for run in step.runs
        if not _has_readings(run)
    ]


def _thickness(job: Job, plan: Mapping[str, Any], runs: tuple[Run, ...]) -> Rows:
    """Return, by metal: the minimum asked for, the minimum by the charge that was run, and the readings."""
    asked = needed_minima(job, plan)
    metals = [str(layer["metal"]) for layer in plan.get("layers", [])]
    rows = []
    for metal in dict.fromkeys([*metals, *asked]):
        reached = minimum_reached(runs, metal, pieces=job.quantity)
        readings = [_reading(entry) for entry in readings_of(job, plan, metal)]
        rows.append(
            [
                metal,
                exact_setting(asked[metal], "m") if metal in asked else "-",
                show(reached, "um") if reached else NOT_SAID,
                "; ".join(readings) or "no reading",
            ]
        )
    return rows


def _reading(entry: Entry) -> str:
    return " ".join(part for part in (quantity_words(entry, "value", "um"), entry.doc["place"]) if part)


def _test(entry: Entry) -> list[str]:
    doc, known = entry.doc, METHODS.get(entry.doc["method"])
    result = " ".join(
        part
        for part in ("" if doc["result"] == "value" else doc["result"], quantity_words(entry, "value", "um"))
        if part
    )
    who = ", ".join(part for part in (entry.at[:10], entry.who, doc["remarks"]) if part)
    title = ", ".join(part for part in (known.title if known else doc["method"], doc.get("metal")) if part)
    return [title, known.how if known else "-", result, doc["place"] or "-", who]


def _bottle(bottle: Bottle) -> list[str]:
    return [bottle.label, bottle.solution, bottle.metal_name, _lots(bottle) or NOT_SAID, bottle.expiry or NOT_SAID]


def _lots(bottle: Bottle) -> str:
    """Return the lot of a bottle, and those that it was topped up with by now."""
    more = f"topped up with {', '.join(bottle.topped_up)}" if bottle.topped_up else ""
    return ", ".join(part for part in (bottle.lot, more) if part)
