"""The record of a job as one HTML file that needs nothing else: pictures inside, any script, fit to print."""

from __future__ import annotations

import base64
from collections.abc import Sequence

from areakit.plating.distribution import ThicknessMap
from areakit.plating.strokes import StrokePlan
from areakit.reports.drawing import ruler_figures, ruler_step
from areakit.reports.job_facts import JobFacts, MarkFacts, Ring
from areakit.reports.maps import lanes_svg, thickness_svg
from areakit.reports.markup import escape, html_page
from areakit.reports.step_facts import Hazard, StepFacts, run_line

_STYLE = """
:root { color-scheme: light; --ink: #1c1f26; --soft: #5c6270; --line: #d5d8df; --red: #b3261e; --bar: #5d7ea8; }
* { box-sizing: border-box; }
body { font: 15px/1.45 system-ui, "DejaVu Sans", sans-serif; color: var(--ink); margin: 1.5rem auto; max-width: 62rem;
  padding: 0 1rem; }
h1 { font-size: 1.6rem; margin: 0; border-bottom: 2px solid var(--ink); }
h2 { font-size: 1.1rem; margin: 1.6rem 0 .4rem; }
table { border-collapse: collapse; width: 100%; }
td, th { text-align: left; vertical-align: top; padding: .3rem .5rem; border-bottom: 1px solid var(--line); }
th { color: var(--soft); font-weight: 500; }
.two { display: grid; grid-template-columns: repeat(auto-fit, minmax(18rem, 1fr)); gap: 1rem; align-items: start; }
img, svg { max-width: 100%; height: auto; }
figure { margin: 0; }
.drawing svg { max-width: 38rem; }
img { border: 1px solid var(--line); max-height: 26rem; }
.soft { color: var(--soft); font-size: .85rem; }
.caution { color: var(--red); font-size: .85rem; }
.hazards { color: var(--red); border: 2px solid var(--red); padding: .4rem .8rem; font-size: .85rem; }
.hazards ul { margin: .3rem 0 0; padding-left: 1.2rem; columns: 22rem; }
.bar { background: var(--bar); height: .7rem; display: inline-block; vertical-align: middle; margin-right: .4rem; }
.box { display: inline-block; width: 1rem; height: 1rem; border: 1.5px solid var(--ink); text-align: center;
  line-height: .9rem; }
@media print { body { margin: 0; max-width: none; font-size: 11px; } tr, svg, img { break-inside: avoid; } }
"""


def job_page(
    facts: JobFacts,
    *,
    photo: bytes | None,
    lanes: StrokePlan | None = None,
    thickness: ThicknessMap | None = None,
    printed: str,
) -> str:
    """Return the page. Nothing is loaded from anywhere; text from people is escaped. ``photo`` is a JPEG."""
    body = [
        f'<h1><bdi>Job {escape(facts.number)}</bdi></h1><p class="soft">{escape(facts.state)}</p>',
        _hazards(facts.hazards),
        _pairs(facts.order),
        _pictures(facts, photo),
        _areas(facts),
        _steps(facts.steps),
        *([f'<h2>{_lanes_title(facts)}</h2><div class="drawing">{lanes_svg(lanes)}</div>'] if lanes else []),
        *([f'<h2>Thickness map</h2><div class="drawing">{thickness_svg(thickness)}</div>'] if thickness else []),
        _results(facts),
        _lines("To decide knowingly", facts.findings),
        _sign_off(facts),
        f'<p class="soft">Written {escape(printed)}; record {escape(facts.seal)}.</p>',
    ]
    policy = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"
    head = f'<meta http-equiv="Content-Security-Policy" content="{policy}">'
    return html_page(f"Job {facts.number}", style=_STYLE, body=body, head=head)


def _hazards(hazards: Sequence[Hazard]) -> str:
    told = [f"{one.name} ({one.where}): {one.text}" for one in hazards if one.name]
    lines = "".join(f"<li>{escape(words)}</li>" for words in told)
    general = " ".join(escape(one.text) for one in hazards if not one.name)
    return f'<div class="hazards"><b>Hazards. {general}</b><ul>{lines}</ul></div>'


def _words(text: str) -> str:
    """Return text of a person, kept apart from its surroundings so that its direction does not turn them."""
    return f"<bdi>{escape(text)}</bdi>"


def _lanes_title(facts: JobFacts) -> str:
    return "Stroke lanes, outside laid flat" if facts.form else "Stroke lanes"


def _pairs(rows: Sequence[tuple[str, str]]) -> str:
    cells = "".join(f"<tr><th>{escape(label)}</th><td>{_words(value)}</td></tr>" for label, value in rows)
    return f"<table>{cells}</table>" if rows else ""


def _pictures(facts: JobFacts, photo: bytes | None) -> str:
    parts = []
    if photo is not None:
        data = base64.b64encode(photo).decode("ascii")
        parts.append(f'<img alt="Photo of the part" src="data:image/jpeg;base64,{data}">')
    if facts.rings:
        parts.append(f"<figure>{outline_svg(facts.rings, facts.marks)}</figure>")
    legend = "".join(f"<li>{escape(mark.sign)}: {_words(mark.words)}</li>" for mark in facts.marks)
    return f'<div class="two">{"".join(parts)}</div><ul>{legend}</ul>' if parts else ""


def outline_svg(rings: Sequence[Ring], marks: Sequence[MarkFacts]) -> str:
    """Return the outline with its defects (red) and test places (blue), in millimetres, printed at its true size."""
    places = [*rings[0], *(point for mark in marks for point in mark.points)]
    xs, ys = [x for x, _ in places], [-y for _, y in places]
    unit = max(max(xs) - min(xs), max(ys) - min(ys)) / 100.0
    left, top = min(xs) - 12 * unit, min(ys) - 6 * unit
    wide, tall = max(xs) - left + 10 * unit, max(ys) - top + 9 * unit
    ink = f'fill="#e6e1d6" fill-rule="evenodd" stroke="#1c1f26" stroke-width="{unit / 3:.3f}"'
    body = [f'<path d="{_path(rings)}" {ink}/>']
    body += [_mark(mark, unit) for mark in marks]
    body += _rulers((min(xs), max(xs)), (min(ys), max(ys)), unit)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.2f}mm" height="{tall:.2f}mm" role="img" '
        f'aria-label="Outline with marks" viewBox="{left:.3f} {top:.3f} {wide:.3f} {tall:.3f}">{"".join(body)}</svg>'
    )


def _rulers(across: tuple[float, float], down: tuple[float, float], unit: float) -> list[str]:
    """Return the outline's millimetres along its lower and its left edge, y upwards, as a place is typed."""
    step = ruler_step(12.0 * unit)
    x0, y0 = across[0] - 3 * unit, down[1] + 3 * unit
    ticks, texts = [], []
    for figure in ruler_figures(*across, step):
        ticks.append(f"M{figure:.3f} {y0 - unit:.3f}v{unit:.3f}")
        texts.append(_figure(figure, y0 + 4 * unit, figure, unit, anchor="middle"))
    for figure in ruler_figures(-down[1], -down[0], step):
        ticks.append(f"M{x0:.3f} {-figure:.3f}h{unit:.3f}")
        texts.append(_figure(x0 - unit, -figure + unit, figure, unit, anchor="end"))
    return [f'<path d="{"".join(ticks)}" fill="none" stroke="#667080" stroke-width="{unit / 4:.3f}"/>', *texts]


def _figure(x: float, y: float, figure: float, unit: float, *, anchor: str) -> str:
    size = f'font-size="{3 * unit:.3f}" text-anchor="{anchor}" fill="#667080"'
    return f'<text x="{x:.3f}" y="{y:.3f}" {size}>{figure:g}</text>'


def _path(rings: Sequence[Ring]) -> str:
    return "".join("M" + "L".join(f"{x:.3f} {-y:.3f}" for x, y in ring) + "z" for ring in rings)


def _mark(mark: MarkFacts, unit: float) -> str:
    colour = "#b3261e" if mark.defect else "#1a4d9e"
    x, y = mark.points[0][0], -mark.points[0][1]
    style = f'fill="none" stroke="{colour}" stroke-width="{0.6 * unit:.3f}"'
    if len(mark.points) > 1:
        shape = f'<path d="{_path([mark.points])}" {style.replace("none", colour + "33")}/>'
    elif mark.defect:
        shape = f'<circle cx="{x:.3f}" cy="{y:.3f}" r="{2 * unit:.3f}" {style}/>'
    else:
        r = 2 * unit
        shape = f'<path d="M{x - r:.3f} {y:.3f}h{2 * r:.3f}M{x:.3f} {y - r:.3f}v{2 * r:.3f}" {style}/>'
    place = f'x="{x + 2.5 * unit:.3f}" y="{y - unit:.3f}" font-size="{4 * unit:.3f}"'
    return f'{shape}<text {place} fill="{colour}">{escape(mark.sign)}</text>'


def _areas(facts: JobFacts) -> str:
    if not facts.areas and not facts.requirements:
        return ""
    bars = "".join(
        f'<tr><th>{escape(name)}</th><td><span class="bar" style="width:{max(share * 10, 0.1):.2f}rem"></span>'
        f"{share * 100:.0f} %</td></tr>"
        for name, share in facts.budget
    )
    title = '<p class="soft">What makes the uncertainty of the plated area (share of variance)</p>'
    budget = f"<div>{title}<table>{bars}</table></div>" if bars else ""
    needs = "".join(f"<p>{_words(line)}</p>" for line in facts.requirements)
    note = '<p class="soft">± is the expanded uncertainty, coverage factor 2 (about 95 %).</p>' if facts.areas else ""
    return f'<h2>Area and requirement</h2><div class="two"><div>{_pairs(facts.areas)}</div>{budget}</div>{note}{needs}'


def _steps(steps: Sequence[StepFacts]) -> str:
    if not steps:
        return ""
    rows = "".join(_step(step) for step in steps)
    head = "<tr><th></th><th>step</th><th>set</th><th>read</th></tr>"
    return f"<h2>Steps</h2><table>{head}{rows}</table>"


def _step(step: StepFacts) -> str:
    notes = f'<div class="soft">{escape(" ".join(step.notes))}</div>' if step.notes else ""
    hazards = f'<div class="caution">! {escape(", ".join(step.hazards))}</div>' if step.hazards else ""
    planned = "".join(f"<div>{escape(line)}</div>" for line in step.planned)
    runs = "".join(f"<div>{_words(run_line(run))}</div>" for run in step.runs)
    box = f'<span class="box">{"✓" if step.met else ""}</span>'
    name = f"<b>{escape(step.number)} {_words(step.title)}</b>{notes}{hazards}"
    return f"<tr><td>{box}</td><td>{name}</td><td>{planned}</td><td>{runs}</td></tr>"


def _results(facts: JobFacts) -> str:
    heads = ("test", "result", "place on the part", "who, when, remarks")
    table = _table(heads, facts.results) or "<p>No test is recorded yet.</p>"
    lines = "".join(f"<p>{_words(line)}</p>" for line in facts.remarks)
    mass = f"<p>Mass: {_words('; '.join(facts.weighings))}</p>" if facts.weighings else ""
    return f"<h2>Results</h2>{table}{mass}{lines}{_lines('Against the prediction', facts.outcomes)}"


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Return a table of words; nothing where it has no rows."""
    head = "".join(f"<th>{one}</th>" for one in heads)
    body = "".join("<tr>" + "".join(f"<td>{_words(cell)}</td>" for cell in row) + "</tr>" for row in rows)
    return f"<table><tr>{head}</tr>{body}</table>" if rows else ""


def _lines(title: str, texts: Sequence[str]) -> str:
    items = "".join(f"<li>{_words(text)}</li>" for text in texts)
    return f"<h2>{escape(title)}</h2><ul>{items}</ul>" if items else ""


def _sign_off(facts: JobFacts) -> str:
    signed = _table(("name", "date and time", "statement"), facts.signatures) or "<p>Not signed yet.</p>"
    changes = _lines("Corrections; the record keeps what stood before", facts.changes)
    return f"<h2>Sign-off</h2>{signed}{changes}"
