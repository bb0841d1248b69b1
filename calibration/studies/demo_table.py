"""Print the table of the demo photos for the README: true area, measured area, error.

Run as ``python -m calibration.studies.demo_table``; with ``--picture`` it also redraws the README's picture.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from areakit.datafiles import data_dir
from areakit.service.demo import demo_names, run_demo
from areakit.service.measured_overlay import write_overlay
from areakit.units import show

PICTURE = "pierced-badge"


def rows() -> list[str]:
    lines = ["| photo | part | true area | measured (k = 2) | error |", "|---|---|---|---|---|"]
    for name in demo_names():
        demo = run_demo(name)
        if demo.result.error is not None:
            lines.append(f"| {name} | - | - | refused: {demo.result.error.code} | - |")
        seen = {part.part_id: part.surface.face if demo.request.form is None else part.surface.plated
                for part in demo.result.parts}  # fmt: skip
        by_size = sorted(demo.result.parts, key=lambda part: seen[part.part_id].value)
        truths = dict(zip((part.part_id for part in by_size), sorted(demo.true_areas_mm2), strict=False))
        for part in demo.result.parts:
            area, true = seen[part.part_id], truths[part.part_id]
            error = 100 * (area.value / true - 1)
            lines.append(f"| {name} | {part.part_id} | {true / 100:.3f} cm² | {show(area, 'cm2')} | {error:+.2f} % |")
    return lines


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--picture", action="store_true")
    if parser.parse_args().picture:
        from PIL import Image

        path = Path(data_dir("demo_images")) / "results" / f"{PICTURE}.jpg"
        path.parent.mkdir(exist_ok=True)
        write_overlay(run_demo(PICTURE).result, path)
        with Image.open(path) as image:
            image.thumbnail((1100, 1100))
            image.save(path, quality=85)
    print("\n".join(rows()))


if __name__ == "__main__":
    main()
