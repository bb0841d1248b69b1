"""A job as JSON, and lists of jobs as JSON and CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from typing import Any

from areakit.records.codec import picked, quantity_json
from areakit.records.event import event_json
from areakit.records.job import Job
from areakit.records.outcome import outcome_json, outcomes_of
from areakit.records.runs import run_json, runs_of
from areakit.records.spreadsheet import as_text

SCHEMA = "areakit.job/1"
_ORDERED = ("date", "customer", "part")
SUMMARY = ("number", *_ORDERED, "quantity", "base", "state", "area_mm2", "area_expanded_mm2", "entries")
_ENTRY = ("number", "at", "who", "kind", "withdrawn", "doc", "corrections")


def job_json(job: Job) -> dict[str, Any]:
    """Return a whole job: order, state, runs, outcomes, entries with their corrections, and every event."""
    return {
        "schema": SCHEMA,
        **picked(job, "number", "state", "last", "area"),
        "order": dict(job.opened),
        "gain": quantity_json(job.gain) if job.gain else None,
        "runs": [run_json(run) for run in runs_of(job)],
        "outcomes": [outcome_json(one) for one in outcomes_of(job)],
        "entries": [picked(entry, *_ENTRY) for entry in job.entries],
        "history": [event_json(event) for event in job.history],
    }


def summary_json(job: Job) -> dict[str, Any]:
    """Return a job in one flat row."""
    opened = job.opened
    return {
        "number": job.number,
        **{name: opened[name] for name in _ORDERED},
        "quantity": job.quantity,
        "base": opened["base"],
        "state": job.state,
        "area_mm2": job.area.value if job.area else None,
        "area_expanded_mm2": job.area.expanded_uncertainty if job.area else None,
        "entries": job.last,
    }


def summary_csv(jobs: Iterable[Job]) -> str:
    """Return jobs as CSV for a spreadsheet; text that it would take for a formula is led by an apostrophe."""
    page = io.StringIO()
    writer = csv.DictWriter(page, SUMMARY, lineterminator="\n")
    writer.writeheader()
    for job in jobs:
        writer.writerow({name: as_text(value) for name, value in summary_json(job).items()})
    return page.getvalue()
