"""What a person reads about a measured photo, and where its picture goes."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from areakit.plural import counted

if TYPE_CHECKING:
    from areakit.geometry.surface import Surface
    from areakit.service.measure import MeasureResult


def overlay_paths(overlay: Path | None, paths: list[Path]) -> list[Path | None]:
    """A folder gets one picture a photo; a file name is used as it is where there is one photo."""
    from areakit.service.measured_overlay import overlay_names

    if overlay is None:
        return [None] * len(paths)
    from areakit.errors import FileError

    if len(paths) == 1 and not overlay.is_dir():
        if not (overlay.parent.is_dir() and os.access(overlay.parent, os.W_OK)):  # said before a photo is measured
            raise FileError(
                f"The picture cannot be written to {overlay}.",
                remedy="Name a .jpg or .png file in a folder you can write to.",
            )
        return [overlay]

    try:
        overlay.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FileError(
            f"{overlay} cannot be made a folder: {error.strerror}.", remedy="Name a folder for the overlays."
        ) from error
    return [overlay / name for name in overlay_names(paths)]


def measured_text(result: MeasureResult) -> list[str]:
    """Return what a person reads about one photo."""
    from areakit.records.area_lines import without_words
    from areakit.uncertainty import total
    from areakit.units import show

    if result.error is not None:
        return [f"{result.name}: refused. {result.error.in_shell}"]
    assert result.found is not None
    scale = result.found.scale
    without = without_words(len(result.found.left_out))
    lines = [
        f"{result.name}: {counted(len(result.parts), 'part')}{without}, scale from {scale.mark} {scale.sheet}, "
        f"{1 / scale.mm_per_px:.1f} px/mm, tilt {scale.camera.tilt_deg:.0f}°"
        + (f", lens as checked on {scale.lens}" if scale.lens else "")
    ]
    faces = dict.fromkeys(part.part.faces for part in result.parts)
    plated_head = f"plated ({next(iter(faces))})" if len(faces) == 1 else "plated"
    rows = [("part", "one face", "perimeter", "side walls", plated_head)]
    for part in result.parts:
        outline, surface = part.part.outline, part.surface
        around = total([outline.perimeter_outer, outline.perimeter_holes], "mm")
        wall = show(surface.side_wall, "cm2") if surface.side_wall else "-"
        plated = show(surface.plated, "cm2") + ("" if len(faces) == 1 else f" ({part.part.faces})")
        rows.append((str(part.part_id), show(surface.face, "cm2"), show(around), wall, plated))
    if len(result.parts) > 1:
        whole = total([part.surface.plated for part in result.parts], "mm2")
        rows.append((f"all{without}", "", "", "", show(whole, "cm2")))
    widths = [max(len(row[i]) for row in rows) for i in range(5)]
    lines += ["  " + "  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True)) for row in rows]
    lines += [line for part in result.parts for line in form_lines(part.part_id, part.surface)]
    lines += _edge_lines(result)
    lines.append("  ± is the expanded uncertainty, coverage factor 2 (about 95 %).")
    lines += _notes(result)
    return lines


def form_lines(part_id: int, surface: Surface) -> list[str]:
    """Return what the form of one part found: its surfaces, and the figures behind them; nothing for a flat part."""
    from textwrap import wrap

    from areakit.geometry.surface import grouped_lines
    from areakit.units import show, show_found

    if surface.form is None and not surface.regions:
        return []
    areas = ", ".join(f"{line.name} {show(line.area, 'cm2')}" for line in grouped_lines(surface.lines))
    found = "; ".join(f"{name} {show_found(quantity)}" for name, quantity in surface.figures.items())
    words = "; ".join([surface.form.text if surface.form else "flat", *(one.text for one in surface.regions)])
    told = f" Found: {found}." if found else ""
    return wrap(f"part {part_id} as {words}: {areas}.{told}", 110, initial_indent="  ",
                subsequent_indent="    ")  # fmt: skip


def _edge_lines(result: MeasureResult) -> list[str]:
    """Return how the edges of the parts were made, where somebody said, and what that has in their ±."""
    from areakit.geometry.edge_makes import EDGE, UNKNOWN, edge_make

    lines = []
    for part in result.parts:
        made, plated = edge_make(part.part.outline.edge_make), part.surface.plated
        if made.key != UNKNOWN:
            share = 100 * plated.budget.get(EDGE, 0.0) ** 2 / plated.standard_uncertainty**2
            open_mm = made.open_at(part.part.thickness.value if part.part.thickness else None)
            lines.append(
                f"  Edge of part {part.part_id}: {made.title}, ± {2 * open_mm:g} mm all round, {share:.0f} % of "
                "the variance of its plated area."
            )
    return lines


def _notes(result: MeasureResult) -> list[str]:
    """Say each note once, with the parts that it holds for."""
    from areakit.reports.notes import notes

    return [f"  Note{f' ({note.where})' if note.where else ''}: {note.text}" for note in notes(result.flags)]
