"""``areakit surface``: surfaces from a drawing or from typed shapes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from areakit.cli.command import OUTPUT, PHOTO, Command
from areakit.cli.entries import read_text, save_json, save_option, write_new
from areakit.cli.options import options_of, said
from areakit.errors import in_shell
from areakit.plural import counted
from areakit.service.surface_request import SurfaceRequest

if TYPE_CHECKING:
    from areakit.service.surface import FoundPart, SurfaceResult


@click.command(cls=Command, exits=PHOTO)
@click.argument("drawing", required=False, type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--from", "source", metavar="FILE", help="Instead of a drawing: what areakit measure --json printed; - is stdin."
)
@options_of(SurfaceRequest)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object: mm2, mm.")
@save_option
@click.option("--drawing", "picture", metavar="PATH", type=OUTPUT, help="Write a labelled drawing, as SVG.")
@click.option(
    "--export",
    metavar="PATH",
    type=OUTPUT,
    help="Write the outline, by its suffix .svg, .dxf, .geojson or .wkt.",
)
def command(**given: Any) -> None:
    """Find the surfaces of a part from a DRAWING (SVG, DXF, WKT, GeoJSON, PDF), typed shapes, or a measured photo.

    Shapes: disk, ring, rectangle, square, hexagon, polygon, oval, slot; solids: washer, bar, tube, wire, cylinder,
    sphere, cap, cone. Areas have their expanded uncertainty (coverage factor 2); ± behind a size is its tolerance.

    \b
    Examples:
      areakit surface badge.svg --thickness "0.8 mm" --faces all
      areakit surface --from badge.json --stop-off "disk 9 mm, at 75 70 mm" --mask-sides back --drawing badge.svg
      areakit surface --shape "disk 30 mm ± 0.1 mm" --minus "disk 6 mm ± 0.1 mm" --thickness "1.5 mm" --faces all
      areakit surface --form "tube, diameter 10 ± 0.1 mm, bore 8 ± 0.1 mm, length 50 ± 0.5 mm, reach 8 mm"
      areakit surface leaf.dxf --thickness "0.8 mm" --region "layer stem: form round, ends flat"
      areakit surface --shape "washer 16 x 8.4 x 1.6 mm" --count 200
    """
    from areakit.service.surface import find_surfaces, surface_json

    as_json, save = given.pop("as_json"), given.pop("save")
    picture, export = given.pop("picture"), given.pop("export")
    measured = read_text(given.pop("source"))
    result = find_surfaces(SurfaceRequest(**said(given)), measured=measured)
    if export is not None:
        from areakit.geometry.export import export_outlines

        write_new(export, export_outlines([one.part.outline.polygon for one in result.parts], export))
    if picture is not None:
        from areakit.reports.surface_drawing import surface_drawing

        rows = [(f"Part {one.part_id}", one.part, one.surface) for one in result.parts]
        write_new(picture, surface_drawing(rows).encode())
    if as_json or save:
        body = surface_json(result)
        save_json(save, [body])
    if as_json:
        import json

        click.echo(json.dumps(body, ensure_ascii=False, indent=2))
        return
    click.echo("\n".join(_text(result)))


def _text(result: SurfaceResult) -> list[str]:
    from areakit.records.area_lines import without_words
    from areakit.units import show

    lines: list[str] = []
    for one in result.parts:
        lines += _part_text(one)
    without = without_words(result.regions_left_out)
    if len(result.parts) > 1 or result.count > 1 or without:
        pieces = f"{result.count} × " if result.count > 1 else ""
        lines += [
            f"All together ({pieces}{counted(len(result.parts), 'part')}{without}): {show(result.plated, 'cm2')}",
            "",
        ]
    if result.sagitta_mm is not None:
        lines.append(f"Curves of the drawing were followed to {result.sagitta_mm:.2g} mm.")
    for note in result.flags:
        lines.append(f"Note: {note.message} {in_shell(note.remedy, note.fields)}")
    return lines


def _part_text(one: FoundPart) -> list[str]:
    from textwrap import wrap

    from areakit.geometry.surface import grouped_lines
    from areakit.units import show, show_found

    surface = one.surface
    rows: list[tuple[str, str, str]] = [
        (line.name, show(line.area), line.basis if line.plated else "not plated")
        for line in grouped_lines(surface.lines)
    ]
    rows.append(("plated area", show(surface.plated), "k = 2"))
    if surface.significant is not None:
        rows.append(("significant surface", show(surface.significant), "k = 2"))
    wide, long = max(len(row[0]) for row in rows), max(len(row[1]) for row in rows)
    shares = ", ".join(f"{100 * share:.1f} % {basis}" for basis, share in surface.shares.items() if share)
    budget = sorted(surface.plated.budget.items(), key=lambda item: -abs(item[1]))
    lines = [f"Part {one.part_id}, plated: {surface.faces}"]
    lines += [f"  {name:{wide}}  {area:>{long}}  {basis}" for name, area, basis in rows]
    lines.append(f"  of it {shares}" if shares else "  nothing is plated")
    if budget:
        words = "standard shares: " + ", ".join(f"{name} {abs(share):.2g} mm²" for name, share in budget)
        lines += wrap(words, 110, initial_indent="  ", subsequent_indent="    ")
    if surface.figures:
        found = "; ".join(f"{name} {show_found(figure)}" for name, figure in surface.figures.items())
        lines += wrap(f"found: {found}", 110, initial_indent="  ", subsequent_indent="    ")
    return [*lines, ""]
