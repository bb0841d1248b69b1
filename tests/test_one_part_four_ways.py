"""One part as a photo, as two drawings and as typed numbers: four commands, areas that agree."""

import json
import math
from pathlib import Path

import ezdxf
import pytest
from click.testing import CliRunner

from areakit.cli.main import group

PHOTO = Path(__file__).resolve().parents[1] / "demo_images" / "thick-bracket.jpg"
LONG, WIDE, CORNER, HOLE, PITCH, THICK = 60.0, 25.0, 4.0, 6.0, 40.0, 3.0
SURFACE = ["--thickness", "3 mm", "--faces", "all", "--json"]

# Closed forms of the plate: rectangle less its corners less two holes; walls along all edges.
FACE = LONG * WIDE - (4 - math.pi) * CORNER**2 - 2 * math.pi * HOLE**2 / 4
EDGE = 2 * (LONG + WIDE) - (8 - 2 * math.pi) * CORNER + 2 * math.pi * HOLE
ALL_OVER = 2 * FACE + EDGE * THICK


def ask(*arguments: str) -> dict:
    result = CliRunner().invoke(group, list(arguments), catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return json.loads(result.output)["parts"][0]


def svg(path: Path) -> str:
    holes = "".join(f'<circle cx="{x}" cy="0" r="{HOLE / 2}"/>' for x in (-PITCH / 2, PITCH / 2))
    path.write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="40mm" viewBox="-40 -20 80 40">'
        f'<rect x="{-LONG / 2}" y="{-WIDE / 2}" width="{LONG}" height="{WIDE}" rx="{CORNER}"/>{holes}</svg>',
        encoding="utf-8",
    )
    return str(path)


def dxf(path: Path) -> str:
    drawing = ezdxf.new(units=4)  # millimetres
    space = drawing.modelspace()
    x, y, bulge = LONG / 2, WIDE / 2, math.tan(math.pi / 8)
    ring = [
        (-x + CORNER, -y, 0), (x - CORNER, -y, bulge), (x, -y + CORNER, 0), (x, y - CORNER, bulge),
        (x - CORNER, y, 0), (-x + CORNER, y, bulge), (-x, y - CORNER, 0), (-x, -y + CORNER, bulge),
    ]  # fmt: skip
    space.add_lwpolyline(ring, format="xyb", close=True)
    for hole in (-PITCH / 2, PITCH / 2):
        space.add_circle((hole, 0.0), HOLE / 2)
    drawing.saveas(path)
    return str(path)


@pytest.fixture(scope="module")
def four(tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict]:
    folder = tmp_path_factory.mktemp("bracket")
    typed = [
        "--shape", f"rectangle {LONG} x {WIDE} mm, corner {CORNER} mm",
        "--minus", f"disk {HOLE} mm, at {-PITCH / 2} 0 mm", "--minus", f"disk {HOLE} mm, at {PITCH / 2} 0 mm",
    ]  # fmt: skip
    photo = ["measure", str(PHOTO), "--check-lengths", "200 x 120 mm"]
    return {
        "photo": ask(*photo, *SURFACE),
        "svg": ask("surface", svg(folder / "bracket.svg"), *SURFACE),
        "dxf": ask("surface", dxf(folder / "bracket.dxf"), *SURFACE),
        "typed": ask("surface", *typed, *SURFACE),
    }


@pytest.mark.parametrize("way", ["photo", "svg", "dxf", "typed"])
@pytest.mark.parametrize(("figure", "true"), [("face_area", FACE), ("plated_area", ALL_OVER)])
def test_each_way_gives_the_closed_form_within_its_uncertainty(four: dict, way: str, figure: str, true: float) -> None:
    area = four[way][figure]
    assert area["value"] == pytest.approx(true, abs=max(area["expanded_uncertainty"], 1e-4 * true))


def test_the_four_agree_with_each_other(four: dict) -> None:
    areas = [part["plated_area"] for part in four.values()]
    for one in areas:
        for other in areas:
            spread = math.hypot(one["expanded_uncertainty"], other["expanded_uncertainty"])
            assert abs(one["value"] - other["value"]) <= spread
