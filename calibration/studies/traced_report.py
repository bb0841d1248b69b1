"""The summary of the path-traced study as Markdown, in the words of the accuracy study."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from calibration.studies.accuracy_report import (
    GROUPS,
    groups_table,
    perimeter_table,
    refusals_table,
    silent_table,
    table,
)
from calibration.studies.accuracy_rows import GROSS, OUTLINE_FLAGS, Row
from calibration.studies.accuracy_summary import figures, strata
from calibration.studies.traced_rows import TracedRow
from calibration.studies.traced_scenes import EVEN

METHOD = """\
Made by `python -m calibration.studies.traced`: {scenes} path-traced photos, seeds {first} to {last}, of which
{measured} were measured and {refused} refused; rendered by {renderer} with {rays} rays a pixel at {size} megapixels.
Shapes, sizes, poses, lens and sensor are drawn as in the accuracy study; light comes from a room with a field, a desk
lamp or an overcast sky, and all shade, shadow, glare and mirroring from the physics of the renderer, metals by their
optical constants. The truth is the drawn polygon. Thickness (0.02 mm and 2 %) and check lengths (0.1 mm) were entered
wrongly by just the uncertainty stated for them. Edges are sharp, sheets flat, and no pixel colour is interpolated.
The unevenness of the shine, meant for the face, comes out many times too strong on upright walls, which carry dark and
bright specks from it; lamplight thrown on the sheet by mirror-like walls is grainy."""
IDEAL = """\
A foil that only scatters, in even light, through a lens and a point spread but without noise, tone curve, sharpening
or loss of light in the corners; thickness and check lengths entered as they are. Drawn: the area as the ray tracer sees
it, from its share of each pixel. Both should be 0. What `python -m calibration.studies.traced_ideal` finds as well, in
the same scenes drawn by exact coverage, belongs to point spread, JPEG and reading; the rest to the renderer, the foil's
own shadow included."""


def summary_markdown(rows: Sequence[TracedRow]) -> str:
    """Return the whole summary."""
    ideal = [row for row in rows if row.light == EVEN]
    judged = [row for row in rows if row.light != EVEN]
    parts = ["# How accurate an area from a path-traced photo is"]
    if judged:
        groups = {
            "set": _sets(judged),
            **strata(judged, also=("light",)),
            "light and field": _light_and_window(judged),
        }
        counted = f"An error of more than {GROSS:g} times U counts, unless one of these flags is there: "
        parts += [
            _method(judged),
            f"## By group\n\n{GROUPS}",
            *(f"### By {kind}\n\n{groups_table(members)}" for kind, members in groups.items()),
            f"## Outer perimeter\n\n{perimeter_table(judged)}",
            f"## Truth outside the stated uncertainty\n\n{_missed(judged)}",
            f"## Refused\n\n{refusals_table(judged)}",
            f"## Gross errors without a word\n\n{counted}{', '.join(sorted(OUTLINE_FLAGS))}.\n\n{silent_table(judged)}",
        ]
    if ideal:
        parts.append(f"## The renderer checked\n\n{IDEAL}\n\n{_ideal_table(ideal)}")
    if judged:
        parts.append(f"## Every scene\n\n{_scenes(judged)}")
    return "\n\n".join(parts) + "\n"


def _method(rows: Sequence[TracedRow]) -> str:
    whole, seeds = figures(rows), [row.seed for row in rows]
    return METHOD.format(
        scenes=whole.scenes,
        first=min(seeds),
        last=max(seeds),
        measured=whole.measured,
        refused=whole.refused,
        renderer=", ".join(sorted({" ".join(row.renderer.split()[:2]) for row in rows})),
        rays=" or ".join(map(str, sorted({row.rays for row in rows}))),
        size=f"{np.median([row.width_px * row.height_px for row in rows]) / 1e6:.0f}",
    )


def _sets(rows: Sequence[Row]) -> dict[str, list[Row]]:
    return {
        "all": list(rows),
        "good scenes": [row for row in rows if row.good],
        "no flag on the outline": [row for row in rows if not OUTLINE_FLAGS & set(row.flags.split(";"))],
    }


def _light_and_window(rows: Sequence[TracedRow]) -> dict[str, list[Row]]:
    pairs = sorted({(row.light, row.field) for row in rows})
    return {
        f"{light}, {field}": [row for row in rows if (row.light, row.field) == (light, field)] for light, field in pairs
    }


def _missed(rows: Sequence[TracedRow]) -> str:
    missed = [row for row in rows if row.measured and not row.covered]
    if not missed:
        return "None."
    return _scenes(sorted(missed, key=lambda row: -abs(row.e_n)))


def _ideal_table(rows: Sequence[TracedRow]) -> str:
    head = ("seed", "area cm²", "tilt °", "drawn %", "measured %", "U %")
    return table(
        head,
        (
            (
                str(r.seed), f"{r.area_cm2:.1f}", f"{r.tilt_deg:.0f}", f"{r.drawn:+.4f}",
                r.refused or f"{r.error:+.3f}", "–" if r.refused else f"{r.expanded:.2f}",
            )
            for r in rows
        ),
    )  # fmt: skip


def _scenes(rows: Sequence[TracedRow]) -> str:
    head = (
        "seed", "sheet", "area cm²", "thickness mm", "tilt °", "metal", "finish (alpha)", "field", "light",
        "holes found / true", "error %", "U %", "flags", "refused",
    )  # fmt: skip
    return table(head, (_scene(row) for row in rows))


def _scene(r: TracedRow) -> tuple[str, ...]:
    holes = f"{r.holes_found} / {r.shape_holes}" if r.measured else f"– / {r.shape_holes}"
    numbers = (f"{r.error:+.2f}", f"{r.expanded:.2f}") if r.measured else ("–", "–")
    return (
        str(r.seed), r.layout, f"{r.area_cm2:.1f}", f"{r.thickness_mm:.2f}", f"{r.tilt_deg:.0f}", r.metal,
        f"{r.finish} ({r.roughness:.2f})", r.field, r.light, holes, *numbers,
        r.flags.replace(";", ", ") or "–", r.refused or "–",
    )  # fmt: skip
