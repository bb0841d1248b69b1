"""``areakit surface``: surfaces from a drawing or from typed shapes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from areakit.cli.command import OUTPUT, PHOTO, Command
from areakit.cli.entries import read_text, save_json, save_option, write_new
from areakit.cli.photo import EDGE_FORM_HELP, FORM_HELP, region_option
from areakit.plural import counted

if TYPE_CHECKING:
    from areakit.geometry.features import Side
    from areakit.service.surface import FoundPart, SurfaceResult

_FACES = ["front", "back", "both", "walls", "all", "foil", "one"]


@click.command(cls=Command, exits=PHOTO)
@click.argument("drawing", required=False, type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--from", "source", metavar="FILE", help="Instead of a drawing: what areakit measure --json printed; - is stdin."
)
@click.option(
    "--shape", "shapes", multiple=True, metavar="SHAPE", help='Typed shape. Example: --shape "disk 30 ± 0.1 mm"'
)
@click.option("--plus", multiple=True, metavar="SHAPE", help='Plane shape joined to it. Example: --plus "disk 8 mm"')
@click.option(
    "--minus", multiple=True, metavar="SHAPE", help='Hole in it. Example: --minus "disk 3 mm, count 4, circle 20 mm"'
)
@click.option("--count", default=1, show_default=True, metavar="N", help="Number of equal pieces.")
@click.option("--unit", metavar="UNIT", help="Unit of a drawing that does not state its own. Example: --unit mm")
@click.option(
    "--sagitta",
    default="",
    metavar="LENGTH",
    help='How far a chord may lie from its curve; below 0.01 % of the area unless said. Example: --sagitta "0.001 mm"',
)
@click.option(
    "--edge",
    default="",
    metavar="LENGTH",
    help='How far the real edge may lie from the drawing. Example: --edge "0.03 mm"',
)
@click.option("--form", default="", metavar="FORM", help=FORM_HELP)
@click.option(
    "--folds",
    default="",
    metavar="FILE|LAYER",
    help="Fold lines of folded sheet: a file, or a layer of the drawing. Of one layer: --form "
    '"folded, radius 1 mm" --folds "layer folds". Example: --folds folds.dxf',
)
@region_option(", or a layer of the drawing")
@click.option("--edge-form", default="", metavar="FORM", help=EDGE_FORM_HELP)
@click.option("--thickness", default="", metavar="T", help='Of the part. Example: --thickness "0.8 ± 0.02 mm"')
@click.option("--faces", type=click.Choice(_FACES), help="What is plated; front unless said, solids all over.")
@click.option("--mask", "keep", multiple=True, metavar="FILE|SHAPE", help="Plate only inside this region.")
@click.option(
    "--stop-off",
    multiple=True,
    metavar="FILE|SHAPE",
    help='Do not plate inside this region; "hole 2" plugs that hole of the drawing, wall and all.',
)
@click.option(
    "--mask-sides",
    default="front",
    show_default=True,
    type=click.Choice(["front", "back", "both"]),
    help="Where --mask and --stop-off lie.",
)
@click.option(
    "--mask-edge",
    default="",
    metavar="LENGTH",
    help="How far their edges may lie from where they should; 0.2 mm unless said.",
)
@click.option(
    "--overspill",
    default="",
    metavar="LENGTH",
    help='How far plating spreads past their edges. Example: --overspill "0.3 mm"',
)
@click.option("--significant", default="", metavar="FILE|SHAPE", help="The significant surface on the front.")
@click.option("--recess", multiple=True, metavar="FILE|SHAPE", help="A blind recess or engraved region.")
@click.option("--recess-depth", default="", metavar="LENGTH", help='Its depth. Example: --recess-depth "0.3 ± 0.05 mm"')
@click.option("--draft", default="", metavar="ANGLE", help='Draft of the walls from upright. Example: --draft "3 deg"')
@click.option("--bevel", default="", metavar="H x ANGLE", help='Of the front edge. Example: --bevel "0.5 mm x 45 deg"')
@click.option(
    "--dome-height",
    default="",
    metavar="LENGTH",
    help='Rise of a domed front above its rim. Example: --dome-height "2 mm"',
)
@click.option("--hollow", is_flag=True, help="The back follows the dome.")
@click.option(
    "--rim",
    default="",
    metavar="W x H",
    help='Raised rim: its width, and its height above the field. Example: --rim "1 mm x 0.3 mm"',
)
@click.option(
    "--relief",
    default="",
    metavar="KIND|FACTOR",
    help='Of the front: struck, engraved, coin, or a factor. Example: --relief "1.08 ± 0.02"',
)
@click.option("--back-relief", default="", metavar="KIND|FACTOR", help="Of the back, in the same words.")
@click.option(
    "--wall-relief",
    default="",
    metavar="KIND|FACTOR",
    help="Of the walls: thread, knurl, reeded, or a factor. Example: --wall-relief thread",
)
@click.option(
    "--bend-radius",
    default="",
    metavar="LENGTH",
    help='Radius of the front of a bent strip that was drawn as seen. Example: --bend-radius "9 ± 0.1 mm"',
)
@click.option(
    "--bend-axis", default="90 deg", show_default=True, metavar="ANGLE", help="Direction of the axis of the bend."
)
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
    result = find_surfaces(_request(given), measured=measured)
    if export is not None:
        from areakit.geometry.export import export_outlines

        write_new(export, export_outlines([one.part.outline.polygon for one in result.parts], export))
    if picture is not None:
        from areakit.reports.surface_drawing import surface_drawing
        from areakit.service.surface import part_rows

        write_new(picture, surface_drawing(part_rows(result)).encode())
    if as_json or save:
        body = surface_json(result)
        save_json(save, [body])
    if as_json:
        import json

        click.echo(json.dumps(body, ensure_ascii=False, indent=2))
        return
    click.echo("\n".join(_text(result)))


def _request(given: dict[str, Any]) -> Any:
    from areakit.service.part_description import SurfaceRequest

    relief: dict[Side, str] = {
        "front": given.pop("relief"),
        "back": given.pop("back_relief"),
        "wall": given.pop("wall_relief"),
    }
    given["faces"] = given["faces"] or ""
    return SurfaceRequest(relief=relief, **given)


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
    for caution in result.flags:
        lines.append(f"Note: {caution.message} {caution.remedy}")
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
