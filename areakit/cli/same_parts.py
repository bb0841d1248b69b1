"""``areakit measure --same-parts``: the same parts in two photos, measured together."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from areakit.cli.entries import save_json

if TYPE_CHECKING:
    from areakit.records.sheets import CopyCheck
    from areakit.service.measure import MeasureRequest
    from areakit.service.same_parts import SameParts


def measure_together(
    paths: list[Path],
    request: MeasureRequest,
    known: CopyCheck | None,
    *,
    overlay: Path | None,
    as_json: bool,
    save: Path | None,
) -> int:
    """Measure, draw the overlay of each photo, print one result, and return the exit code."""
    from areakit.cli.measured_text import measured_text, overlay_paths
    from areakit.service.measured_overlay import write_overlay
    from areakit.service.same_parts import measure_same_parts, same_parts_json

    same = measure_same_parts(paths, request)
    for single, path in zip(same.singles, overlay_paths(overlay, paths), strict=True):
        if known is not None and single.found is not None:
            known.check_sheet(single.found.scale.sheet)
        if path is not None and single.photo is not None:
            write_overlay(single, path, mark=request.mark)
    save_json(save, [same_parts_json(same)])
    if as_json:
        click.echo(json.dumps(same_parts_json(same), ensure_ascii=False))
    else:
        text = [*measured_text(same.result), *compared_text(same)]
        click.echo("\n".join(text), err=same.result.error is not None)
    return same.result.error.exit_code if same.result.error else 0


def compared_text(same: SameParts) -> list[str]:
    """Say how the two photos compare."""
    from areakit.units import show

    if same.combined is None:
        return []
    first, second = same.singles
    lines = [f"  {first.name} against {second.name}, the sheet turned by {same.combined.turned_deg:.0f}°:"]
    for number, one in enumerate(same.combined.comparisons, start=1):
        allowed = 100 * one.difference.expanded_uncertainty / one.first.value
        lines.append(
            f"  part {number}: {show(one.first, 'cm2')} and {show(one.second, 'cm2')}, "
            f"{100 * one.difference.value / one.first.value:+.2f} % apart (expected: within {allowed:.2f} %)"
        )
    for single, answers in zip(same.singles, same.settled, strict=True):
        lines += [
            f"  settled in {single.name} at {one.at} mm: {WHAT[one.code, one.kind]}; {one.how}" for one in answers
        ]
    return lines


WHAT = {
    ("LOOKS_UNDECIDED", "metal"): "metal, no hole",
    ("LOOKS_UNDECIDED", "hole"): "a hole",
    ("BESIDE_UNDECIDED", "metal"): "metal, part of it",
    ("BESIDE_UNDECIDED", "hole"): "no part of it",
    ("JOINT_UNDECIDED", "metal"): "one part, no joint",
    ("STOP_OFF_SEEN", "metal"): "metal, a reflection on it",
}
"""What lies at a place that the other photo settled, by the question and its answer."""
