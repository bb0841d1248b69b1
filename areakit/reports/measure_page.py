"""A small self-contained page on one measured photo: picture, areas, what makes their uncertainty, and the charge."""

from __future__ import annotations

import base64
from collections.abc import Sequence

from areakit.flags import Flag
from areakit.geometry.forms.words import PLATED
from areakit.geometry.outline import Outline
from areakit.geometry.regions import forms_word
from areakit.geometry.surface import Surface
from areakit.plating.plan import Plan
from areakit.records.codec import shown
from areakit.reports.markup import escape, html_page
from areakit.reports.notes import Note, notes
from areakit.uncertainty import Measured
from areakit.units import in_unit, show

_STYLE = """
:root { color-scheme: light; --ink: #17191f; --soft: #5c6270; --line: #d9dce3; --mark: #b0005a; --bar: #8aa4c8; }
body { font: 16px/1.5 system-ui, sans-serif; color: var(--ink); margin: 2rem auto; max-width: 60rem; padding: 0 1rem; }
img { max-width: 100%; border: 1px solid var(--line); }
table { border-collapse: collapse; width: 100%; margin: .5rem 0 1.5rem; }
th, td { text-align: right; padding: .35rem .6rem; border-bottom: 1px solid var(--line); }
th:first-child, td:first-child { text-align: left; }
td { white-space: nowrap; }
.scroll { overflow-x: auto; }
th { color: var(--soft); font-weight: 600; }
.bar { background: var(--bar); height: .8rem; display: inline-block; border-radius: .2rem; float: left; }
.note { border-left: .3rem solid var(--mark); padding: .2rem .8rem; margin: .6rem 0; }
.soft { color: var(--soft); }
"""


def measure_page(
    *,
    title: str,
    overlay: bytes,
    parts: Sequence[tuple[int, Outline, Surface]],
    flags: Sequence[Flag],
    plan: Plan | None,
) -> str:
    """Return the page as HTML.

    - ``overlay``: the overlay picture, JPEG.
    - ``plan``: what the area means in charge.
    """
    picture = base64.b64encode(overlay).decode("ascii")
    body = [
        f"<h1>{escape(title)}</h1>",
        f'<img alt="The photo with the outlines that were found" src="data:image/jpeg;base64,{picture}">',
        "<h2>Areas</h2>",
        _areas(parts),
        '<p class="soft">± is the expanded uncertainty, coverage factor 2 (about 95 %).</p>',
        *(f'<p class="note">{_where(note)}{escape(note.text)}</p>' for note in notes(flags)),
        "<h2>What makes the uncertainty of one face</h2>",
        *(_budget(number, surface.face) for number, _, surface in parts[:4]),
        _charge(plan) if plan is not None else "",
        '<p class="note">Plating uses hazardous solutions. Follow their safety data sheets, local codes and licensed '
        "practice.</p>",
    ]
    return html_page(title, style=_STYLE, body=body)


def _where(note: Note) -> str:
    return f"{escape(note.where.capitalize())}: " if note.where else ""


def _table(header: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    head = "".join(f"<th>{cell}</th>" for cell in header)
    lines = "".join("<tr>" + "".join(f"<td>{cell}</td>" for cell in row) + "</tr>" for row in rows)
    return f'<div class="scroll" tabindex="0"><table><tr>{head}</tr>{lines}</table></div>'


def _holes(outline: Outline) -> str:
    count = len(outline.polygon.interiors)
    return f"{show(outline.perimeter_holes)} ({count})" if count else "none"


def _plated_words(surface: Surface) -> str:
    if surface.form is None and not surface.regions:
        return surface.faces
    return f"{forms_word(surface.form, surface.regions)}, {PLATED[surface.faces]}"


def _areas(parts: Sequence[tuple[int, Outline, Surface]]) -> str:
    rows = [
        (
            str(number),
            f"<b>{show(surface.plated, 'cm2')}</b> ({_plated_words(surface)})",
            show(surface.face, "cm2"),
            show(surface.side_wall, "cm2")
            if surface.side_wall
            else ("-" if surface.form or surface.regions else "thickness not given"),
            show(outline.perimeter_outer),
            _holes(outline),
        )
        for number, outline, surface in parts
    ]
    return _table(("part", "plated", "one face", "side walls", "outer edge", "hole edges"), rows)


def _budget(number: int, face: Measured) -> str:
    shares = sorted(face.budget.items(), key=lambda item: -abs(item[1]))
    largest = max((abs(share) for _, share in shares), default=1.0)
    rows = [
        (
            escape(name),
            f"{100 * abs(share) / face.value:.3f} %",
            f'<span class="bar" style="width:{12 * abs(share) / largest:.2f}rem"></span>',
        )
        for name, share in shares
        if abs(share) > 0.01 * largest
    ]
    return f"<h3>Part {number}</h3>" + _table(("input", "standard uncertainty", ""), rows)


def _charge(plan: Plan) -> str:
    rows = []
    for layer in plan.layers:
        run = "-"
        if layer.brush is not None:
            run = f"{show(shown(layer.brush.mean_current))} for {show(shown(layer.brush.time))}"
        rows.append(
            (
                escape(layer.layer.metal),
                show(shown(layer.minimum)),
                show(shown(layer.mean)),
                show(in_unit(layer.charge, "A.min")),
                show(shown(layer.mass)),
                run,
            )
        )
    header = ("layer", "minimum thickness", "mean thickness", "charge", "metal", "brush on")
    cautions = "".join(
        f"<li>{escape(caution.text)} <span class='soft'>({escape(caution.citation)})</span></li>"
        for caution in plan.cautions
    )
    return f"<h2>Charge, nickel first, then gold</h2>{_table(header, rows)}<h2>Cautions</h2><ul>{cautions}</ul>"
