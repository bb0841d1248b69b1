"""Areas of things whose dimensions are published; the areas follow from the dimensions by closed forms."""

import math

import pytest

from areakit.geometry.part import Part, thickness_mm
from areakit.geometry.shape_text import read_shape
from areakit.geometry.shapes import TypedShape, typed_shape
from areakit.geometry.surface import Surface, plated_surface


def surface(text: str, *, minus: str = "", faces: str | None = None) -> Surface:
    shape: TypedShape = typed_shape(read_shape(text), minus=[read_shape(minus)] if minus else [])
    part = Part(outline=shape.outline, thickness=shape.thickness, faces=faces or shape.faces or "front")  # type: ignore[arg-type]
    return plated_surface(part)


# United States Mint, coin specifications: diameter and thickness [mm]; faces and edge of a plain cylinder.
US_COINS = [
    (19.05, 1.52, 285.02, 90.97, 661.01),
    (21.21, 1.95, 353.32, 129.93, 836.58),
    (17.91, 1.35, 251.93, 75.96, 579.82),
    (24.26, 1.75, 462.24, 133.38, 1057.86),
    (30.61, 2.15, 735.90, 206.75, 1678.55),
    (26.49, 2.00, 551.13, 166.44, 1268.70),
]
# Council Regulation (EU) No 729/2014, Annex I, and the Commission's coin data: diameter and thickness [mm].
EURO_COINS = [
    (16.25, 1.67, 207.39, 85.25, 500.04),
    (18.75, 1.67, 276.12, 98.37, 650.60),
    (21.25, 1.67, 354.66, 111.49, 820.80),
    (19.75, 1.93, 306.35, 119.75, 732.46),
    (24.25, 2.38, 461.86, 181.32, 1105.04),
    (23.25, 2.33, 424.56, 170.19, 1019.30),
    (25.75, 2.20, 520.77, 177.97, 1219.51),
]


@pytest.mark.parametrize(("diameter", "thickness", "face", "edge", "all_over"), [*US_COINS, *EURO_COINS])
def test_coins(diameter: float, thickness: float, face: float, edge: float, all_over: float) -> None:
    coin = surface(f"cylinder {diameter} x {thickness} mm")
    assert coin.face.value == pytest.approx(face, abs=0.006)
    assert coin.side_wall is not None
    assert coin.side_wall.value == pytest.approx(edge, abs=0.006)
    assert coin.plated.value == pytest.approx(all_over, abs=0.011)


# ISO 7089, normal series: minimum bore, maximum outer diameter, nominal thickness [mm].
WASHERS = [
    (3.2, 7, 0.5, 30.442, 76.906),
    (4.3, 9, 0.8, 49.095, 131.617),
    (5.3, 10, 1, 56.478, 161.022),
    (6.4, 12, 1.6, 80.927, 254.343),
    (8.4, 16, 1.6, 145.644, 413.936),
    (10.5, 20, 2, 227.569, 646.775),
    (13, 24, 2.5, 319.657, 929.911),
]


@pytest.mark.parametrize(("bore", "outer", "thickness", "face", "all_over"), WASHERS)
def test_washers_of_iso_7089(bore: float, outer: float, thickness: float, face: float, all_over: float) -> None:
    washer = surface(f"washer {outer} x {bore} x {thickness} mm")
    assert washer.face.value == pytest.approx(face, abs=6e-4)
    assert washer.plated.value == pytest.approx(all_over, abs=1.1e-3)


# ISO 4032: width across flats and height [mm] (M8, M10, M12 from the standard, M6 from memory); the areas leave out
# chamfers and thread.
NUTS = [
    (10, 5.2, 86.603, 180.133),
    (13, 6.8, 146.358, 306.227),
    (16, 8.4, 221.703, 465.575),
    (18, 10.8, 280.592, 673.421),
]


@pytest.mark.parametrize(("flats", "height", "hexagon", "sides"), NUTS)
def test_nuts_of_iso_4032(flats: float, height: float, hexagon: float, sides: float) -> None:
    nut = surface(f"hexagon {flats} mm")
    assert nut.face.value == pytest.approx(hexagon, abs=6e-4)
    part = Part(
        outline=typed_shape(read_shape(f"hexagon {flats} mm")).outline, thickness=thickness_mm(height, 0), faces="walls"
    )
    assert plated_surface(part).plated.value == pytest.approx(sides, abs=6e-4)


@pytest.mark.parametrize(
    ("text", "area"),
    [
        # ISO/IEC 7810, ID-1 (dimensions from memory).
        ("rectangle 85.60 x 53.98 mm", 4620.69),
        ("rectangle 85.60 x 53.98 mm, corner 3.18 mm", 4612.01),
        # ISO 216 trimmed sizes; ANSI/ASME Y14.1 letter.
        ("rectangle 210 x 297 mm", 62370.0),
        ("rectangle 148 x 210 mm", 31080.0),
        ("rectangle 105 x 148 mm", 15540.0),
        ("rectangle 8.5 x 11 in", 60322.5),
        # 120 mm optical disc (dimensions from memory).
        ("ring 120 x 15 mm", 11133.0),
    ],
)
def test_cards_paper_and_discs(text: str, area: float) -> None:
    assert surface(text).plated.value == pytest.approx(area, abs=0.06)


# Closed forms for solids, as in any table of mensuration.
SOLIDS = [
    ("sphere 20 mm", 4 * math.pi * 10**2),
    ("cap 20 x 3 mm", math.pi * (10**2 + 3**2) + math.pi * 10**2),
    ("cone 20 x 15 mm", math.pi * 10 * (10 + math.hypot(10, 15))),
    ("cone 20 x 15 x 10 mm", math.pi * (10**2 + 5**2 + 15 * math.hypot(5, 15))),
    ("cylinder 10 x 40 mm", 2 * math.pi * 5 * (5 + 40)),
    ("wire 0.8 mm x 2 m", 2 * math.pi * 0.4 * (0.4 + 2000)),
    ("bar 100 x 10 x 2 mm", 2 * (1000 + 200 + 20)),
    ("tube 20 x 18 x 100 mm", 2 * math.pi * (10 + 9) * 100 + 2 * math.pi * (100 - 81)),
]


@pytest.mark.parametrize(("text", "area"), SOLIDS)
def test_solids_have_the_areas_of_closed_forms(text: str, area: float) -> None:
    shape = typed_shape(read_shape(text))
    part = Part(
        outline=shape.outline,
        thickness=shape.thickness,
        faces=shape.faces or "front",
        taper=shape.taper,
        dome=shape.dome,
    )
    assert plated_surface(part).plated.value == pytest.approx(area, rel=2e-6)
