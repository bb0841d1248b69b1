"""``areakit demo``: the main job on a photo that comes with areakit."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from areakit.cli.command import Command

if TYPE_CHECKING:
    from areakit.service.demo import Demo


@click.command(cls=Command, exits={3: "the demo photo is one that is refused"})
@click.option("--photo", "name", default="pierced-badge", show_default=True, metavar="NAME", help="Which demo photo.")
@click.option("--list", "list_photos", is_flag=True, help="List the demo photos.")
@click.option(
    "--output",
    default=Path("areakit-out"),
    show_default=True,
    metavar="FOLDER",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder for the overlay and the report.",
)
def command(name: str, list_photos: bool, output: Path) -> None:
    """Measure a demo photo, and turn its area into nickel and gold.

    The demo photos are renders, so their true areas are known. The thicknesses are an invented job.

    \b
    Examples:
      areakit demo
      areakit demo --photo thick-bracket --output bracket
    """
    from areakit.service.demo import demo_names, run_demo

    if list_photos:
        click.echo("\n".join(demo_names()))
        return
    demo = run_demo(name)
    folder = _folder(output)
    from areakit.cli.measured_text import measured_text
    from areakit.service.measured_overlay import write_overlay

    overlay = folder / f"{name}-overlay.jpg"
    if demo.result.photo is not None:
        write_overlay(demo.result, overlay)
    click.echo("\n".join(measured_text(demo.result)))
    if demo.plan is not None:
        click.echo("\n".join(_beyond(demo)))
        report = folder / f"{name}-report.html"
        _write_report(demo, overlay, report)
        click.echo(f"\nOverlay: {overlay}\nReport:  {report}")
    else:
        click.echo(f"\nOverlay: {overlay}")
    sys.exit(demo.result.error.exit_code if demo.result.error else 0)


def _folder(output: Path) -> Path:
    from areakit.errors import FileError

    try:
        output.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FileError(
            f"{output} cannot be made a folder: {error.strerror}.", remedy="Name another folder with --output."
        ) from error
    return output


def _beyond(demo: Demo) -> list[str]:
    from areakit.records.codec import shown
    from areakit.units import in_unit, show

    assert demo.plan is not None
    assert demo.plated is not None
    which = "of one face" if demo.request.form is None else "all over"
    areas = [f"{area / 100:.3f} cm²" for area in demo.true_areas_mm2]
    lines = [f"\nTrue area {which} (known, since the photo is a render): {', '.join(areas)}"]
    lines.append(f"\nTo plate {show(demo.plated, 'cm2')} by brush, nickel first, then gold:")
    for layer in demo.plan.layers:
        metal = layer.layer.metal
        lines.append(
            f"  {metal:6}  {show(shown(layer.minimum)):>18} minimum, "
            f"{show(in_unit(layer.charge, 'A.min')):>20}, {show(shown(layer.mass)):>16} of {metal}"
        )
        if layer.brush is not None:
            lines[-1] += f", {show(shown(layer.brush.mean_current))} for {show(shown(layer.brush.time))}"
    lines.append("  The whole plan with origins and cautions: areakit plan --help")
    lines.append(
        "  Plating uses hazardous solutions: follow the safety data sheets, local codes and licensed practice."
    )
    return lines


def _write_report(demo: Demo, overlay: Path, report: Path) -> None:
    from areakit.output import write_whole
    from areakit.reports.measure_page import measure_page

    page = measure_page(
        title=f"Demo: {demo.path.stem}",
        overlay=overlay.read_bytes(),
        parts=[(part.part_id, part.part.outline, part.surface) for part in demo.result.parts],
        flags=demo.result.flags,
        plan=demo.plan,
    )
    write_whole(report, page.encode())
