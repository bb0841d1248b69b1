"""A job as text for a terminal."""

from __future__ import annotations

from areakit.cli.page import Page
from areakit.errors import in_shell
from areakit.records.entry_words import entry_words
from areakit.records.job import Entry, Job
from areakit.records.outcome import outcome_words, outcomes_of
from areakit.records.runs import Run, runs_of
from areakit.units import show


def run_lines(run: Run) -> list[str]:
    """Return what a run has reached and what is left, one line each."""
    doc, log = run.step.doc, run.log
    lines = [f"Run {run.step.number}, {doc['title']}: {show(log.charge, 'A.min')}; current now {log.current:g} A."]
    if run.target is not None and run.remaining is not None:
        share = log.charge.value / run.target.value * 100 if run.target.value else 0.0
        aim = run.target.value / 60
        go = show(run.remaining, "A.min") if run.remaining.budget else f"{run.remaining.value / 60:.4g} A·min"
        rest = f"{go} to go" if run.remaining.value > 0 else "the target is passed"
        lines.append(f"Target {aim:.4g} A·min: {share:.0f} % done, {rest}.")
    if run.time_left is not None:
        lines.append(f"At this current: {run.time_left.value / 60:.1f} min more.")
    if run.reached is not None:
        lines.append(
            f"Thickness so far: mean {show(run.reached.mean, 'um')}, minimum {show(run.reached.minimum, 'um')}; "
            f"metal {show(run.reached.mass, 'mg')}."
        )
    elif doc["metal"]:
        lines.append("No thickness: the job has no plan for this metal, or no area.")
    return lines


def show_page(job: Job) -> Page:
    """Return the whole job: the order, where it stands, the runs, the entries."""
    opened = job.opened
    page = Page()
    page.heading(f"Job {job.number} — {opened['part']} ({job.state})")
    rows = [("pieces", str(job.quantity)), ("date", opened["date"])]
    rows += [(name, opened[name]) for name in ("customer", "base", "condition") if opened[name]]
    if job.area is not None:
        rows.append(("plated area of one", show(job.area, "cm2")))
    if job.gain is not None:
        rows.append(("weight gain", show(job.gain, "mg")))
    page.table(rows)
    for run in runs_of(job):
        page.lines(["\n".join(run_lines(run))])
        page.lines(
            [
                f"{finding.severity}: {finding.message} {in_shell(finding.remedy, finding.fields)}"
                for finding in run.findings
            ]
        )
    outcomes = outcomes_of(job)
    if outcomes:
        page.heading("Against the prediction")
        page.lines(["\n".join(outcome_words(one)) for one in outcomes])
    page.heading("Entries")
    page.table(
        [
            (str(e.number), e.at[:16].replace("T", " "), e.who, e.kind, _standing(e) + entry_words(e))
            for e in job.entries
        ],
        header=("no.", "when", "who", "kind", "what"),
    )
    return page


def _standing(entry: Entry) -> str:
    if entry.withdrawn:
        return "(withdrawn) "
    return "(corrected) " if entry.corrections else ""


def history_page(job: Job) -> Page:
    """Return every change: who, when, what, and for corrections the values before and after."""
    page = Page()
    page.heading(f"History of job {job.number}")
    rows = []
    for event in job.history:
        if event.kind == "corrected":
            entry = job.entry(event.doc["entry"])
            made = next(c for c in entry.corrections if c.number == event.sequence)
            changes = [f"{name}: {_short(made.before[name])} → {_short(made.fields[name])}" for name in made.fields]
            words = f"entry {entry.number}: {'withdrawn' if made.withdrawn else '; '.join(changes)} ({made.reason})"
        else:
            first = Entry(number=event.sequence, at=event.at, who=event.who, kind=event.kind, doc=event.doc)
            words = entry_words(first)
        rows.append((str(event.sequence), event.at, event.who, event.kind, words))
    page.table(rows, header=("no.", "when", "who", "kind", "what"))
    return page


def _short(value: object) -> str:
    if isinstance(value, dict) and "value" in value and "unit" in value:
        return f"{value['value']:g} {value['unit']}"
    text = str(value)
    return text if len(text) <= 60 else f"{text[:57]}..."
