"""What a notebook shows of an answer: HTML with its pictures inside; no script, nothing from anywhere else."""

from __future__ import annotations

from collections.abc import Sequence

from areakit.costing.quote import Quote
from areakit.costing.verdict import Verdict
from areakit.errors import in_python
from areakit.flags import Flag
from areakit.geometry.export import region_path
from areakit.geometry.faces import flat_face, masks_of
from areakit.geometry.features import Region
from areakit.geometry.forms.words import PLATED
from areakit.geometry.masking import face_regions
from areakit.geometry.part import Part
from areakit.geometry.regions import forms_word
from areakit.geometry.surface import Surface
from areakit.plating.plan import Plan, PlannedLayer
from areakit.plural import counted
from areakit.records.codec import shown
from areakit.reports.markup import escape
from areakit.reports.notes import notes
from areakit.uncertainty import Measured
from areakit.uncertainty import total as summed
from areakit.units import in_unit, show

_SHEET = "background:#fff;color:#1d2530;padding:10px 14px;font:14px/1.45 system-ui,sans-serif;max-width:68em"
_CELL = "padding:3px 12px 3px 0;border-bottom:1px solid #d9dce3;background:#fff;color:#1d2530;vertical-align:top"
_NOTE = "border-left:4px solid #b0005a;padding:1px 9px;margin:6px 0"
_SOFT = "color:#5c6270"
_INK, _PLATED, _BARE, _SIGNIFICANT = "#1d2530", "#f3cf73", "#e9ebee", "#1f5fbf"
_LARGEST_PX, _SMALLEST_PX = 230.0, 24.0
_MOST_PARTS = 24
_STATED = "± is the expanded uncertainty, coverage factor 2 (about 95 %)."
_FACES = {
    "one": "front",
    "both": "both faces",
    "all": "all over",
    "walls": "side walls",
    "front-and-edges": "front and edges",
}

Row = tuple[int, Part, Surface]


def parts_view(title: str, parts: Sequence[Row], *, total: Measured | None, flags: Sequence[Flag]) -> str:
    """Return pictures, areas and cautions of parts.

    - ``total``: plated area of all together, where that says more than the parts. [mm2]
    - ``flags``: each is said once, with the parts that it holds for.
    """
    rows = [
        (
            str(number),
            show(surface.face, "cm2"),
            show(summed([part.outline.perimeter_outer, part.outline.perimeter_holes], "mm")),
            show(surface.side_wall, "cm2")
            if surface.side_wall
            else ("-" if part.form or part.regions else "thickness not given"),
            f"{forms_word(part.form, part.regions)}, {PLATED[part.faces]}"
            if part.form or part.regions
            else _FACES.get(surface.faces, surface.faces),
            f"<b>{show(surface.plated, 'cm2')}</b>",
        )
        for number, part, surface in parts
    ]
    if total is not None:
        rows.append(("all", "", "", "", "", f"<b>{show(total, 'cm2')}</b>"))
    header = ("part", "one face", "perimeter", "side walls", "plated faces", "plated area")
    return _sheet(title, _pictures(parts), _table(header, rows), _soft(_STATED), *_notes(flags))


def plan_view(plan: Plan) -> str:
    """Return layers, findings and cautions of a plan."""
    order = plan.order
    rows = []
    for one in plan.layers:
        rows.append(
            (
                escape(one.layer.metal),
                show(shown(one.minimum)),
                show(shown(one.mean)),
                show(in_unit(one.charge, "A.min")),
                show(shown(one.mass)),
                _run_words(one),
            )
        )
    words = f"{order.process.title}: {show(order.area, 'cm2')} a piece, {counted(order.bench.pieces, 'piece')}"
    run_words = "brush on" if order.process.method == "brush" else "one load"
    header = ("layer", "minimum thickness", "mean thickness", "charge a piece", "metal a piece", run_words)
    findings = [_note(f"{one.severity}: {one.message} {in_python(one.remedy, one.fields)}") for one in plan.findings]
    cautions = [escape(one.text) for one in plan.cautions]
    return _sheet(
        words,
        _table(header, rows),
        _soft(_STATED),
        *findings,
        *_notes(plan.flags),
        f"<b>Cautions</b>{_list(cautions)}",
    )


def _run_words(planned: PlannedLayer) -> str:
    brush, tank = planned.brush, planned.tank
    if brush is not None:
        passes = f"{brush.passes.value:.0f} passes"
        return f"{show(brush.mean_current)} on average for {show(shown(brush.time))}, {passes}"
    return f"{show(shown(tank.current))} for {show(shown(tank.time))}" if tank else "current density not known"


def quote_view(quote: Quote) -> str:
    """Return lines, price and terms of a quote."""
    from areakit.costing.prices import money_words
    from areakit.reports.quote_words import basis_words, layer_words, price_line, terms

    rows = [
        (escape(line.title), escape(money_words(line.amount, quote.currency)), escape(basis_words(line, quote)))
        for line in quote.lines
    ]
    return _sheet(
        price_line(quote),
        _list([escape(words) for words in layer_words(quote)]),
        _table(("line", "amount", "how it comes about"), rows),
        _list([escape(words) for words in terms(quote)]),
        *_notes(quote.flags),
    )


def verdict_view(verdict: Verdict) -> str:
    """Return every comparison of a verdict, and what would explain a disagreement."""
    from areakit.costing.words import (
        agreement_words,
        error_words,
        explanation_words,
        floor_words,
        gap_words,
        headline,
        value_words,
    )

    rows = [
        (escape(one.title), *map(escape, value_words(one)), error_words(one.normalised_error), escape(outcome))
        for one in verdict.comparisons
        for outcome in [agreement_words(one) if one.decides else f"for comparison: {agreement_words(one)}"]
    ]
    told = [floor_words(verdict.floor)] if verdict.floor is not None else []
    told += gap_words(verdict)
    return _sheet(
        f"{verdict.claims.name}: {headline(verdict)}",
        _table(("compared", "claimed", "expected", "normalised error", "outcome"), rows),
        *map(_note, told),
        _list([escape(explanation_words(one, verdict)) for one in verdict.explanations]),
    )


def _pictures(parts: Sequence[Row]) -> str:
    """Return the front of each part, all to one scale, smaller ones no less than readable."""
    if not parts:
        return ""
    longest = max(max(_size(part)) for _, part, _ in parts)
    found = [_picture(number, part, _LARGEST_PX / longest) for number, part, _ in parts[:_MOST_PARTS]]
    left = len(parts) - len(found)
    more = _soft(f"and {left} more, in the table") if left > 0 else ""
    return f'<div style="display:flex;flex-wrap:wrap;gap:14px;align-items:flex-end">{"".join(found)}</div>{more}'


def _picture(number: int, part: Part, scale: float) -> str:
    """Return one front with its number and its two sizes; ``scale`` is in px per mm."""
    base = part.outline.polygon
    scale = max(scale, _SMALLEST_PX / max(_size(part)))
    left, _, _, high = base.bounds
    wide, tall = (size * scale for size in _size(part))
    shapes = [_shape(base, scale, _BARE)]
    polygon, _ = flat_face(part, "front")
    if polygon is not None and "front" in part.sides:
        margin = part.overspill.value if part.overspill is not None else 0.0
        shapes.append(_shape(face_regions(polygon, masks_of(part, "front"), margin).free, scale, _PLATED))
    if part.significant is not None:
        shapes.append(_shape(part.significant, scale, "none", line=_SIGNIFICANT))
    words = f"{_size(part)[0]:.4g} × {_size(part)[1]:.4g} mm"
    return (
        f'<figure style="margin:0"><svg xmlns="http://www.w3.org/2000/svg" role="img" width="{wide + 4:.1f}" '
        f'height="{tall + 4:.1f}" viewBox="{left * scale - 2:.2f} {-high * scale - 2:.2f} {wide + 4:.2f} '
        f'{tall + 4:.2f}"><title>Outline of part {number}, {words}</title>{"".join(shapes)}</svg>'
        f'<figcaption style="{_SOFT}">{number}: {words}</figcaption></figure>'
    )


def _shape(region: Region, scale: float, fill: str, *, line: str = _INK) -> str:
    return (
        f'<path d="{region_path(region, scale)}" fill="{fill}" fill-rule="evenodd" stroke="{line}" stroke-width="1"/>'
    )


def _size(part: Part) -> tuple[float, float]:
    """Return width and height of a part. [mm]"""
    left, low, right, high = part.outline.polygon.bounds
    return right - left, high - low


def _sheet(title: str, *blocks: str) -> str:
    return f'<div style="{_SHEET}"><p style="margin:0 0 8px"><b>{escape(title)}</b></p>{"".join(blocks)}</div>'


def _table(header: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Return a table; cells are HTML already."""
    head = "".join(f'<th style="{_CELL};text-align:left">{escape(cell)}</th>' for cell in header)
    body = "".join(
        "<tr>" + "".join(f'<td style="{_CELL};{_wrapping(cell)}">{cell}</td>' for cell in row) + "</tr>" for row in rows
    )
    table = f'<table style="border-collapse:collapse;margin:8px 0;background:#fff"><tr>{head}</tr>{body}</table>'
    return f'<div style="overflow-x:auto">{table}</div>'


def _wrapping(cell: str) -> str:
    """A figure stays on one line with its unit; only sentences wrap."""
    return f"text-align:left;white-space:{'nowrap' if len(cell) < 36 else 'normal'}"


def _list(items: Sequence[str]) -> str:
    return f"<ul style='margin:4px 0'>{''.join(f'<li>{item}</li>' for item in items)}</ul>" if items else ""


def _soft(words: str) -> str:
    return f'<p style="{_SOFT};margin:4px 0">{escape(words)}</p>'


def _note(words: str) -> str:
    return f'<p style="{_NOTE}">{escape(words)}</p>'


def _notes(flags: Sequence[Flag]) -> list[str]:
    """Say each note once, with the parts that it holds for."""
    return [
        _note(f"Note{f' ({one.where})' if one.where else ''}: {one.message} {in_python(one.remedy, one.fields)}")
        for one in notes(flags)
    ]
